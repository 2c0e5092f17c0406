"""Judges the record of an identification: fits the model, says how good it is, and tunes. No state, no pins."""

import math

from tizzone.learning import tuning as T
from tizzone.learning.model_fit import Fit

SHARE_MIN = 0.88  # of the reading's movement that the model explains: simulated ovens 0.88 and more
CHANGE_LOW = 0.88  # gain of the second half of the record against the first: simulated ovens 0.885..1.17 ...
CHANGE_HIGH = 1.25  # ... mains down by 12 % in the middle: 0.81..0.96
MS_MAX = 1.75
# against SIMC's; house: chosen on simulated ovens (tests/bench/README.md): what a bread takes is to come back from the
# stone, not from an integral that has to be unwound, and the walls take a part of what is on its way at arrival
TI_SHARE = 1.5
LEAD_SHARE = 0.75
TI_MIN_S = 90.0
TD_MIN_S = 16.0  # the fit takes the quick path past the walls for less lag than there is
# name: lowest and highest value that may be stored
BOUNDS = {
    "kc_pct_per_k": (0.5, 15.0),
    "ti_s": (60.0, 900.0),
    "td_s": (0.0, 120.0),
    "lead_s": (8.0, 150.0),
    "rise_k_s_pct": (0.0010, 0.0200),
}


def judgement(window, quality, pid_filter_s=4.0, wait_s=5.0):
    """Generator: fits, judges and tunes piece by piece. Yields (fit, reason, tuning); either ends it when not empty."""
    fit = Fit(window)
    while not fit.done:
        fit.search_piece()
        yield fit, "", None
    if fit.best is None:
        yield fit, "no model fits the record", None
        return
    left, k, drift, whole = fit.best
    quality["share"] = 1.0 - left / whole
    quality["left_k"] = math.sqrt(left)
    quality["drift_k"] = drift
    if not quality["share"] >= SHARE_MIN:
        yield fit, "the model explains too little of the reading", None
        return
    for _ in fit.halves():
        yield fit, "", None
    quality["change"] = fit.change
    if not CHANGE_LOW < fit.change < CHANGE_HIGH:
        yield fit, "the oven was another one in the middle: was the mains changed, or a bread laid?", None
        return
    found = start_tune(k, *fit.times, pid_filter_s=pid_filter_s, wait_s=wait_s)
    while True:
        quality["ms"] = ms_of(found, k, *fit.times, pid_filter_s=pid_filter_s, wait_s=wait_s)
        if quality["ms"] <= MS_MAX:
            break
        if found["kc_pct_per_k"] < BOUNDS["kc_pct_per_k"][0]:
            break
        found["kc_pct_per_k"] *= 0.85
        yield fit, "", None
    yield fit, "", found


def start_tune(k, theta_s, tau1_s, tau2_s, pid_filter_s=4.0, wait_s=5.0):
    """Settings from a model: SIMC with the closed-loop time equal to the delay, filter and half a window included, its
    integral time made longer."""
    delay_s = theta_s + wait_s + pid_filter_s
    kc, ti, td = T.to_ideal(*T.simc(k, tau1_s, delay_s, delay_s, tau2_s))
    return {
        "kc_pct_per_k": kc,
        "ti_s": min(max(TI_SHARE * ti, TI_MIN_S), BOUNDS["ti_s"][1]),
        "td_s": max(td, TD_MIN_S),
        "lead_s": min(LEAD_SHARE * (theta_s + tau2_s + wait_s), BOUNDS["lead_s"][1]),
    }


def ms_of(found, k, theta_s, tau1_s, tau2_s, pid_filter_s=4.0, wait_s=5.0):
    """Ms of these settings on this model."""
    high = 6.0 / (theta_s + wait_s)
    kc, ti, td = found["kc_pct_per_k"], found["ti_s"], found["td_s"]
    return T.margins(
        lambda w: k * T.lagged(w, theta_s, tau1_s, tau2_s) * T.device_pid(w, kc, ti, td, pid_filter_s, wait_s),
        high / 100.0, high, 32, 0,
    )["ms"]  # fmt: skip


def fault_of(found):
    """Empty text if every value is a number within BOUNDS, else which is not."""
    for name in BOUNDS:
        low, high = BOUNDS[name]
        value = found.get(name)
        if not isinstance(value, float) or not low <= value <= high:  # also refuses NaN
            return "learned " + name + " lies outside {}..{}".format(low, high)
    return ""
