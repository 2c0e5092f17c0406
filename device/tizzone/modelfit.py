"""Fits second order plus delay to a recorded stretch of output and reading, a little a call, in bounded memory.

reading(t) = offset + drift t + k x(t), where x is the output behind a delay theta and two lags tau1 >= tau2. For given
times the other three are linear least squares; the times are found by a search of shrinking factors. One `work()`
tries one set of times (about 60 are tried), so that a board may fit between two ticks of its loop.
"""

import math
from array import array

SAMPLES = 300
_OUT_UNIT = 0.5  # % in a stored byte
_PV_UNIT = 0.01  # K in a stored half-word


class Window:
    """The newest SAMPLES samples of output and reading, oldest first by `at(i)`."""

    def __init__(self, base_c, sample_s=2.0):
        self.base_c = base_c
        self.sample_s = sample_s
        self.pv = array("h", [0] * SAMPLES)
        self.out = bytearray(SAMPLES)
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


class Fit:
    """Search for the times of one Window. `work()` until `done`; then k, theta_s, tau1_s, tau2_s, share, rms_k."""

    HIGH = (120.0, 2000.0, 150.0)

    def __init__(self, window):
        self.window = window
        # in ten minutes a longer lag than this cannot be told from a drift; the search may not trade it for delay
        self.low = (1.0, 40.0 * window.sample_s, 1.0)  # theta, tau1, tau2 in s
        self.times = [10.0, 300.0, 15.0]
        self.done = False
        self.tried = 0
        self.best = None  # (mean square left, k in K per %, drift in K, mean square without the output)
        self._factor = 1.8
        self._which = 0
        self._up = True
        self._gained = False
        self._trial = list(self.times)

    def work(self):
        """Try one set of times."""
        if self.done:
            return
        found = self.solve(self._trial)
        self.tried += 1
        if found is not None and (self.best is None or found[0] < self.best[0]):
            self.best = found
            self.times = list(self._trial)
            self._gained = True
        elif self._up:
            self._up = False
            self._trial = self._moved()
            return
        self._next()

    def _moved(self):
        trial = list(self.times)
        i = self._which
        value = trial[i] * self._factor if self._up else trial[i] / self._factor
        trial[i] = min(self.HIGH[i], max(self.low[i], value))
        return trial

    def _next(self):
        self._up = True
        self._which += 1
        if self._which == 3:
            self._which = 0
            if not self._gained:
                self._factor = math.sqrt(self._factor)
                if self._factor < 1.06 or self.tried > 120:
                    self.done = True
                    return
            self._gained = False
        self._trial = self._moved()

    def solve(self, times):
        """(mean square left, k, drift, mean square without k) for these times, or None. At most SAMPLES terms a sum."""
        theta, tau1, tau2 = times
        window = self.window
        sample_s = window.sample_s
        count = window.count
        first = min(count // 3, int((theta + 2.0 * tau2) / sample_s) + 1)
        shift = theta / sample_s
        whole = int(shift)
        part = shift - whole
        keep1 = math.exp(-sample_s / tau1)
        keep2 = math.exp(-sample_s / tau2)
        mean = window.mean_out(0, count)
        x1 = x2 = 0.0
        n = count - first
        sums = [0.0] * 9  # t.t x.x t.x y.t y.x y.y x y 1 (t is centred)
        offset = window.at(first)[0]
        for i in range(count):
            now = window.at(i - whole)[1] if i >= whole else mean
            old = window.at(i - whole - 1)[1] if i > whole else mean
            u = now + part * (old - now) - mean
            mid = x1
            x1 = u + keep1 * (x1 - u)
            mid = 0.5 * (mid + x1)
            x2 = mid + keep2 * (x2 - mid)
            if i >= first:
                t = (i - first - 0.5 * (n - 1)) / n
                y = window.at(i)[0] - offset
                sums[0] += t * t
                sums[1] += x2 * x2
                sums[2] += t * x2
                sums[3] += y * t
                sums[4] += y * x2
                sums[5] += y * y
                sums[6] += x2
                sums[7] += y
        return _least(sums, n)


def _least(sums, n):
    """Eliminate offset, then solve for drift and gain."""
    tt, xx, tx, yt, yx, yy, x, y, _ = sums
    xx -= x * x / n
    yx -= x * y / n
    yy -= y * y / n
    det = tt * xx - tx * tx
    if not det > 0.0 or not yy > 0.0:
        return None
    k = (yx * tt - yt * tx) / det
    drift = (yt * xx - yx * tx) / det
    rest = yy - k * yx - drift * yt
    if not k > 0.0:
        return None
    return max(rest, 0.0) / n, k, drift, (yy - drift * yt) / n
