"""Does the reading swing with the top element's relay? Then the probe sits too near it and tells the element, not the
dome. From a recorded run: the calm stretches, window by window, and only the part that keeps step with the relay.
"""

from __future__ import annotations

import numpy as np

# Swing in step with the relay over ten minutes, four or five simulated ovens of each of three structures, 450 C; an
# element in 0.3 of the tip's view. Free, sheaths of 1.5-4.5 mm: at most 0.06 K (10 s window) and 0.30 (20 s); a bare
# bead 0.18 and 0.77, which is told as near. Near, 1.5 / 3 / 4.5 mm: from 0.47 / 0.22 / 0.14 and 1.21 / 0.67 / 0.44
# where elements weigh 0.3 kg each; heavy ones (0.12-0.3 J/K a watt) leave 0.11 / 0.06 / 0.03 and 0.37 / 0.20 / 0.14. At
# 300 C half of it: 0.32 behind 3 mm at 20 s.
NEAR_K = 0.12
GROWS = 1.55
WINDOW_MAX_S = 22.0  # above it what is free swings as much as what is near
CALM_K = 8.0  # so near the setpoint
LEAST_WINDOWS = 15


def limit_k(window_s: float) -> float:
    """The swing that counts as too near, K peak to peak."""
    return NEAR_K * (window_s / 10.0) ** GROWS


def near_element_k(pv_c: np.ndarray, top: np.ndarray, window_s: float, dt_s: float) -> float:
    """Swing of the reading in step with the top relay, K peak to peak; 0 where the relay never switched.

    `pv_c` in degrees Celsius and `top` (share of each sample that the relay was on) every `dt_s`.
    """
    pv_c, top = np.asarray(pv_c, float), np.asarray(top, float)
    n = round(window_s / dt_s)
    rest_k = pv_c - np.convolve(pv_c, np.ones(n) / n, mode="same")
    turn = np.exp(-2j * np.pi * np.arange(n) / n) * 2.0 / n
    starts = range(n, len(pv_c) - 2 * n + 1, n)
    swing = np.array([np.dot(rest_k[i : i + n], turn) for i in starts])
    relay = np.array([np.dot(top[i : i + n], turn) for i in starts])
    power = float(np.sum(np.abs(relay) ** 2)) if len(relay) else 0.0
    if power < 1e-6:
        return 0.0
    return float(2.0 * abs(np.sum(swing * np.conj(relay))) / power * np.mean(np.abs(relay)))


def of_run(rows: np.ndarray) -> tuple[float, float] | None:
    """(swing in K, window in s) of the longest calm stretch of a run's rows, or None where none is long enough.

    Reads the columns t_s, pv_c, setpoint_c and heat_top of a run file, about one row a second.
    """
    if len(rows) < 2:
        return None
    calm = (np.abs(rows["pv_c"] - rows["setpoint_c"]) < CALM_K) & (rows["setpoint_c"] >= 100.0)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], calm.astype(int), [0]])))
    stretches = sorted(zip(edges[::2], edges[1::2], strict=True), key=lambda pair: pair[0] - pair[1])
    if not stretches:
        return None
    part = rows[slice(*stretches[0])]
    dt_s = float(np.median(np.diff(part["t_s"]))) if len(part) > 1 else 0.0
    begun = np.flatnonzero((part["heat_top"][1:] > 0.0) & (part["heat_top"][:-1] == 0.0))
    if dt_s <= 0.0 or len(begun) < LEAST_WINDOWS:
        return None
    window_s = float(np.median(np.diff(begun))) * dt_s
    if round(window_s / dt_s) < 4:
        return None
    return near_element_k(part["pv_c"], part["heat_top"], window_s, dt_s), window_s


def line_of(rows: np.ndarray) -> tuple[str, bool] | None:
    """What a person reads about it, or None where this run does not tell; (text, is_near)."""
    found = of_run(rows)
    if found is None:
        return None
    swing_k, window_s = found
    if window_s > WINDOW_MAX_S:
        return f"whether the probe is too near an element shows at windows up to {WINDOW_MAX_S:.0f} s only", False
    told = f"the reading swings by {swing_k:.2f} K with the top relay (window {window_s:.0f} s, "
    if swing_k >= limit_k(window_s):
        return told + f"limit {limit_k(window_s):.2f}): the probe is too near an element, move it", True
    return told + f"limit {limit_k(window_s):.2f})", False
