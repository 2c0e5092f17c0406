"""Findings on the fixed run, the cord, the voltage drop and the earth-fault loop."""

from host.mains import ampacity, breaker, conductors, coordination
from host.mains.finding import Finding
from host.mains.value import Value, given


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on the conductors between the board and the oven."""
    parts = (_cable, _cable_hot, _cord, _short_circuit, _drop)
    return [finding for part in parts for finding in part(sheet, figures)]


def load_for_hours(sheet: dict, figures: dict) -> Value:
    """Current a connection carries for hours, A: nominal under NEC, at +10 % supply under IEC."""
    return figures["current" if sheet["supply"]["rules"] == "nec" else "current_high"]


def _size_text(rules, size):
    return f"{size} AWG" if rules == "nec" else f"{size:g} mm2"


def _cable(sheet, figures):
    cable, supply = sheet["cable"], sheet["supply"]
    rules = supply["rules"]
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    load = max(figures["breaker_needed"].number, rating.number)
    size = ampacity.size_for(rules, cable["method"], load, cable["ambient_c"], cable["bunched_circuits"], rating.number)
    unit = "AWG" if rules == "nec" else "mm2"
    remedy = None if size is None else Value(size, unit, source="first size that carries it")
    mend = (
        "Another way of laying, cooler air, fewer circuits together, or a smaller breaker."
        if size is None
        else f"{_size_text(rules, size)} for this way of laying."
    )
    allowed = figures.get("cable_allowed")
    if allowed is None:
        shown = _size_text(rules, cable["awg"] if rules == "nec" else cable["section_mm2"])
        yield Finding("cable-no-entry", "stop",
                      f"{shown} laid as {cable['method']}: the table has no such cable.",
                      "IEC 60364-5-52 Table B.52.2 or NEC Table 310.16", mend,
                      remedy=remedy)  # fmt: skip
        return
    if figures["breaker_needed"].over(allowed):
        yield Finding("cable-overload", "stop", "The load is more than the run may carry.",
                      allowed.source, mend, figures["breaker_needed"], allowed, remedy)  # fmt: skip
    elif cable["layout"] != "ring" and rating.over(allowed):
        yield Finding("cable-unprotected", "stop",
                      "The breaker lets through more than the run may carry.",
                      f"IEC 60364-4-43 433.1, NEC 240.4; {allowed.source}", mend, rating, allowed,
                      remedy)  # fmt: skip
    if cable["layout"] == "ring":
        yield from _ring(sheet, rating, allowed)
    cap = ampacity.nec_breaker_max(cable["awg"]) if rules == "nec" else None
    if cap is not None and rating.over(cap):
        yield Finding("small-conductor", "stop",
                      f"{cable['awg']} AWG may not be behind so large a breaker.",
                      cap.source, mend, rating, cap, remedy)  # fmt: skip


def _ring(sheet, rating, allowed):
    """A ring final circuit: two legs share the load; each must carry 20 A behind 32 A (BS 7671 433.1.204)."""
    leg, most = coordination.RING_LEG, coordination.RING_BREAKER
    ok = sheet["supply"]["connection"] == "bs1363"
    if not ok:
        yield Finding("ring-connection", "stop", "A ring final circuit serves fused 13 A plugs only.", most.source,
                      "A radial circuit of its own for this connection.")  # fmt: skip
    if rating.over(most):
        yield Finding("ring-breaker", "stop", "The breaker is too large for a ring final circuit.", most.source,
                      f"{most.number:g} A.", rating, most, most)  # fmt: skip
    if allowed.under(leg):
        yield Finding("ring-leg", "stop", "A leg of the ring may not carry its share.", leg.source,
                      "2.5 mm2 laid so that it carries 20 A, or a radial circuit.", allowed, leg, leg)  # fmt: skip
    yield Finding("ring-load", "note", "A load of hours near one end loads one leg of the ring most.", leg.source,
                  "Better a radial circuit of its own.")  # fmt: skip


def _cable_hot(sheet, figures):
    cable = sheet["cable"]
    rated = given(cable["insulation_c"], "degC", "cable.insulation_c")
    air = given(cable["ambient_c"], "degC", "cable.ambient_c")
    if cable["ambient_c"] > cable["insulation_c"] - 10:
        yield Finding("cable-hot", "stop", "The air along the run is near its insulation's limit.",
                      "10 K in hand: common practice, no source",
                      "Lay it in cooler air or use a cable for that temperature.", air,
                      Value(rated.number - 10, "degC", source=rated.source),
                      Value(air.number + 10, "degC", source=rated.source))  # fmt: skip


def _cord(sheet, figures):
    rules, cord = sheet["supply"]["rules"], sheet["cord"]
    load = load_for_hours(sheet, figures)
    size = coordination.cord_size(sheet, load.number)
    remedy = None if size is None else Value(size, "AWG" if rules == "nec" else "mm2",
                                             source="first cord that carries it and suits the breaker")  # fmt: skip
    mend = (
        "A fixed connection in a cable for this place." if size is None
        else f"A cord of {_size_text(rules, size)}, rubber or silicone, away from the oven's wall."
    )  # fmt: skip
    allowed = figures.get("cord_allowed")
    if allowed is None:
        shown = _size_text(rules, cord["awg"] if rules == "nec" else cord["section_mm2"])
        yield Finding("cord-no-entry", "stop", f"The tables have no cord of {shown}.",
                      "HD 21 and NEC 400.5(A)", mend, remedy=remedy)  # fmt: skip
    elif load.over(allowed):
        yield Finding("cord-overload", "stop", "The load is more than the cord may carry.",
                      allowed.source, mend, load, allowed, remedy)  # fmt: skip
    behind, most = coordination.device_before(sheet), coordination.cord_breaker_max(sheet)
    if most is not None and behind.over(most):
        yield Finding("cord-unprotected", "stop", "The breaker lets through more than the cord is protected by.",
                      most.source, mend, behind, most, remedy)  # fmt: skip


def _short_circuit(sheet, figures):
    """The cord lives through a short circuit at its end: k^2 S^2 against I^2 t of the breaker."""
    if "fault_current" not in figures or "fault_i2t" not in figures:
        return
    bears, passes = figures["cord_i2t"], figures["fault_i2t"]
    if not passes.over(bears):
        return
    supply = sheet["supply"]
    size = coordination.cord_size(sheet, load_for_hours(sheet, figures).number)
    wider = next((s for s in ampacity.sizes("iec", "cord")
                  if size is not None and s >= size and conductors.bears_a2s(s) >= passes.number), None)  # fmt: skip
    remedy = None if wider is None else Value(wider, "mm2", source=passes.source)
    thick = "" if wider is None else f" A cord of {wider:g} mm2 bears it."
    at_once = breaker.instant(figures["fault_current"].number, supply["breaker_a"], supply["curve"]) == "trips"
    mend = (
        "The breaker's own let-through at this current from its maker (supply.breaker_i2t_a2s)." if at_once
        else "A finer curve or a better loop, so that the breaker opens at once."
    )  # fmt: skip
    yield Finding("cord-short-circuit", "stop", "A short circuit at the oven burns the cord before the breaker opens.",
                  passes.source, mend + thick, passes, bears, remedy)  # fmt: skip


def _drop(sheet, figures):
    supply, cable = sheet["supply"], sheet["cable"]
    nec = supply["rules"] == "nec"
    limit = conductors.DROP_LIMIT_NEC if nec else conductors.DROP_LIMIT[supply["network"]]
    if not figures["drop"].over(limit):
        return
    amps, volts = figures["circuit_current"].number, supply["voltage_v"]
    need = amps * 2 * conductors.RHO_OPERATING.number * cable["length_m"]
    left_pct = limit.number - figures["drop_cord"].number
    need = need * 100 / (volts * left_pct) if left_pct > 0 else float("inf")
    if nec:
        fits = (g for g in (14, 12, 10, 8, 6) if conductors.section_of_awg_mm2(g) >= need)
    else:
        fits = (s for s in conductors.SECTIONS_MM2 if s >= need)
    size = next(fits, None)
    mend = "A shorter run." if size is None else f"{_size_text(supply['rules'], size)}."
    remedy = None if size is None else Value(size, "AWG" if nec else "mm2", source=limit.source)
    yield Finding("voltage-drop", "change", "The run loses too much voltage (and as much heat).",
                  limit.source, mend, figures["drop"], limit, remedy)  # fmt: skip
