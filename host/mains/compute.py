"""All electrical and thermal figures of one build sheet, each with unit, mark and source."""

from host.mains import ampacity, box, breaker, conductors, flicker, ssr
from host.mains.value import MEMORY, Value, derived, given

ZONES = ("top", "deck")
TT_TOUCH = Value(50, "V", MEMORY, "IEC 60364-4-41 411.5.3: RA x I(residual) at most 50 V")


def element_power_w(element, voltage_v):
    """Power of an element of fixed resistance at `voltage_v`, W."""
    ohms = element["ohms"] or breaker.resistance_ohm(element["power_w"], element["voltage_v"])
    return voltage_v**2 / ohms


def size_mm2(cable):
    """Section of the run, mm2, whichever way it was given."""
    return cable["section_mm2"] or conductors.section_of_awg_mm2(cable["awg"])


def figures(sheet):
    """Dictionary of `Value` for every figure that the sheet alone decides (oven runs excluded)."""
    found = _currents(sheet)
    found |= _run(sheet, found)
    found |= _heat(sheet, found)
    found |= _flicker(sheet, found)
    return found


def _currents(sheet):
    volts = sheet["supply"]["voltage_v"]
    rules, hours = sheet["supply"]["rules"], sheet["oven"]["hours"]
    found = {}
    for zone in ZONES:
        power = element_power_w(sheet["elements"][zone], volts)
        found[f"power_{zone}"] = derived(power, "W", "V^2 / R, elements at the nominal voltage")
        found[f"current_{zone}"] = derived(power / volts, "A", "P / V")
    total = found["power_top"].number + found["power_deck"].number
    high = breaker.SUPPLY_HIGH
    found["power"] = derived(total, "W", "both elements at the nominal voltage")
    found["current"] = derived(total / volts, "A", "both elements, P / V")
    found["current_high"] = derived(total / volts * high.number, "A", f"fixed resistance, {high.source}", high)
    found["power_high"] = derived(total * high.number**2, "W", f"V^2 / R, {high.source}", high)
    circuit = total / volts + sheet["supply"]["other_load_a"]
    found["circuit_current"] = derived(circuit, "A", "oven and what else is on the circuit")
    inrush = breaker.COLD_INRUSH
    found["cold_inrush"] = derived(
        found["current_high"].number * inrush.number, "A",
        f"cold elements at +10 % supply; {inrush.source}", inrush, high,
    )  # fmt: skip
    needed = breaker.required_a(circuit, rules, hours)
    source = breaker.CONTINUOUS.source if rules == "nec" else "IEC 60364-4-43 433.1: Ib <= In <= Iz"
    found["breaker_needed"] = derived(needed, "A", source)
    return found


def _run(sheet, found):
    cable, supply = sheet["cable"], sheet["supply"]
    section, cord = size_mm2(cable), sheet["cord"]
    amps, volts = found["circuit_current"].number, supply["voltage_v"]
    run = conductors.drop_share(amps, cable["length_m"], section, volts)
    lead = conductors.drop_share(
        found["current"].number, cord["length_m"], size_mm2(cord), volts
    )  # fmt: skip
    result = {
        "drop": derived(run.number + lead.number, "%", run.source, run, lead),
        "drop_cord": lead,
    }
    size = cable["awg"] if supply["rules"] == "nec" else cable["section_mm2"]
    allowed = ampacity.allowed(supply["rules"], cable["method"], size, cable["ambient_c"], cable["bunched_circuits"])
    if allowed is not None:
        result["cable_allowed"] = allowed
    cord_size = cord["awg"] if supply["rules"] == "nec" else cord["section_mm2"]
    allowed = ampacity.allowed(supply["rules"], "cord", cord_size, cord["ambient_c"], 1)
    if allowed is not None:
        result["cord_allowed"] = allowed
    if cable["section_mm2"] is not None:
        ohm_km = conductors.resistance_20c(section, cable["method"] == "cord")
        hot = conductors.resistance_at_ohm_per_km(ohm_km.number, 70) * cable["length_m"] / 500
        result["run_resistance"] = derived(hot, "ohm", f"{ohm_km.source}, there and back at 70 degC", ohm_km)
    return result | _loop(supply)


def _loop(supply):
    result, volts = {}, supply["voltage_v"]
    if supply["loop_ohm"] is not None:
        fault = derived(volts / supply["loop_ohm"], "A", "V / measured loop impedance")
        result["fault_current"] = fault
    if supply["system"] == "tt":
        if supply["residual_ma"]:
            touch = TT_TOUCH
            limit = touch.number / (supply["residual_ma"] / 1000)
            result["loop_limit"] = derived(limit, "ohm", touch.source, touch)
    elif supply["curve"] != "nec":
        limit = breaker.loop_limit_ohm(volts, supply["breaker_a"], supply["curve"])
        source = f"IEC 60364-4-41 411.4.4, IEC 60898-1 curve {supply['curve']}"
        result["loop_limit"] = derived(limit, "ohm", source)
    return result


def _heat(sheet, found):
    result, losses = {}, {}
    for zone in ZONES:
        relay = sheet["relays"][zone]
        if relay["kind"] != "ssr":
            losses[zone] = 0.0
            continue
        drop = _drop(relay)
        amps = found[f"current_{zone}"].number * breaker.SUPPLY_HIGH.number
        losses[zone] = ssr.loss_w(amps, drop.number)
        result[f"loss_{zone}"] = derived(losses[zone], "W", "drop x current at +10 % supply, always on", drop)
    enclosure = sheet["box"]
    transfer = box.TRANSFER[enclosure["material"]]
    area = box.area_m2(enclosure["width_mm"], enclosure["height_mm"], enclosure["depth_mm"])
    air = box.air_c(enclosure["ambient_c"], sum(losses.values()), area, transfer.number)
    result["box_air"] = derived(air, "degC", f"P / (k A); {transfer.source}", transfer)
    sink_k_w = sheet["heatsink"]["k_w"] if sheet["heatsink"]["fitted"] else None
    if sink_k_w is None:
        return result
    sink_w = sum(losses.values())
    result["sink"] = derived(air + sink_w * sink_k_w, "degC", "box air + P x RthSA", transfer)
    return result | _junctions(sheet, air, losses, sink_k_w, transfer)


