"""All electrical and thermal figures of one build sheet, each with unit, mark and source."""

from host.mains import ampacity, box, breaker, conductors, flicker, poles, ssr
from host.mains.value import MEMORY, Value, derived, given

ZONES = ("top", "deck")
TT_TOUCH = Value(50, "V", MEMORY, "IEC 60364-4-41 411.5.3, 411.6: RA x I(residual) at most 50 V")


def element_power_w(element: dict, voltage_v: float) -> float:
    """Power of an element of fixed resistance at `voltage_v`, W."""
    ohms = element["ohms"] or breaker.resistance_ohm(element["power_w"], element["voltage_v"])
    return voltage_v**2 / ohms


def zone_power_w(sheet: dict, zone: str) -> float:
    """Power of a zone at the supply's voltage, W: its element and those that are to heat with it in OURS."""
    volts = sheet["supply"]["voltage_v"]
    more = [extra for extra in sheet["extra_element"] if extra["in_ours"] == zone]
    return element_power_w(sheet["elements"][zone], volts) + sum(
        element_power_w({**extra, "ohms": None}, volts) for extra in more
    )


def size_mm2(cable: dict) -> float:
    """Section of the run, mm2, whichever way it was given."""
    return cable["section_mm2"] or conductors.section_of_awg_mm2(cable["awg"])


def figures(sheet: dict) -> dict:
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
        power = zone_power_w(sheet, zone)
        found[f"power_{zone}"] = derived(power, "W", "V^2 / R, elements at the nominal voltage")
        found[f"current_{zone}"] = derived(power / volts, "A", "P / V")
        amps = power / volts * breaker.SUPPLY_HIGH.number
        found[f"current_{zone}_high"] = derived(amps, "A", "element at +10 % supply", breaker.SUPPLY_HIGH)
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
    return result | _loop(sheet)


def _loop(sheet):
    supply, volts = sheet["supply"], poles.to_earth_v(sheet)
    result = {}
    if supply["loop_ohm"] is not None:
        fault = derived(volts / supply["loop_ohm"], "A", "U0 / measured loop impedance")
        result["fault_current"] = fault
        result |= _let_through(sheet, fault)
    if supply["system"] == "tn":
        result["loop_limit"] = breaker.cold_loop_limit_ohm(volts, supply["breaker_a"], supply["curve"])
    elif supply["residual_ma"]:
        limit = TT_TOUCH.number / (supply["residual_ma"] / 1000)
        result["loop_limit"] = derived(limit, "ohm", TT_TOUCH.source, TT_TOUCH)
    return result


def _let_through(sheet, fault):
    """I^2 t of a short circuit at the connection and what the cord bears, A2s; {} where the curve has no standard, and
    in TT and IT, where the measured loop goes through earth and says nothing of it."""
    supply = sheet["supply"]
    if supply["curve"] not in breaker.BANDS or supply["system"] != "tn":
        return {}
    passes = breaker.let_through(fault.number, supply["breaker_a"], supply["curve"])
    if supply["breaker_i2t_a2s"] is not None:
        passes = given(supply["breaker_i2t_a2s"], "A2s", "supply.breaker_i2t_a2s")
    bears = conductors.bears_a2s(size_mm2(sheet["cord"]))
    return {"fault_i2t": passes, "cord_i2t": derived(bears, "A2s", conductors.K_PVC.source, conductors.K_PVC)}


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
    control = _control_loss(sheet)
    total = sum(losses.values()) + control.number
    result["loss_control"] = control
    result["loss_box"] = derived(total, "W", "relays, contactor's coil, supplies and board", control)
    air = box.air_c(enclosure["ambient_c"], total, area, transfer.number)
    result["box_air"] = derived(air, "degC", f"P / (k A); {transfer.source}", transfer, control)
    sink_k_w = sheet["heatsink"]["k_w"] if sheet["heatsink"]["fitted"] else None
    if sink_k_w is None:
        return result
    sink_w = sum(losses.values())
    result["sink"] = derived(air + sink_w * sink_k_w, "degC", "box air + P x RthSA", transfer)
    return result | _junctions(sheet, air, losses, sink_k_w, transfer)


def _control_loss(sheet):
    """Heat of what is always on in the box, a Value in W: the contactor's coil, the supplies and the board."""
    chain = sheet["chain"]
    coil = box.COIL if chain["coil_w"] is None else given(chain["coil_w"], "W", "chain.coil_w")
    supply = box.SUPPLY if chain["supply_w"] is None else given(chain["supply_w"], "W", "chain.supply_w")
    number = supply.number + (coil.number if sheet["contactor"]["fitted"] else 0.0)
    return derived(number, "W", f"coil: {coil.source}; supplies and board: {supply.source}", coil, supply)


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
