"""Findings on supply, breaker, plug, cable and earth."""

from host.mains import ampacity, breaker, conductors, plugs
from host.mains.findings import Finding
from host.mains.value import MEMORY, ONCE, Value, derived, given

RESIDUAL_IEC = Value(30, "mA", ONCE, "IEC 60364-4-41 411.3.3, sockets for ordinary persons")
RESIDUAL_NEC = Value(6, "mA", MEMORY, "NEC 210.8, class A ground-fault protection")
EARTH_LIMIT = Value(0.1, "ohm", MEMORY, "IEC 60335-1 27.5, earthing continuity of an appliance")

SIDE_BY_SIDE = Value(0.8, "x In", MEMORY, "breakers side by side in a warm board: 0.8 In for hours")


def hours_limit(rating):
    """What a breaker of `rating` (A) among warm neighbours carries for hours, a Value in A."""
    return derived(SIDE_BY_SIDE.number * rating.number, "A", SIDE_BY_SIDE.source, SIDE_BY_SIDE)


def findings(sheet, figures):
    """Findings on everything upstream of the relay box."""
    parts = (
        _supplies, _elements, _breaker, _plug, _cable, _cord, _drop, _loop, _protection, _notes,
    )  # fmt: skip
    return [finding for part in parts for finding in part(sheet, figures)]


def _supplies(sheet, figures):
    supplies = given(sheet["supply"]["supplies"], "supplies", "supply.supplies")
    one = Value(1, "supplies", source="the only supported arrangement")
    if supplies.over(one):
        yield Finding(
            "two-supplies", "stop", "The oven is fed from more than one supply.",
            "a second supply stays live when the first is off; this arrangement is not supported",
            "Feed the oven and the controller's power side from one circuit.", supplies, one, one,
        )  # fmt: skip
    if sheet["relays"]["paralleled"]:
        yield Finding(
            "paralleled-contacts", "stop",
            "Contacts of the two controllers, or of two relays, are in parallel.",
            "either contact alone heats the element; the other cannot take the heat off",
            "One double-pole transfer switch ORIGINAL - OFF - OURS; one relay for each element.",
        )  # fmt: skip


def _elements(sheet, figures):
    volts = sheet["supply"]["voltage_v"]
    for zone in ("top", "deck"):
        plate = sheet["elements"][zone]["voltage_v"]
        if plate is None:
            continue
        figure = given(volts, "V", "supply.voltage_v")
        high = Value(plate * 1.06, "V", source=f"plate voltage {plate} V + 6 %")
        low = Value(plate * 0.9, "V", source=f"plate voltage {plate} V - 10 %")
        remedy = given(plate, "V", f"elements.{zone}.voltage_v")
        if figure.over(high):
            yield Finding(
                "element-overvoltage", "stop",
                f"The {zone} element is made for {plate:g} V and gets {volts} V: "
                f"{(volts / plate) ** 2:.2f} times its power.",
                "P = V^2 / R", f"Elements made for {volts} V, or a {plate:g} V supply.",
                figure, high, remedy,
            )  # fmt: skip
        elif figure.under(low):
            yield Finding(
                "element-undervoltage", "note",
                f"The {zone} element is made for {plate:g} V and gets {volts} V: "
                f"{(volts / plate) ** 2:.2f} of its power.",
                "P = V^2 / R", "Look at the time to temperature below.", figure, low, remedy,
            )  # fmt: skip


def _breaker(sheet, figures):
    supply = sheet["supply"]
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    needed = figures["breaker_needed"]
    step = breaker.next_rating_a(needed.number, supply["rules"])
    remedy = None if step is None else Value(step, "A", source=needed.source)
    mend = (
        "Less load: no standard breaker on this list fits."
        if step is None
        else f"A {step} A circuit, with cable and connection for it."
    )
    if figures["circuit_current"].over(rating):
        yield Finding(
            "breaker-overload", "stop", "The load is more than the breaker's rating.",
            needed.source, mend, figures["circuit_current"], rating, remedy,
        )  # fmt: skip
    elif needed.over(rating):
        yield Finding(
            "breaker-continuous", "change",
            "For a load of three hours and more the breaker must be 125 % of it.",
            needed.source, mend, needed, rating, remedy,
        )  # fmt: skip
    elif figures["current_high"].over(rating):
        yield Finding(
            "breaker-high-supply", "change",
            "At +10 % supply the load is more than the breaker's rating: it may trip.",
            breaker.SUPPLY_HIGH.source,
            mend_high(figures, supply), figures["current_high"], rating,
            _high_remedy(figures, supply),
        )  # fmt: skip