def _junctions(sheet, air, losses, sink_k_w, transfer):
    result, sink_w = {}, sum(losses.values())
    for zone in ZONES:
        relay = sheet["relays"][zone]
        if relay["kind"] == "ssr" and relay["junction_case_k_w"] is not None:
            junction = ssr.junction_c(
                air, losses[zone], sink_w, relay["junction_case_k_w"], relay["case_sink_k_w"],
                sink_k_w,
            )  # fmt: skip
            result[f"junction_{zone}"] = derived(junction, "degC", "Tj = Ta + P x sum(Rth)", transfer, _drop(relay))
            bears = ssr.air_allowed_c(
                ssr.DESIGN_JUNCTION.number, losses[zone], sink_w, relay["junction_case_k_w"],
                relay["case_sink_k_w"], sink_k_w,
            )  # fmt: skip
            result[f"air_{zone}"] = derived(bears, "degC", "Ta = Tj - P x sum(Rth), Tj 115 degC", ssr.DESIGN_JUNCTION)
    return result


def _drop(relay):
    if relay["drop_v"] is None:
        return ssr.DROP_WORST
    return given(relay["drop_v"], "V", "relays, drop_v")


def _flicker(sheet, found):
    volts, control = sheet["supply"]["voltage_v"], sheet["control"]
    if sheet["supply"]["rules"] == "nec" or volts not in (230, 240):
        return {}
    top, deck = (flicker.change_pct(found[f"power_{zone}"].number, volts) for zone in ZONES)
    steps = flicker.steps_pct(top, deck, control["staggered"])
    needed = flicker.window_needed_s(steps)
    ohm = flicker.REFERENCE_OHM
    result = {
        "change": derived(max(steps), "%", f"R x I / V; {ohm.source}", ohm),
        "change_both": derived(top + deck, "%", f"both together; {ohm.source}", ohm),
        "pst": derived(flicker.pst(steps, control["window_s"]), "", "IEC 61000-4-15 Pst = 1 curve", ohm),
    }
    staggered = control["staggered"] and min(top, deck) > 0  # a single element fills nobody's gap
    result |= _band(("band", "band_worst"), control["window_s"], staggered)
    if needed is not None:
        result |= _band(("band_needed", "band_needed_worst"), needed, staggered)
        result["window_needed"] = derived(needed, "s", "shortest usual window with Pst <= 1", ohm)
    return result


def _band(names, window_s, staggered):
    """What a window costs while holding: the median and the worst of simulated ovens."""
    how = "staggered" if staggered else "switched as one"
    word = f"{window_s:g} s window, {how}; {flicker.BAND_SOURCE}"
    bands = flicker.band_k(window_s, staggered)
    return {name: derived(round(k, 1), "K", word) for name, k in zip(names, bands, strict=True)}


LABELS = {
    "power": "Both elements at nominal voltage",
    "power_top": "Top element",
    "power_deck": "Deck element",
    "current_top": "Current of the top element",
    "current_deck": "Current of the deck element",
    "current": "Current at nominal voltage",
    "current_high": "Current at +10 % supply",
    "circuit_current": "Current of the whole circuit",
    "power_high": "Both elements at +10 % supply",
    "cold_inrush": "Cold inrush, first seconds",
    "breaker_needed": "Least breaker for this load",
    "cable_allowed": "The run may carry",
    "cord_allowed": "The cord may carry",
    "drop": "Voltage drop of run and cord",
    "drop_cord": "Of it, the cord",
    "run_resistance": "Resistance of the run",
    "fault_current": "Earth-fault current at the socket",
    "loop_limit": "Loop impedance at most",
    "loss_top": "Heat of the top relay",
    "loss_deck": "Heat of the deck relay",
    "box_air": "Air inside the relay box",
    "sink": "Heatsink",
    "junction_top": "Junction of the top relay",
    "junction_deck": "Junction of the deck relay",
    "air_top": "Box air at which the top relay is at its limit",
    "air_deck": "Box air at which the deck relay is at its limit",
    "change": "Largest voltage change in a window",
    "change_both": "Change if both switch together",
    "pst": "Flicker Pst",
    "window_needed": "Shortest window for Pst 1",
    "band": "Band at the sheet's window, typical",
    "band_worst": "Band at the sheet's window, worst",
    "band_needed": "Band at the shortest window, typical",
    "band_needed_worst": "Band at the shortest window, worst",
    "highest": "Air after 3 h at full power",
    "highest_low": "Same at -10 % supply",
    "time_to": "Time to the wanted temperature",
    "time_to_low": "Same at -10 % supply",
    "holding": "Power that holds the wanted temperature, door shut",
    "power_margin": "Share of the power in hand while holding",
    "power_needed": "Power that leaves 15 % in hand while holding",
    "baking": "Mean power while baking",
    "energy": "Energy of an evening",
    "cost": "Cost of an evening",
    "cost_year": "Cost of a year of evenings",
    "soak_electronics": "Oven's electronics after a power cut, peak",
    "soak_casing": "Oven's casing after a power cut, peak",
    "soak_box": "Relay box after a power cut, peak",
}
