"""The check of the harness: every line is moved from one end and looked at from the other; what arrives wrong is named.

Both boards stand at their prompts meanwhile: no program runs, nothing is armed. A level is held for milliseconds only.

1. No line is moved; each end pulled up, then down: what is short to GND or to 3V3; whether each heat output has its
   resistor to GND (the pull-up of the chip, 50 to 80 kohm, must lose against it). A line that is stuck is not driven.
2. The board drives each of its outputs high and pulls each other line low, one at a time; the player looks which of its
   pins follows.
3. The player pulls each line low that it will pull in a run; the board looks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from host.findings import Finding
from host.player.harness import HELD_DOWN, Harness

SOURCE = "seen at both ends of the harness"
PULLS = ("up", "down", "none")


class End(Protocol):
    """One of the two boards at its prompt; `pins` are its own numbers."""

    def rest(self, pins: list[int], pull: str) -> None:
        """Every pin an input with this pull."""

    def move(self, pin: int, level: int) -> None:
        """Drive this one; it lets go at the next `rest`, or by itself after some seconds."""

    def look(self, pins: list[int]) -> dict[int, int]:
        """The level of every pin."""


@dataclass
class Looks:
    """What was seen, by the names of the wires. `arrived`: {moved by the board: names that followed at the player};
    `returned`: {moved by the player: names that followed at the board}; `own`: {moved: level at the end that moved it};
    `up_*`, `down_*`: {name: level} of the resting harness, pulled at the end that looks."""

    arrived: dict[str, set[str]] = field(default_factory=dict)
    returned: dict[str, set[str]] = field(default_factory=dict)
    own: dict[str, int] = field(default_factory=dict)
    up_board: dict[str, int] = field(default_factory=dict)
    up_player: dict[str, int] = field(default_factory=dict)
    down_board: dict[str, int] = field(default_factory=dict)
    down_player: dict[str, int] = field(default_factory=dict)

    def is_stuck(self, name: str) -> bool:
        """Whether the board's end rests against a pull although no resistor of its own holds it."""
        return bool(self.down_board[name] or (not self.up_board[name] and name not in HELD_DOWN))


class Looking:
    """Moves every line of a harness between two ends."""

    def __init__(self, harness: Harness, board: End, player: End) -> None:
        self.wires = harness.checked()
        self.ends = {"board": board, "player": player}
        self.pins = {end: [_pin(wire, end) for wire in self.wires] for end in self.ends}

    def _named(self, end):
        levels = self.ends[end].look(self.pins[end])
        return {wire.name: levels[_pin(wire, end)] for wire in self.wires}

    def _rest(self, board, player):
        self.ends["board"].rest(self.pins["board"], board)
        self.ends["player"].rest(self.pins["player"], player)

    def all(self) -> Looks:
        """The three rounds; both ends rest afterwards."""
        seen = Looks()
        for pull, at_board, at_player in (("up", seen.up_board, seen.up_player),
                                          ("down", seen.down_board, seen.down_player)):  # fmt: skip
            self._rest(pull, "none")
            at_board.update(self._named("board"))
            self._rest("none", pull)
            at_player.update(self._named("player"))
        for wire in self.wires:
            if not seen.is_stuck(wire.name):
                self._moved_by_board(wire, seen)
                if not wire.is_output:
                    self._moved_by_player(wire, seen)
        self._rest("none", "none")
        return seen

    def _moved_by_board(self, wire, seen):
        level, pull = (1, "down") if wire.is_output else (0, "up")
        idle = seen.down_player if wire.is_output else seen.up_player
        self._rest("none", pull)
        self.ends["board"].move(_pin(wire, "board"), level)
        seen.own[wire.name] = self._named("board")[wire.name]
        follow = self._named("player")
        seen.arrived[wire.name] = {name for name, now in follow.items() if now == level != idle[name]}

    def _moved_by_player(self, wire, seen):
        self._rest("up", "none")
        self.ends["player"].move(wire.player, 0)
        follow = self._named("board")
        seen.returned[wire.name] = {name for name, now in follow.items() if not now and seen.up_board[name]}


