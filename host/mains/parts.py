"""Parts list with the least ratings; no brands."""

from dataclasses import dataclass

from host.mains import ampacity, breaker, conductors, plugs, ssr
from host.mains.checks import protection, relays
from host.mains.checks.cable import load_for_hours
from host.mains.checks.places import cavity_c
from host.mains.ratings import expected_c, wire_class
from host.mains.value import Value


@dataclass(frozen=True)
class Part:
    """`least` is the minimum rating as text (its marks included); `source` where it comes from."""

    what: str
    least: str
    source: str

    def as_json(self):
        """Dictionary for --json."""
        return {"what": self.what, "least": self.least, "source": self.source}


def parts(sheet, figures):
    """List of `Part` for this build."""
    return _upstream(sheet, figures) + _inside(sheet, figures) + _hot(sheet, figures)


def _upstream(sheet, figures):
    supply, cable = sheet["supply"], sheet["cable"]
    rules, nec = supply["rules"], supply["rules"] == "nec"
    rating = breaker.next_rating_a(figures["breaker_needed"].number, rules)
    shown = supply["breaker_a"] if rating is None else max(rating, supply["breaker_a"])
    size = ampacity.size_for(
        rules, cable["method"], max(shown, figures["breaker_needed"].number),
        cable["ambient_c"], cable["bunched_circuits"], shown,
    )  # fmt: skip
    inner_text = _size_text(size, nec)
    size_text = _size_text(_with_drop(sheet, figures, size), nec)
    name = plugs.better(load_for_hours(sheet, figures).number, supply["voltage_v"], rules, supply["connection"])
    plug = plugs.PLUGS[name]
    curve = "" if nec else f", curve {supply['curve']}"
    residual = "ground-fault protection, 6 mA" if nec else "residual-current protection, 30 mA"
    return [
        Part("Circuit breaker", f"{shown} A{curve}, 2 poles", figures["breaker_needed"].source),
        Part("Protection of persons", residual, "see the findings; local code first"),
        Part("Connection", f"{plug.text}, {plug.hours} for hours", plug.hours.source),
        Part("Fixed run", f"copper, {size_text}, laid as {cable['method']}",
             "capacity behind this breaker, and voltage drop"),
        Part("Cord", _cord_text(sheet, figures), "carries the load for hours; rubber or silicone"),
        Part("Wires in the relay box", f"copper, {inner_text}, 90 degC insulation",
             "behind the same breaker as the run; common practice, no source"),
    ]  # fmt: skip


def _size_text(size, nec):
    return "none in the table" if size is None else f"{size:g} {'AWG' if nec else 'mm2'}"


def _with_drop(sheet, figures, size):
    """`size` (mm2 or AWG, None stays None) or the thicker one that keeps the voltage drop."""
    supply, cable = sheet["supply"], sheet["cable"]
    nec = supply["rules"] == "nec"
    limit = conductors.DROP_LIMIT_NEC if nec else conductors.DROP_LIMIT[supply["network"]]
    left_pct = limit.number - figures["drop_cord"].number
    for wider in ampacity.sizes(supply["rules"], cable["method"]):
        section = conductors.section_of_awg_mm2(wider) if nec else wider
        drop = conductors.drop_share(figures["circuit_current"].number, cable["length_m"], section, supply["voltage_v"])
        enough = size is not None and (wider <= size if nec else wider >= size)
        if enough and drop.number <= left_pct:
            return wider
    return None


def _cord_text(sheet, figures):
    rules, cord = sheet["supply"]["rules"], sheet["cord"]
    load = load_for_hours(sheet, figures).number
    size = ampacity.size_for(rules, "cord", load, cord["ambient_c"], 1)
    unit = "AWG" if rules == "nec" else "mm2"
    return "none in the table: a fixed connection" if size is None else f"{size:g} {unit}"


def _inside(sheet, figures):
    high, volts = figures["current_high"], sheet["supply"]["voltage_v"]
    contactor = next((s for s in relays.CONTACTOR_SIZES_A if s >= high.number), None)
    least = f"{contactor or high.number:g} A AC-1, 2 poles, mirror contact, coil for the supply"
    poles = 3 if protection.both_live(sheet) else 2
    switch = f"{high.number:.1f} A or more, {poles} poles, ORIGINAL - OFF - OURS, break before make"
    found = [
        Part("Transfer switch", switch + ", auxiliary contact", high.source),
        Part("Contactor", least, high.source),
    ]
    for zone in ("top", "deck"):
        amps = figures[f"current_{zone}"].number * breaker.SUPPLY_HIGH.number
        step = ssr.next_rating_a(amps / ssr.CURRENT_MARGIN.number)
        rating = Value(step or amps, "A", ssr.CURRENT_MARGIN.mark)
        found.append(Part(
            f"Relay, {zone}", f"{rating}, {1.1 * volts:.0f} V load or more, zero-crossing, "
            "with a fast fuse of the maker's I2t",
            f"element at +10 % supply in 80 % of the rating; {ssr.CURRENT_MARGIN.source}",
        ))  # fmt: skip
    zones = [z for z in ("top", "deck") if sheet["relays"][z]["kind"] == "ssr"]
    needed, lacking = relays.heatsink_needed(sheet, figures, zones) if zones else (0, [1])
    if not lacking:
        air = figures["box_air"]
        found.append(Part("Heatsink", f"at most {max(needed, 0):.2f} K/W for both relays"
                          + (" (to be verified)" if air.to_verify else ""), air.source))  # fmt: skip
    wanted = sheet["oven"]["wanted_c"]
    found += [
        Part("High limit", f"own sensor, hand reset, set {wanted + 20:g} to {wanted + 60:g} degC, "
             "its contact in the contactor's coil circuit", "own rule of this controller"),
        Part("Control fuse", "1 A slow, at the power supply of the controller",
             "from memory (to be verified)"),
        Part("Power supply", "double insulation between mains and extra-low voltage (SELV)",
             "IEC 60364-4-41 clause 414, from memory (to be verified)"),
    ]  # fmt: skip
    return found


def _hot(sheet, figures):
    hot, room = cavity_c(sheet), sheet["oven"]["room_c"]
    found = []
    for place, text in (("terminal", "Element leads and terminals"), ("cabinet", "Inner wiring")):
        seen = expected_c(place, hot, room)
        better = wire_class(seen.number)
        least = f"{seen}" if better is None else f"{seen}: {better[1]}, {better[0]}"
        found.append(Part(text, least, seen.source))
    found.append(Part("Parts in the cavity", f"{hot:g} degC", "the high limit's setting"))
    found.append(Part("Probe", f"type K or N, class 1, sheath for {hot:g} degC", "IEC 60584-1"))
    return found
