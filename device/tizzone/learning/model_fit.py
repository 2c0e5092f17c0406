"""Fits second order plus delay to a recorded stretch of output and reading, a little a call, in bounded memory.

reading(t) = offset + drift t + k x(t), where x is the output behind a delay theta and two lags tau1 >= tau2. For given
times the other three are linear least squares; the times are found by a search of shrinking factors (about 60 sets
of times). One `search_piece()` is a piece of it that fits between two ticks of a board's loop.
"""

import math
from array import array

SAMPLES = 300
CHUNK = 50  # of samples a call: some 50 ms on a board (estimate from 20 us a float operation)
_OUT_UNIT = 0.5  # % in a stored byte
_PV_UNIT = 0.01  # K in a stored half-word


class Window:
    """The newest SAMPLES samples of output and reading, oldest first by `at(i)`."""

    def __init__(self, base_c, sample_s=2.0):
        self.pv = array("h", [0] * SAMPLES)
        self.out = bytearray(SAMPLES)
        self.begin(base_c, sample_s)

    def begin(self, base_c, sample_s):
        """Forget everything: another record in the same memory, which a small heap may not have twice."""
        self.base_c = base_c
        self.sample_s = sample_s
        self.count = 0
        self._head = 0
        self._clear()

    def _clear(self):
        self._time_s = 0.0
        self._pv_sum = 0.0
        self._out_sum = 0.0

    def add(self, pv_c, out_pct, dt_s):
        """One tick: `out_pct` is what was in force before this reading. Returns True when a sample was completed."""
        self._time_s += dt_s
        self._pv_sum += (pv_c - self.base_c) * dt_s
        self._out_sum += out_pct * dt_s
        if self._time_s < self.sample_s - 0.01:
            return False
        value = int(self._pv_sum / self._time_s / _PV_UNIT)
        self.pv[self._head] = max(-32767, min(32767, value))
        self.out[self._head] = max(0, min(200, int(self._out_sum / self._time_s / _OUT_UNIT + 0.5)))
        self._head = (self._head + 1) % SAMPLES
        self.count = min(self.count + 1, SAMPLES)
        self._clear()
        return True

    def coarsen(self):
        """Of a full record every two samples of the newer half become one, each of twice the time."""
        for i in range(SAMPLES // 4):
            to = (self._head + i) % SAMPLES
            one = (self._head + SAMPLES // 2 + 2 * i) % SAMPLES
            two = (one + 1) % SAMPLES
            self.pv[to] = (self.pv[one] + self.pv[two]) // 2
            self.out[to] = (self.out[one] + self.out[two] + 1) // 2
        self._head = (self._head + SAMPLES // 4) % SAMPLES
        self.count = SAMPLES // 4
        self.sample_s *= 2.0

    def at(self, i):
        """(reading - base in K, output in %) of sample `i`, 0 = oldest."""
        i = (self._head - self.count + i) % SAMPLES
        return self.pv[i] * _PV_UNIT, self.out[i] * _OUT_UNIT

    def mean_out(self, first, last):
        """Mean output of samples first..last-1, %."""
        total = 0
        for i in range(first, last):
            total += self.out[(self._head - self.count + i) % SAMPLES]
        return total * _OUT_UNIT / (last - first)

    def whole_swings(self, first, last):
        """(mean reading - base in K, mean output in %) over whole on-off cycles within samples first..last-1.

        Over all of them where there is no whole cycle.
        """
        start = end = -1
        mean_pct = self.mean_out(first, last)
        for i in range(first + 1, last):
            if self.at(i - 1)[1] <= mean_pct < self.at(i)[1]:
                if start < 0:
                    start = i
                end = i
        if end <= start:
            start, end = first, last
        total_k = 0.0
        for i in range(start, end):
            total_k += self.at(i)[0]
        return total_k / (end - start), self.mean_out(start, end)


class Fit:
    """Search for the times of one Window: `search_piece()` until `done`; then `times` (theta, tau1, tau2 in s), `best`.

    `best` is (mean square left, k in K per %, drift in K, mean square without k), None where nothing fitted.
    """

    HIGH = (120.0, 2000.0, 150.0)

    def __init__(self, window):
        self.window = window
        # a longer lag than this cannot be told from a drift in the record; the search may not trade it for delay
        self.low = (1.0, 40.0 * window.sample_s, 1.0)
        self.times = [10.0, 300.0, 15.0]
        self.done = False
        self.best = None
        self.change = 1.0
        self._search = self._searching()

    def search_piece(self):
        """A piece of the search, at most CHUNK samples."""
        if not self.done:
            self.done = next(self._search, True)

    def _searching(self):
        """Multiply and divide one time after the other by a factor that shrinks when none of them gains."""
        factor = 1.8
        yield from self._try(self.times)
        for _ in range(40):
            gained = False
            for which in range(3):
                for power in (factor, 1.0 / factor):
                    trial = list(self.times)
                    trial[which] = min(self.HIGH[which], max(self.low[which], trial[which] * power))
                    before = self.best
                    if trial != self.times:
                        yield from self._try(trial)
                    if self.best is not before:
                        gained = True
                        break
            if not gained:
                factor = math.sqrt(factor)
                if factor < 1.06:
                    break
        yield True

    def _first(self, times):
        """The first sample that knows what came before it."""
        return min(self.window.count // 3, int((times[0] + 2.0 * times[2]) / self.window.sample_s) + 1)

    def _try(self, times):
        """Least squares of offset, drift and gain for these times; keeps them if they are the best so far."""
        found = yield from self._least(times, self._first(times), self.window.count)
        if found is not None and (self.best is None or found[0] < self.best[0]):
            self.best = found
            self.times = list(times)
        yield False

    def halves(self):
        """Generator: pieces of work, then `change` = gain of the record's second half over that of its first."""
        times = self.times
        first, count = self._first(times), self.window.count
        middle = (first + count) // 2
        early = yield from self._least(times, first, middle)
        late = yield from self._least(times, middle, count)
        self.change = late[1] / early[1] if early and late else 0.0

    def _least(self, times, first, end):
        """The same over samples first..end-1: (mean square left, gain, drift, mean square without gain) or None."""
        theta, tau1, tau2 = times
        window = self.window
        sample_s = window.sample_s
        count = window.count
        shift = theta / sample_s
        whole = int(shift)
        part = shift - whole
        keep1 = math.exp(-sample_s / tau1)
        keep2 = math.exp(-sample_s / tau2)
        mean = window.mean_out(0, count)
        x1 = x2 = 0.0
        n = end - first
        tt = xx = tx = yt = yx = yy = sx = sy = 0.0  # at most SAMPLES terms each; t and y are centred
        offset = window.at(first)[0]
        old = mean
        for i in range(end):
            now = window.at(i - whole)[1] if i >= whole else mean
            u = now + part * (old - now) - mean
            old = now
            mid = x1
            x1 = u + keep1 * (x1 - u)
            mid = 0.5 * (mid + x1)
            x2 = mid + keep2 * (x2 - mid)
            if i >= first:
                t = (i - first - 0.5 * (n - 1)) / n
                y = window.at(i)[0] - offset
                tt += t * t
                xx += x2 * x2
                tx += t * x2
                yt += y * t
                yx += y * x2
                yy += y * y
                sx += x2
                sy += y
            if i % CHUNK == CHUNK - 1:
                yield False
        xx -= sx * sx / n
        yx -= sx * sy / n
        yy -= sy * sy / n
        return _solved(tt, xx, tx, yt, yx, yy, n)


def _solved(tt, xx, tx, yt, yx, yy, n):
    """Drift and gain from the sums; None where the output explains nothing."""
    det = tt * xx - tx * tx
    if not det > 0.0 or not yy > 0.0:
        return None
    k = (yx * tt - yt * tx) / det
    drift = (yt * xx - yx * tx) / det
    rest = yy - k * yx - drift * yt
    if not k > 0.0:
        return None
    return max(rest, 0.0) / n, k, drift, (yy - drift * yt) / n
