"""Watches each swing of the relay for what no oven does that is left alone.

At a level an oven warms through: each swing heats it for a shorter time and lets it rest for a longer one. Weaker mains
heat for longer at once, a bread shortens the rest. And what the heat achieves hardly changes with warmer walls: rise
and fall of the reading by their times, over the root of the swing's length (heat creeps into walls by the root of
time), is the same swing after swing and at both levels. No pins and no output of its own; a few numbers are kept.
"""

import math

# Each for full output, and for less than that: whole windows then make the swings ragged. Undisturbed: 200 simulated
# layered ovens; mains: those whose voltage falls by 12 %
LONGER = (1.15, 1.26)  # heated, against the mean of the two before; undisturbed 1.09 and 1.20 at most
SHORTER = (0.92, 0.76)  # rested, likewise; undisturbed 0.98 and 0.79 at least
FADED = (0.87, 0.82)  # achieved by the last two swings against all before; undisturbed 0.90 and 0.84 at least
WEAKER = 0.87  # achieved at a level against the level before; undisturbed 0.90 at least, mains 0.69..0.84


class Swings:
    """`add()` every tick, `turned()` when the output does, `begin()` and `over()` at each level's beginning and end."""

    def __init__(self):
        self.weaker = 1.0  # what the heat achieved at this level against the one before
        self._before = None  # what it achieved at the level before: mean of logarithms
        self._sum, self._count = 0.0, 0  # of those of all swings but the newest
        self._newest = None
        self._level_sum, self._level_count = 0.0, 0
        self.begin(0)

    def begin(self, rough):
        """At a level, or with another output: the swings to come are of another kind. `rough`: 1 below full output."""
        self._rough = rough
        self._on_s, self._off_s = [], []  # the newest two of each, s
        self._half_s = None  # nobody saw this half begin
        self._high_c = self._low_c = None
        self._keep(None)

    def add(self, pv_c, dt_s, heats):
        """One tick of this half. True: it heats for longer than in an oven left alone."""
        if self._half_s is None:
            return False
        self._half_s += dt_s
        if self._high_c is None or pv_c > self._high_c:
            self._high_c = pv_c
        if self._low_c is None or pv_c < self._low_c:
            self._low_c = pv_c
        return heats and self._half_s > LONGER[self._rough] * _usual(self._on_s, self._half_s)

    def turned(self, heats, on_pct):
        """The output turns; `heats`: to `on_pct`, else to 0. True: no undisturbed oven swings like that."""
        half_s = self._half_s
        if half_s is None:
            if heats:  # a swing begins
                self._half_s = 0.0
            return False
        self._half_s = 0.0
        if not heats:
            self._on_s = self._on_s[-1:] + [half_s]
            return False
        shorter = half_s < SHORTER[self._rough] * _usual(self._off_s, half_s)
        self._off_s = self._off_s[-1:] + [half_s]
        return self._swing(on_pct) or shorter

    def _swing(self, on_pct):
        """A whole swing is over: has what the heat achieves faded?"""
        faded = False
        span_k = self._high_c - self._low_c
        self._high_c = self._low_c = None
        if len(self._on_s) > 1 and span_k > 0.0:  # the first of a stretch is not yet like the others
            on_s, off_s = self._on_s[1], self._off_s[1]
            achieved = math.log(span_k * (1.0 / on_s + 1.0 / off_s) / on_pct / math.sqrt(on_s + off_s))
            if self._newest is not None and self._count >= 2:
                faded = 0.5 * (achieved + self._newest) - self._sum / self._count < math.log(FADED[self._rough])
            self._keep(achieved)
            self._level_sum += achieved
            self._level_count += 1
        return faded

    def _keep(self, achieved):
        if self._newest is not None:
            self._sum += self._newest
            self._count += 1
        self._newest = achieved

    def over(self):
        """A level is over: True if the heat achieved less there than at the level before."""
        if self._level_count:
            now, before = self._level_sum / self._level_count, self._before
            self._before = now
            if before is not None:
                self.weaker = math.exp(now - before)
        self._level_sum, self._level_count = 0.0, 0
        return self.weaker < WEAKER


def _usual(times_s, unknown_s):
    """The mean of the last two halves of a kind, of one where there is one."""
    return sum(times_s) / len(times_s) if times_s else unknown_s
