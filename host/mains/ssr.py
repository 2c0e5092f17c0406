"""Solid-state relay: loss, junction and heatsink, by the thermal chain Tj - Ta = P x sum(Rth).

Published worked example (a maker's brochure, page on heatsink choice): 10 A, 1.2 V, 1.3 + 0.1 +
1.0 K/W, Tj 100 degC gives Ta = 71.2 degC and a case at 84.4 degC.
"""

from host.mains.value import MEMORY, ONCE, TWICE, Value

DROP_WORST = Value(1.6, "V", TWICE, "makers' data: on-state drop 1.0 to 1.6 V")
DESIGN_JUNCTION = Value(115.0, "degC", ONCE, "relay maker's advice: 125 degC rated, design to 115")
CURRENT_MARGIN = Value(0.8, "x rated", MEMORY, "common practice, no source")
RATINGS_A = (10, 16, 25, 40, 50, 60, 75, 90)  # A; usual sizes, from memory


def loss_w(current_a: float, drop_v: float) -> float:
    """Heat of one conducting relay, W (drop taken as constant; always an upper bound on duty)."""
    return current_a * drop_v


def junction_c(
    air_c: float, own_w: float, sink_w: float, case_k_w: float, interface_k_w: float, sink_k_w: float
) -> float:
    """Junction temperature, degC; `sink_w` is the heat of all relays on the same heatsink, W.

    Resistances in K/W: junction to case, case to heatsink, heatsink to air.
    """
    return air_c + sink_w * sink_k_w + own_w * (case_k_w + interface_k_w)


def air_allowed_c(
    junction: float, own_w: float, sink_w: float, case_k_w: float, interface_k_w: float, sink_k_w: float
) -> float:
    """Hottest air that keeps the junction at `junction` degC, degC."""
    return junction - sink_w * sink_k_w - own_w * (case_k_w + interface_k_w)


def heatsink_needed_k_w(
    junction: float, air_c: float, own_w: float, sink_w: float, case_k_w: float, interface_k_w: float
) -> float:
    """Largest heatsink resistance, K/W, that keeps the junction at `junction` degC.

    Zero or negative: no heatsink can do it in this air.
    """
    return (junction - air_c - own_w * (case_k_w + interface_k_w)) / sink_w


def next_rating_a(needed_a: float) -> int | None:
    """Smallest usual relay rating of at least `needed_a`, A; None where there is none."""
    return next((rating for rating in RATINGS_A if rating >= needed_a), None)