def _pin(wire, end):
    return wire.pin if end == "board" else wire.player


class Judge:
    """What the looks say about each wire: `findings`, worst first; empty where each arrived alone and in place."""

    def __init__(self, harness: Harness, seen: Looks) -> None:
        self.wires = harness.checked()
        self.seen = seen
        self.findings: list[Finding] = []
        self._told: set[str] = set()
        self._arrives = {name: sorted(at)[0] for name, at in seen.arrived.items() if at and name not in at}
        self._arrives.update({name: name for name, at in seen.arrived.items() if name in at})
        if not self._arrives:
            self._say(
                "GND", "stop", "no line arrives at all", "join GND of both boards first, and look at both supplies"
            )
            return
        self._joined()
        self._stuck()
        self._moved()
        self._one_way()
        self._pulled_down()

    def _say(self, name, grade, text, mend, *also):
        self._told |= {name, *also}
        self.findings.append(Finding(name, grade, text, SOURCE, mend))

    def _joined(self):
        """Lines that move together."""
        for name, at in self.seen.arrived.items():
            if len(at) > 1 and not {name, *at} <= self._told:
                first, *rest = sorted({name, *at}, key=lambda other: (other != name, other))
                others = " and ".join(rest)
                self._say(name, "stop", f"{first} and {others} are short to each other",
                          f"look for a bridge between {first} and {others}, at both boards", *rest)  # fmt: skip

    def _stuck(self):
        """Lines that rest against the pull: short to a rail, at the end where it shows or at both."""
        seen = self.seen
        for wire in self.wires:
            name = wire.name
            if name in self._told:
                continue
            high = [end for end, at in (("your board", seen.down_board), ("the player", seen.down_player)) if at[name]]
            low = [end for end, at in (("your board", seen.up_board), ("the player", seen.up_player)) if not at[name]]
            if name in HELD_DOWN:
                low = ["your board", "the player"] if not seen.own.get(name, 1) else []
            elif self._followed(name):  # another line's resistor holds it, and lets it go
                low = []
            for rail, ends in (("3V3", high), ("GND", low)):
                if ends:
                    where = "" if len(ends) == 2 else f" at {ends[0]}, and open in between"
                    self._say(name, "stop", f"{name} is short to {rail}{where}",
                              f"look at both ends of {name} for a bridge to {rail}")  # fmt: skip

    def _followed(self, name):
        return any(name in at for at in self.seen.arrived.values())

    def _moved(self):
        """Lines that arrive somewhere else, or nowhere."""
        arrives = self._arrives
        for wire in self.wires:
            name, at = wire.name, arrives.get(wire.name)
            if name in self._told or at == name:
                continue
            if at is None:
                self._say(name, "stop", f"{name} is open: nothing arrives at the other end",
                          f"look at both ends of the wire of {name}, and at its resistor")  # fmt: skip
            elif arrives.get(at, name) == name:
                self._say(name, "stop", f"{name} and {at} are swapped", f"exchange {name} and {at} at the player", at)
            else:
                self._say(name, "stop", f"the wire of {name} goes to {at} of the player",
                          f"move it at the player from {at} to {name}")  # fmt: skip

    def _one_way(self):
        """Lines that arrive, but that the player cannot pull."""
        for name, at in self.seen.returned.items():
            if name not in self._told and name not in at:
                self._say(name, "stop", f"the player cannot pull {name} low",
                          f"look at the resistor of {name}, 1 kohm at most, and try another Pico")  # fmt: skip

    def _pulled_down(self):
        """A heat output without its resistor: the chip's own pull-up lifts it."""
        for wire in self.wires:
            if wire.name in HELD_DOWN and self.seen.up_board[wire.name] and wire.name not in self._told:
                self._say(wire.name, "stop", f"{wire.name} has no resistor to GND: the chip's own pull-up lifts it",
                          "fit it at the input of its driver; tizzone pins FILE --table names its value")  # fmt: skip
