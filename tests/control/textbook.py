"""Published tuning rules and loop forms, to check the device's margins and power model against. Nothing on the board.

SIMC and its half rule: S. Skogestad, Journal of Process Control 13 (2003) 291-309. Ultimate-gain rules: Ziegler and
Nichols (1942), Tyreus and Luyben (1992); constants as in the tables that test_tuning.py names. Gains k in K per %,
controller gains in % per K, times in s.
"""

import math

ZERO_C_K = 273.15


def simc_integrating(rise, theta, tauc, tau2=0.0):
    """(kc, ti, td) in series form for rise e^(-theta s) / (s (tau2 s + 1)); `rise` in K/s per %."""
    span = tauc + theta
    return 1.0 / (rise * span), 4.0 * span, tau2


def half_rule(lags, theta, keep):
    """([kept lags], theta): half of the largest neglected lag goes to the last kept one, the rest to the delay."""
    lags = sorted(lags, reverse=True)
    kept = lags[:keep]
    rest = lags[keep:]
    if rest:
        kept[-1] += rest[0] / 2.0
        theta += rest[0] / 2.0 + sum(rest[1:])
    return kept, theta


def relay_gain(step, amplitude, hysteresis=0.0):
    """Ultimate gain by the describing function: output swings by +-step, reading by +-amplitude."""
    return 4.0 * step / (math.pi * math.sqrt(amplitude * amplitude - hysteresis * hysteresis))


def tyreus_luyben(ku, pu, derivative=False):
    """(kc, ti, td) in ideal form from ultimate gain and period."""
    return (ku / 2.2, 2.2 * pu, pu / 6.3) if derivative else (ku / 3.2, 2.2 * pu, 0.0)


def ziegler_nichols(ku, pu, derivative=False):
    """(kc, ti, td) in ideal form from ultimate gain and period."""
    return (0.6 * ku, pu / 2.0, pu / 8.0) if derivative else (0.45 * ku, pu / 1.2, 0.0)


def ideal(w, kc, ti, td, lag_s=0.0):
    """kc (1 + 1/(ti s) + td s / (lag s + 1)) at s = jw."""
    return kc * (1.0 + 1.0 / complex(0.0, w * ti) + complex(0.0, w * td) / complex(1.0, w * lag_s))


def series(w, kc, ti, td):
    """kc (1 + 1/(ti s)) (td s + 1) at s = jw."""
    return kc * (1.0 + 1.0 / complex(0.0, w * ti)) * complex(1.0, w * td)


def steady_pct(a, b, setpoint_c, ambient_c):
    """Output that holds `setpoint_c` by the steady power model, 0..100 %."""
    hot = (setpoint_c + ZERO_C_K) * 0.001
    cold = (ambient_c + ZERO_C_K) * 0.001
    x, y = setpoint_c - ambient_c, hot**4 - cold**4
    return max(0.0, min(100.0, a * x + b * y))
