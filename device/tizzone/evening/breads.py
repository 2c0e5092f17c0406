"""The breads of an evening: one short record each, and what two words about a bread change.

A record is ten whole numbers in arrays made at the start, so that a long evening costs no memory in the middle of it.
The cook's two words move the share of the top zone by small stated steps; length and heat of the bake stay a person's
choice.
"""

from array import array

from micropython import const

MOST = const(100)
BLOCK = const(20)  # records a stored value: below 2 kB
# at_s from the evening's start; stone when the bread was laid and lowest since, °C; bake, s; dome when laid and lowest
# since, °C; share of the top zone, %; the cook's words about top and base; flags
WIDTH = const(10)
AT, STONE, STONE_LOW, BAKED, DOME, DOME_LOW, SHARE, TOP, BASE, FLAGS = range(10)
# flags: stone by typical values; by time, not by stone; held; cut short; by the plan's seconds, heat not known
GUESS, UNREADY, HELD, CUT, SECONDS = 1, 2, 4, 8, 16
NOTES = ("guess", "unready", "held", "cut", "seconds")
WORDS = ("none", "pale", "right", "dark")
_STEP_PCT = const(4)
_SMALL_PCT = const(2)  # after a change of direction
ADJUST_MAX_PCT = 16


class Breads:
    """Records of one evening."""

    def __init__(self):
        self.count = 0
        self.open = 0  # the newest is still being written
        # one array for each stored value: a board that has loaded its modules may have no 2 kB in one piece
        self._blocks = [array("h", bytes(2 * BLOCK * WIDTH)) for _ in range(MOST // BLOCK)]
        self.adjust_pct = 0
        self.direction = 0
        self.step_pct = _STEP_PCT

    def clear(self):
        """A new evening, in the memory of the old one."""
        self.count = 0
        self.open = 0
        for block in self._blocks:
            for i in range(BLOCK * WIDTH):
                block[i] = 0
        self.adjust_pct = 0
        self.direction = 0
        self.step_pct = _STEP_PCT

    def get(self, n, field):
        """Field of record n (0 = first)."""
        return self._blocks[n // BLOCK][n % BLOCK * WIDTH + field]

    def put(self, field, value):
        """Field of the newest record."""
        self._set(self.count - 1, field, max(-32768, min(32767, value)))

    def _set(self, n, field, value):
        self._blocks[n // BLOCK][n % BLOCK * WIDTH + field] = value

    def begin(self, at_s, stone_c, dome_c, share_pct, flags):
        """A bread is laid. False when the book is full."""
        if self.count >= MOST:
            self.open = 0
            return False
        self.count += 1
        values = (at_s, stone_c, stone_c, 0, dome_c, dome_c, share_pct, 0, 0, flags)
        for i in range(WIDTH):
            self.put(i, values[i])
        self.open = 1
        return True

    def flag(self, bit):
        """Add a flag to the newest record."""
        self.put(FLAGS, self.get(self.count - 1, FLAGS) | bit)

    def line(self, n):
        """Record n (0 = first) in words."""
        block = self._blocks[n // BLOCK]
        at = n % BLOCK * WIDTH
        d = block[at : at + WIDTH]
        flags = d[FLAGS]
        names = [NOTES[i] for i in range(len(NOTES)) if flags >> i & 1]
        return (
            "n={} at_s={} stone_c={} sag_k={} bake_s={} dome_c={} dome_sag_k={} share={} top={} base={} notes={}"
        ).format(
            n + 1, d[AT], d[STONE], d[STONE] - d[STONE_LOW], d[BAKED], d[DOME], d[DOME] - d[DOME_LOW], d[SHARE],
            WORDS[d[TOP]], WORDS[d[BASE]],
            ",".join(names) or "none",
        )  # fmt: skip

    def take_words(self, n, top, base, share_pct):
        """A cook's two words about bread n; returns (change of the share in points, why, advice) for the next bread."""
        from tizzone.evening.advice import ADVICE  # loaded for this one answer; no room: nothing has changed

        self._set(n, TOP, top)
        self._set(n, BASE, base)
        direction, why, advice = ADVICE[(top, base)]
        if not direction:
            return 0, why, advice
        if self.direction and direction != self.direction:
            self.step_pct = _SMALL_PCT  # it was passed: half steps from now on
        self.direction = direction
        change = direction * self.step_pct
        wanted = max(-ADJUST_MAX_PCT, min(ADJUST_MAX_PCT, self.adjust_pct + change))
        wanted += max(20, min(80, share_pct + wanted - self.adjust_pct)) - (share_pct + wanted - self.adjust_pct)
        change = wanted - self.adjust_pct
        self.adjust_pct = wanted
        return change, why, advice

    def block(self, number):
        """Records of one stored value, as a list."""
        records = min(self.count - number * BLOCK, BLOCK)
        return list(self._blocks[number][: max(0, records) * WIDTH])

    def take_block(self, number, values):
        """A stored block back; False if it is not one (what was read before it stays)."""
        if not isinstance(values, list) or len(values) % WIDTH or not 0 < len(values) <= BLOCK * WIDTH:
            return False
        for value in values:
            if isinstance(value, bool) or not isinstance(value, int) or not -32768 <= value <= 32767:
                return False
        if number * BLOCK != self.count or number >= MOST // BLOCK:
            return False
        block = self._blocks[number]
        for i in range(len(values)):
            block[i] = values[i]
        for i in range(TOP, len(values), WIDTH):  # words that do not exist
            for k in (i, i + 1):
                if not 0 <= block[k] <= 3:
                    block[k] = 0
        self.count += len(values) // WIDTH
        return True
