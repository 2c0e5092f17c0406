"""Tuning rules, margins and the steady power of an oven: pure arithmetic, nothing kept.

Models are k e^(-theta s) / ((tau1 s + 1)(tau2 s + 1)). Gains k in K per %, controller gains in % per K, times in s.
SIMC: S. Skogestad, Journal of Process Control 13 (2003) 291-309. Not part of the safety path: floats.
"""

import math

ZERO_C_K = 273.15
_POINTS = 160  # of a sweep over frequency


def simc(k, tau1, theta, tauc, tau2=0.0):
    """(kc, ti, td) in series form for a closed-loop time `tauc`; td is tau2."""
    span = tauc + theta
    return tau1 / (k * span), min(tau1, 4.0 * span), tau2


def to_ideal(kc, ti, td):
    """The ideal (parallel) form of a series controller."""
    return kc * (1.0 + td / ti), ti + td, ti * td / (ti + td)


def lagged(w, delay, *lags):
    """e^(-delay s) / product of (lag s + 1) at s = jw."""
    value = complex(math.cos(w * delay), -math.sin(w * delay))
    for lag in lags:
        value /= complex(1.0, w * lag)
    return value


def device_pid(w, kc, ti, td, filter_s, wait_s):
    """The device's Pid: everything behind one filter, the derivative behind two, and the wait of a window."""
    value = kc * (1.0 + 1.0 / complex(0.0, w * ti) + complex(0.0, w * td) / complex(1.0, w * filter_s))
    return value * lagged(w, wait_s, filter_s)


def margins(loop, low, high, points=_POINTS, halvings=24):
    """Of `loop(w)` between two frequencies in rad/s: dict ms, mt, gm, pm_deg, wc, w180 (None: no crossing).

    ms and mt are the peaks of |1/(1+L)| and |L/(1+L)|.
    """
    ratio = (high / low) ** (1.0 / (points - 1))
    found = {"ms": 0.0, "mt": 0.0, "gm": None, "pm_deg": None, "wc": None, "w180": None}
    before = angle = None
    w = low
    for _ in range(points):
        value = loop(w)
        away = abs(1.0 + value)
        found["ms"] = max(found["ms"], 1.0 / away)
        found["mt"] = max(found["mt"], abs(value) / away)
        if before is not None:
            turned = value / before[1]
            now = angle + math.atan2(turned.imag, turned.real)
            if found["wc"] is None and abs(before[1]) >= 1.0 > abs(value):
                wc = _cross(loop, before[0], w, True, halvings)
                found["wc"] = wc
                turned = loop(wc) / before[1]
                found["pm_deg"] = 180.0 + math.degrees(angle + math.atan2(turned.imag, turned.real))
            if found["w180"] is None and angle > -math.pi >= now:
                found["w180"] = _cross(loop, before[0], w, False, halvings)
                found["gm"] = 1.0 / abs(loop(found["w180"]))
            angle = now
        else:
            angle = math.atan2(value.imag, value.real)
            if angle > 0.0:
                angle -= 2.0 * math.pi
        before = (w, value)
        w *= ratio
    return found


def _cross(loop, low, high, gain, halvings):
    """Where |L| falls through 1 (`gain`) or L crosses the negative real axis, by halving."""
    for _ in range(halvings):
        w = math.sqrt(low * high)
        value = loop(w)
        if (abs(value) >= 1.0) if gain else (value.imag < 0.0):
            low = w
        else:
            high = w
    return low


def power_model(t1_c, out1_pct, t2_c, out2_pct, ambient_c):
    """(a, b) of out = a (T - Ta) + b (T^4 - Ta^4) through two steady levels; None if they give no such oven.

    Outputs in %, temperatures in degrees Celsius, fourth powers of (kelvin / 1000).
    """
    x1, y1 = _terms(t1_c, ambient_c)
    x2, y2 = _terms(t2_c, ambient_c)
    if x1 < 20.0 or x2 < x1 + 30.0 or not 0.0 < out1_pct < out2_pct < 100.0:
        return None
    # scaled to the upper level, where both terms are of one size: well conditioned in single precision
    det = x1 * y2 - x2 * y1
    a = (out1_pct * y2 - out2_pct * y1) / det
    b = (x1 * out2_pct - x2 * out1_pct) / det
    if b < 0.0:  # noise: all of it is linear
        return out2_pct / x2, 0.0
    if a < 0.0:
        return 0.0, out2_pct / y2
    return a, b


def _terms(t_c, ambient_c):
    hot = (t_c + ZERO_C_K) * 0.001
    cold = (ambient_c + ZERO_C_K) * 0.001
    return t_c - ambient_c, hot * hot * hot * hot - cold * cold * cold * cold
