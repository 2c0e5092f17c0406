"""A bread that nobody told of, by the stone's probe: under a cold dough the stone sinks as it never does by itself."""

EVERY_S = 5.0
KEPT = 7  # readings: half a minute
SUNK_K = 1.5  # in that time; simulated, undisturbed at most 0.8 (layered) and 1.3 K (three lumps), a bread mostly 2..10
OWN_S = 15.0  # ... besides what a stone warmer than the air loses by itself: a kelvin of each 15 it is warmer


class Sunk:
    """`add()` every tick."""

    def __init__(self):
        self._begin()

    def _begin(self):
        self._past_c = []
        self._past_s = 0.0

    def add(self, stone_c, pv_c, dt_s):
        """One tick; stone_c None: no reading that is believed, the half minute begins anew. True: it sank."""
        if stone_c is None:
            self._begin()
            return False
        past_c = self._past_c or [stone_c] * KEPT
        self._past_c = past_c
        self._past_s += dt_s
        if self._past_s < EVERY_S:
            return False
        self._past_s -= EVERY_S
        self._past_c = past_c[1:] + [stone_c]
        return self._past_c[0] - stone_c > SUNK_K + max(0.0, stone_c - pv_c) / OWN_S
