"""Late ticks that the board's own flash writes have made: excused, never permitted heat, and counted.

A write stalls the loop for as long as the flash takes (boards/README.md: budgets). It is done with every relay off and
the contactor open; then a late tick tells nothing about the loop. Whatever else is late, or longer than a write can be,
is accused as before. Integers only, nothing allocated.
"""

from tizzone.integers import CAP_MS
from tizzone.safety import limits as L


class OwnWrites:
    """`stalls`: how many ticks were excused since the start."""

    def __init__(self):
        self.stalls = 0

    def excuse(self, seen, dt_ms):
        """Was this late tick made so by a write of our own while nothing could heat?"""
        on = seen.contactor_on or seen.top_on or seen.deck_on or seen.deadman_fired
        if on or not seen.own_write or not 0 < dt_ms <= L.OWN_WRITE_MS:
            return 0  # late, and accused
        if self.stalls < CAP_MS:
            self.stalls += 1
        return 1
