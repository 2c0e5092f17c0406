"""A second board that plays the oven for the user's own board, at 3.3 V: harness, its check, run, drill, report.

    harness   which pin of the board goes to which of the player, from the pin map; `drawing` shows it
    wiggle    moves every line from both ends and names what is swapped, open or shorted
    board/    what runs on the player, in MicroPython
    wire      the laptop's end of the player's line; `bench` joins player, plant and the board's own link
    drill     the faults that the harness can make, one after the other; `proof` keeps what was seen

Mains is nowhere near any of this, and nothing here says that a build is safe.
"""

from host.errors import HostError


class PlayerError(HostError):
    """Something between the two boards does not work: one line, what is wrong and what to do."""