def _high_remedy(figures, supply):
    step = breaker.next_rating_a(figures["current_high"].number, supply["rules"])
    return None if step is None else Value(step, "A", source=breaker.SUPPLY_HIGH.source)


def mend_high(figures, supply):
    """What would carry the current at +10 % supply."""
    step = _high_remedy(figures, supply)
    return "Less load." if step is None else f"A {step.number:g} A circuit throughout."


def load_for_hours(sheet, figures):
    """Current a connection carries for hours, A: nominal under NEC, at +10 % supply under IEC."""
    return figures["current" if sheet["supply"]["rules"] == "nec" else "current_high"]


def _plug(sheet, figures):
    supply = sheet["supply"]
    plug = plugs.PLUGS[supply["connection"]]
    load = load_for_hours(sheet, figures)
    name = plugs.better(load.number, supply["voltage_v"], supply["rules"])
    remedy = plugs.PLUGS[name].hours
    mend = f"{plugs.PLUGS[name].text}, and the circuit that goes with it."
    if supply["voltage_v"] not in plug.volts:
        yield Finding(
            "plug-voltage", "stop",
            f"A {plug.text} is not made for {supply['voltage_v']} V.", plug.rated.source, mend,
            given(supply["voltage_v"], "V", "supply.voltage_v"),
            Value(max(plug.volts), "V", source=plug.rated.source), remedy,
        )  # fmt: skip
    if load.over(plug.rated):
        yield Finding("plug-overload", "stop", f"The load is more than a {plug.text} carries.",
                      plug.rated.source, mend, load, plug.rated, remedy)  # fmt: skip
    elif load.over(plug.hours) and sheet["oven"]["hours"] >= 1:
        yield Finding("plug-hours", "change",
                      f"The load is more than a {plug.text} should carry for hours.",
                      plug.hours.source, mend, load, plug.hours, remedy)  # fmt: skip
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    if supply["rules"] == "iec" and not plug.fused and rating.over(plug.rated):
        yield Finding("breaker-above-plug", "change",
                      f"The breaker lets through more than the {plug.text} is rated for.",
                      "IEC 60364-4-43 433.1", f"A breaker of at most {plug.rated.number:g} A.",
                      rating, plug.rated, plug.rated)  # fmt: skip


def _size_text(rules, size):
    return f"{size} AWG" if rules == "nec" else f"{size:g} mm2"


def _cable(sheet, figures):
    cable, supply = sheet["cable"], sheet["supply"]
    rules = supply["rules"]
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    load = max(figures["breaker_needed"].number, rating.number)
    size = ampacity.size_for(
        rules, cable["method"], load, cable["ambient_c"], cable["bunched_circuits"], rating.number
    )
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
    elif rating.over(allowed):
        yield Finding("cable-unprotected", "stop",
                      "The breaker lets through more than the run may carry.",
                      f"IEC 60364-4-43 433.1, NEC 240.4; {allowed.source}", mend, rating, allowed,
                      remedy)  # fmt: skip
    cap = ampacity.nec_breaker_max(cable["awg"]) if rules == "nec" else None
    if cap is not None and rating.over(cap):
        yield Finding("small-conductor", "stop",
                      f"{cable['awg']} AWG may not be behind so large a breaker.",
                      cap.source, mend, rating, cap, remedy)  # fmt: skip
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
    size = ampacity.size_for(rules, "cord", load.number, cord["ambient_c"], 1)
    remedy = None if size is None else Value(size, "AWG" if rules == "nec" else "mm2",
                                             source="first cord that carries it")  # fmt: skip
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


