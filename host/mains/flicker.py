"""Lamp flicker of a switched heater on the reference supply (IEC 61000-3-3, 230 V, 50 Hz).

The Pst = 1 curve is the recollected table of IEC 61000-4-15 (rectangular changes); its points
were run through an independent flickermeter and gave Pst 0.987 to 1.034.
"""

from math import exp, log

from host.mains.value import COMPUTED, ONCE, Value

# Changes a minute: relative change in % that gives Pst = 1.
PST1_CURVE = (
    (0.1, 7.4), (0.2, 4.58), (0.4, 3.54), (0.6, 3.2), (1, 2.724), (2, 2.211), (3, 1.95),
    (5, 1.64), (7, 1.459), (10, 1.29), (22, 1.02), (39, 0.906), (48, 0.87), (68, 0.81),
    (110, 0.725), (176, 0.64), (273, 0.56), (375, 0.5), (480, 0.48), (585, 0.42), (682, 0.37),
    (796, 0.32), (1020, 0.28),
)  # fmt: skip
REFERENCE_OHM = Value(0.4, "ohm", ONCE, "IEC 60725 reference impedance, resistive part")
PST_LIMIT = Value(1.0, "", ONCE, "IEC 61000-3-3, Pst")
DMAX_LIMIT = Value(4.0, "%", ONCE, "IEC 61000-3-3, dmax without further conditions")
SCOPE_A = Value(16, "A", ONCE, "IEC 61000-3-3, up to 16 A a phase")
CURVE = Value(1.0, "", COMPUTED, "IEC 61000-4-15 Pst = 1 points, checked by a flickermeter")
SUM_EXPONENT = 3.2  # IEC 61000-3-3, analytic method: Pst adds with the power 3.2
WINDOWS_S = (2, 5, 10, 15, 20, 30, 40, 60, 90, 120)  # the device takes up to 120 s
# Window in s: band in K peak to peak while holding 450 degrees, median and worst of 16 simulated
# ovens with turbulence and mains wander (`python -m tests.bench.control --window ...`, with and
# without --together): switched as one, then staggered.
BAND_K = {
    5: ((0.9, 2.1), (0.9, 2.1)), 10: ((1.0, 2.1), (1.0, 2.2)), 15: ((1.1, 2.4), (1.1, 2.2)),
    20: ((1.4, 2.7), (1.2, 2.4)), 30: ((2.4, 3.4), (1.6, 2.7)), 40: ((3.7, 5.0), (2.4, 3.9)),
    60: ((6.7, 9.9), (3.8, 6.4)), 90: ((11.8, 18.0), (6.1, 10.8)), 120: ((17.1, 25.0), (8.5, 14.3)),
}  # fmt: skip
BAND_SOURCE = "16 simulated ovens at 450 degC; no real oven was measured"


def change_pct(power_w: float, voltage_v: float, impedance_ohm: float = REFERENCE_OHM.number) -> float:
    """Voltage change when a resistive load of `power_w` switches, % of `voltage_v`."""
    return 100 * impedance_ohm * (power_w / voltage_v) / voltage_v


def pst1_pct(changes_per_min: float) -> float:
    """Equal rectangular changes that give Pst = 1, %; between points on log-log lines."""
    points = PST1_CURVE
    rate = min(max(changes_per_min, points[0][0]), points[-1][0])
    for (low, a), (high, b) in zip(points, points[1:], strict=False):
        if rate <= high:
            share = log(rate / low) / log(high / low)
            return exp(log(a) + share * (log(b) - log(a)))
    return points[-1][1]


def steps_pct(top_pct: float, deck_pct: float, staggered: bool) -> tuple:
    """Changes in one window, %: together two of the sum; staggered three smaller ones.

    Staggered: top from the window's start, deck up to its end, so that one goes off as the other
    comes on and only their difference is seen there.
    """
    if not staggered:
        return (top_pct + deck_pct,) * 2
    return tuple(step for step in (top_pct, deck_pct, abs(top_pct - deck_pct)) if step > 0)


def pst(steps: tuple, window_s: float) -> float:
    """Short-term flicker of the changes `steps` (%) repeated every `window_s` seconds.

    Unequal changes count as equal ones of the same 3.2-power mean. The 1.025 + 0.4 s/window covers
    what an independent flickermeter showed above that, changes close together at short windows.
    """
    if not steps:
        return 0.0
    mean = (sum(step**SUM_EXPONENT for step in steps) / len(steps)) ** (1 / SUM_EXPONENT)
    return (1.025 + 0.4 / window_s) * mean / pst1_pct(len(steps) * 60 / window_s)


def window_needed_s(steps: tuple, limit: float = PST_LIMIT.number) -> float | None:
    """Shortest usual window with Pst at most `limit`, s; None where none of them is enough."""
    return next((window for window in WINDOWS_S if pst(steps, window) <= limit), None)


def band_k(window_s: float, staggered: bool) -> tuple:
    """(median, worst) band that a window costs, K peak to peak; straight lines between BAND_K."""
    known = sorted(BAND_K)
    at = min(max(window_s, known[0]), known[-1])
    low = max(w for w in known if w <= at)
    high = min(w for w in known if w >= at)
    share = (at - low) / (high - low) if high > low else 0.0
    rows = (BAND_K[low][bool(staggered)], BAND_K[high][bool(staggered)])
    return tuple(a + share * (b - a) for a, b in zip(*rows, strict=True))
