"""'If the relay stuck now': seconds until the high limit, from the rise that was measured at full output.

While the output is at least 95 % the slope of the process value over the last 30 s (least squares) is kept by
temperature, in bins of 20 K. Away from full output the nearest bin is taken: the oven rises from a steady 450 °C,
both relays stuck, no faster than it rose through 450 °C on the way up, since elements that have to heat up first only
delay it. So the answer errs towards too soon. It is an estimate for a person, never an input of the controller.
"""

from __future__ import annotations

from collections import deque

from host.link.replies import in_unit

FULL_PCT = 95.0
SPAN_S = 30.0
BIN_K = 20.0
REACH_K = 60.0  # a slope from farther away than this says nothing
LEAST_K_S = 0.01
FEWEST = 3


def slope_k_s(points: list[tuple]) -> float | None:
    """Least-squares slope of [(t_s, value_k)]; None for fewer than three points or no time between them."""
    if len(points) < FEWEST:
        return None
    n = len(points)
    t_mean = sum(t for t, _ in points) / n
    v_mean = sum(v for _, v in points) / n
    spread = sum((t - t_mean) ** 2 for t, _ in points)
    if spread <= 0.0:
        return None
    return sum((t - t_mean) * (v - v_mean) for t, v in points) / spread


class Stuck:
    """Feed `add` with every sample; `answer` gives (seconds or None, in words)."""

    def __init__(self) -> None:
        self._run = deque()  # samples of the current stretch at full output
        self._slopes = {}  # bin -> K/s, newest

    def add(self, t_s: float, pv_c: float, out_pct: float) -> None:
        """One sample; pv_c None ends the stretch."""
        if pv_c is None or out_pct < FULL_PCT or (self._run and t_s <= self._run[-1][0]):
            self._run.clear()
            return
        self._run.append((t_s, pv_c))
        while t_s - self._run[0][0] > SPAN_S and len(self._run) > FEWEST:  # a fast rehearsal has few samples
            self._run.popleft()
        if t_s - self._run[0][0] >= SPAN_S * 0.8:
            slope = slope_k_s(list(self._run))
            middle_c = self._run[len(self._run) // 2][1]
            if slope is not None and slope >= LEAST_K_S:
                self._slopes[int(middle_c // BIN_K)] = slope

    def slope_at(self, pv_c: float) -> tuple:
        """(K/s, °C where it was measured) nearest to this temperature, or (None, None)."""
        here = pv_c / BIN_K - 0.5
        near = sorted(self._slopes, key=lambda at: (abs(at - here), -at))
        if not near or abs(near[0] - here) * BIN_K > REACH_K:
            return None, None
        return self._slopes[near[0]], (near[0] + 0.5) * BIN_K

    def answer(self, pv_c: float | None, limit_c: float, unit: str = "C") -> tuple:
        """(seconds until the limit, words); `unit` of the words: "C" or "F"."""
        if pv_c is None or limit_c is None:
            return None, "not known: no reading"
        if pv_c >= limit_c:
            return 0.0, "the reading is at the limit"
        slope, where_c = self.slope_at(pv_c)
        if slope is None:
            return None, "not known yet: no full output seen near this temperature"
        seconds = (limit_c - pv_c) / slope
        when = f"{seconds:.0f} s" if seconds < 180 else f"{seconds / 60:.0f} min"
        rose = f"{slope * 60 * 1.8:.0f} °F" if unit == "F" else f"{slope * 60:.0f} K"
        return seconds, f"limit in {when} (rose {rose} a minute at {in_unit(where_c, unit)})"
