"""Parts list with the least ratings; no brands."""

from dataclasses import dataclass

from host.circuit import BOARD, CHAIN, CIRCUIT, Circuit
from host.mains import ampacity, breaker, conductors, coordination, plugs, poles, ssr
from host.mains.checks import relays
from host.mains.checks.cable import load_for_hours
from host.mains.checks.earth import residual_limit
from host.mains.checks.places import cavity_c
from host.mains.ratings import expected_c, wire_class
from host.mains.value import Value


@dataclass(frozen=True)
class Part:
    """`least` is the minimum rating as text (its marks included); `source` where it comes from."""

    what: str
    least: str
    source: str

    @property
    def shown(self) -> str:
        """`least` as printed: "(to be verified)" stays on whatever rests on memory."""
        marked = "(to be verified)" in self.least or "from memory" not in self.source
        return self.least if marked else f"{self.least} (to be verified)"

    def as_json(self) -> dict:
        """Dictionary for --json."""
        return {"what": self.what, "least": self.shown, "source": self.source}


BOUGHT_ELSEWHERE = ("V1", "V2", "K1", "K4", "Q1", "X1")  # named above with their ratings, or not bought
LOW_LEVEL = " of low-level (gold) type"
KIND_OF_RCD = "type A or better: a relay stuck in one half wave leaks pulsating direct current (IEC 60755, from memory)"
CONTACTS_SOURCE = "the description of the circuit; a contact for each voltage"


def parts(sheet: dict, figures: dict, circuit: Circuit = CIRCUIT) -> list[Part]:
    """List of `Part` for this build."""
    circuit = of_sheet(sheet, circuit)
    return _upstream(sheet, figures) + _inside(sheet, figures, circuit) + _hot(sheet, figures)


def of_sheet(sheet: dict, circuit: Circuit = CIRCUIT) -> Circuit:
    """The circuit as the sheet has it: the chain's voltage (the recommended one where that is unknown), and whether the
    limiter has a contactor of its own."""
    kind, limit = sheet["chain"]["kind"], sheet["high_limit"]
    if limit["fitted"] and limit["own_contactor"]:
        circuit = circuit.with_limiter_contactor()
    return circuit if kind is None else circuit.with_chain(kind, f"{sheet['supply']['voltage_v']} V")


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
    residual = "ground-fault protection, " if nec else "residual-current protection of type A, "
    residual += str(residual_limit(rules))
    return [
        Part("Circuit breaker", f"{shown} A{curve}, {poles.breaker_words(sheet)}", figures["breaker_needed"].source),
        Part("Protection of persons", residual, KIND_OF_RCD if not nec else "see the findings; local code first"),
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
    size = coordination.cord_size(sheet, load_for_hours(sheet, figures).number)
    unit = "AWG" if sheet["supply"]["rules"] == "nec" else "mm2"
    return "none in the table: a fixed connection" if size is None else f"{size:g} {unit}"


def _inside(sheet, figures, circuit):
    high = figures["current_high"]
    before = coordination.device_before(sheet).number
    contactor = coordination.size_at_least(coordination.CONTACTOR_SIZES_A, high.number, before) or max(
        high.number, before
    )
    switch = coordination.size_at_least(coordination.SWITCH_SIZES_A, high.number, before) or max(high.number, before)
    found = [
        Part("Transfer switch", f"{switch:g} A, {poles.transfer_poles(sheet)} poles, ORIGINAL - OFF - OURS, "
                                f"break before "
             "make, two auxiliary contacts, a changeover for the cooling fan", f"{high.source}, and the device "
                                                                               f"before it"),
        Part("Contactor", f"{contactor:g} A AC-1, 2 poles, mirror contact, coil for {circuit.voltage(CHAIN)}",
             f"{high.source} (from memory), and the device before it"),
    ]  # fmt: skip
    if circuit.branches:
        found.append(Part("Limiter's contactor K4", f"{contactor:g} A AC-1, 2 poles, coil for {circuit.voltage(CHAIN)}",
                          f"{high.source} (from memory), and the device before it"))  # fmt: skip
    found += _relays(sheet, figures, before)
    zones = [z for z in ("top", "deck") if sheet["relays"][z]["kind"] == "ssr"]
    needed, lacking = relays.heatsink_needed(sheet, figures, zones) if zones else (0, [1])
    if not lacking:
        air = figures["box_air"]
        found.append(Part("Heatsink", f"at most {max(needed, 0):.2f} K/W for both relays"
                          + (" (to be verified)" if air.to_verify else ""), air.source))  # fmt: skip
    wanted = sheet["oven"]["wanted_c"]
    found += [
        Part("High limit", f"own sensor, hand reset, set {wanted + 20:g} to {wanted + 60:g} degC, "
             "its contact in the coil's chain", "own rule of this controller"),
        Part("Control fuse", "1 A slow, at G1 and the controller's supply, fed behind the oven's own plug or isolator",
             "usual for such supplies, from memory; so that one plug makes all dead"),
        Part("Wires of chain and 3.3 V", "each in a sheath or duct of its own, nowhere beside mains; chain 0.5 mm2 "
             "or more", "one contact, one voltage; section: common practice, no source"),
    ]  # fmt: skip
    return found + _of_the_circuit(sheet, circuit)


def _relays(sheet, figures, before):
    found, volts = [], sheet["supply"]["voltage_v"]
    for zone in ("top", "deck"):
        step = coordination.size_at_least(
            ssr.RATINGS_A, figures[f"current_{zone}_high"].number / ssr.CURRENT_MARGIN.number,
            coordination.relay_before(sheet, zone).number,
        )  # fmt: skip
        rating = Value(step or before, "A", ssr.CURRENT_MARGIN.mark)
        found.append(Part(
            f"Relay, {zone}", f"{rating}, {1.1 * volts:.0f} V load or more, zero-crossing, "
            "with a fast fuse whose total I2t is below the relay's",
            f"element at +10 % supply in 80 % of the rating; {ssr.CURRENT_MARGIN.source}",
        ))  # fmt: skip
    return found


def _of_the_circuit(sheet, circuit):
    """What the description of the circuit needs besides: supply, driver, contacts of each voltage, sensors."""
    found = []
    for device in circuit.devices:
        if device.mark in BOUGHT_ELSEWHERE or (device.mark == "K3" and not sheet["cooling_fan"]["in_oven"]):
            continue
        each = "; ".join(
            f"{contact.kind} for {circuit.voltage(contact.circuit)}" + (LOW_LEVEL if contact.circuit == BOARD and
            contact.kind == "contact" else "") for contact in device.contacts)  # fmt: skip
        apart = ", electrically separate" if len(device.contacts) > 1 else ""
        found.append(Part(f"{device.mark} {device.short}", f"{device.what}: {each}{apart}", CONTACTS_SOURCE))
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