def _loop(sheet, figures):
    measured = sheet["supply"]["loop_ohm"]
    if measured is None or "loop_limit" not in figures:
        return
    figure, limit = given(measured, "ohm", "supply.loop_ohm"), figures["loop_limit"]
    if figure.over(limit) and sheet["supply"]["system"] == "tt":
        yield Finding("loop-impedance", "stop",
                      "The earth is too poor for this residual-current protection.", limit.source,
                      "A better earth, or a finer residual-current protection.", figure,
                      limit)  # fmt: skip
    elif figure.over(limit):
        lower = [c for c in "BCD" if breaker.loop_limit_ohm(
            sheet["supply"]["voltage_v"], sheet["supply"]["breaker_a"], c) >= measured]  # fmt: skip
        mend = f"Curve {lower[0]}." if lower else "A larger section or a shorter run."
        yield Finding("loop-impedance", "stop",
                      "An earth fault would not trip the breaker at once.", limit.source, mend,
                      figure, limit)  # fmt: skip


def _protection(sheet, figures):
    supply = sheet["supply"]
    limit = RESIDUAL_NEC if supply["rules"] == "nec" else RESIDUAL_IEC
    residual = given(supply["residual_ma"], "mA", "supply.residual_ma")
    mend = f"Residual-current protection of at most {limit.number:g} mA on this circuit."
    if supply["residual_ma"] == 0:
        yield Finding("residual-none", "stop", "No residual-current protection (RCD/GFCI).",
                      limit.source, mend, residual, limit, limit)  # fmt: skip
    elif residual.over(limit):
        yield Finding("residual-coarse", "change",
                      "The residual-current protection does not act at a person's level.",
                      limit.source, mend, residual, limit, limit)  # fmt: skip
    if supply["earth"] == "none":
        yield Finding("earth-none", "stop", "The oven's metal is not earthed.",
                      "class I appliance, IEC 60335-1 clause 27",
                      "Protective earth to oven, box and heatsink, tested.",
                      remedy=EARTH_LIMIT)  # fmt: skip
    elif supply["earth"] == "present" or supply["earth_ohm"] is None:
        yield Finding("earth-untested", "change", "Earth continuity has no measured figure.",
                      EARTH_LIMIT.source,
                      f"Measure plug to oven, box and heatsink: at most {EARTH_LIMIT}.",
                      remedy=EARTH_LIMIT)  # fmt: skip
    elif given(supply["earth_ohm"], "ohm", "supply.earth_ohm").over(EARTH_LIMIT):
        yield Finding("earth-high", "stop", "Earth continuity is poor.", EARTH_LIMIT.source,
                      "Find the bad joint and measure again.",
                      given(supply["earth_ohm"], "ohm", "supply.earth_ohm"), EARTH_LIMIT,
                      EARTH_LIMIT)  # fmt: skip


def _notes(sheet, figures):
    supply = sheet["supply"]
    inrush = figures["cold_inrush"]
    load, allowed = figures["circuit_current"], figures.get("cable_allowed")
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    chain = f"Ib {load.plain()}, In {rating.plain()}, Iz {allowed.plain() if allowed else 'none'}."
    yield Finding("coordination", "note", f"Load, breaker, run: {chain}",
                  figures["breaker_needed"].source, "In order while Ib <= In <= Iz.", load,
                  rating)  # fmt: skip
    if supply["rules"] == "iec" and figures["current_high"].over(hours_limit(rating)):
        yield Finding("breaker-warm", "note",
                      "The breaker carries most of its rating for hours.", SIDE_BY_SIDE.source,
                      "An empty place beside it, or the next size with cable to match.",
                      figures["current_high"], hours_limit(rating))  # fmt: skip
    if supply["curve"] == "nec":
        yield Finding("inrush", "note", "Cold elements draw a little more at first.",
                      inrush.source, "Nothing to mend.", inrush)  # fmt: skip
        return
    low = breaker.BANDS[supply["curve"]][0] * supply["breaker_a"]
    limit = Value(low, "A", source=f"IEC 60898-1, curve {supply['curve']} holds up to here")
    yield Finding("inrush", "note", "Cold elements draw a little more at first.", inrush.source,
                  "Nothing to mend while it stays under the limit.", inrush, limit)  # fmt: skip
