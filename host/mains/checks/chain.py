"""Findings on the contactor's coil chain: its voltage, what drives it, and that no contact serves two voltages."""

from host.circuit import BOARD, CHAIN, CIRCUIT
from host.mains import breaker, device_rules
from host.mains.finding import Finding
from host.mains.value import Value, given

ONE_CONTACT = "a contact has one voltage: extra-low voltage and mains, or chain and board, never share one"
KEYS = {"ENABLE": "enable_sensed", "LIMIT_OK": "limit_sensed", "SELECTOR": "selector_sensed"}
NOMINAL_V = {"selv_24dc": 24, "selv_12dc": 12, "selv_24ac": 24}  # V; by their names
PEAK = 2**0.5  # peak of a sine wave against its effective value


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on the coil chain."""
    parts = (_kind, _sensing, _driver) if sheet["contactor"]["fitted"] else (_sensing,)
    return [finding for part in parts for finding in part(sheet)]


def _kind(sheet):
    chain = sheet["chain"]
    if chain["kind"] == "mains":
        yield Finding("chain-mains", "change", "The coil's chain runs at mains, through the devices that the "
                                               "board senses.",
                      "contacts of one block have basic insulation between them as a rule; 3.3 V beside mains needs "
                      "double (IEC 60664-1, IEC 61140; from memory)",
                      'A coil for 24 V d.c. from a separated supply (chain.kind = "selv_24dc"); else contact '
                      'sets whose '
                      "maker states protective separation.")  # fmt: skip
    elif chain["separated"] is False:
        yield Finding("chain-not-separated", "stop", "The chain's extra-low voltage is not separated from mains.",
                      "SELV or PELV, IEC 60364-4-41 clause 414 (from memory)",
                      "A supply with double insulation (SELV mark, IEC 61558-2-6 or -2-16).")  # fmt: skip


def _sensing(sheet):
    chain = sheet["chain"]
    for name, key in KEYS.items():
        device, how = CIRCUIT.named(name), chain[key]
        if how == "same_contact":
            yield Finding("one-contact-two-voltages", "stop",
                          f"{name}: the contact in the coil's chain is also the one that the board senses at 3.3 V.",
                          ONE_CONTACT,
                          f"{device.mark}: a second, electrically separate contact ({device.on(CHAIN).terminals} "
                          f"in the "
                          f"chain, {device.on(BOARD).terminals} to the board), or a separated sensing "
                          "stage.")  # fmt: skip
        elif how == "not_sensed":
            yield Finding("contact-not-sensed", device_rules.grade_without(name, sheet["oven"]["wanted_c"]),
                          f"{name} acts in the chain only; the board cannot tell.", device_rules.rule_without(name),
                          f"A second contact of {device.mark} to the board's {name}: {key} = "
                          '"own_contact".')  # fmt: skip


def chain_volts(sheet: dict) -> float | None:
    """Highest voltage that the driver's output has to bear, V; None where the kind is unknown."""
    kind, driver = sheet["chain"]["kind"], sheet["chain"]["driver"]
    if kind is None:
        return None
    if kind == "mains":
        volts = sheet["supply"]["voltage_v"] * breaker.SUPPLY_HIGH.number
    else:
        volts = NOMINAL_V[kind]
    is_peak = driver == "transistor" and kind in ("mains", "selv_24ac")
    return volts * PEAK if is_peak else volts


def _driver(sheet):
    chain = sheet["chain"]
    if chain["driver"] == "board_pin":
        yield Finding("driver-none", "stop", "A pin of the board cannot drive a contactor's coil.",
                      "3.3 V and some milliamperes", "An interposing relay, or for d.c. a transistor with a "
                                                     "diode across "
                      "the coil, between pin and coil.")  # fmt: skip
        return
    if chain["driver"] == "transistor" and chain["kind"] in ("mains", "selv_24ac"):
        yield Finding("driver-for-dc", "stop", "A transistor switches direct current only; this chain is alternating.",
                      "component's data sheet", 'An interposing relay (driver = "relay"), or a chain of 24 V '
                      "d.c.")  # fmt: skip
    elif chain["driver"] == "transistor":
        yield Finding("driver-not-apart", "note", "A transistor joins the chain's minus to the board's ground: they "
                                                  "are apart no longer, though both stay at extra-low voltage.",
                      "component's circuit", "An opto-coupled driver, or an interposing relay.")  # fmt: skip
    volts, rated_v = chain_volts(sheet), chain["driver_rated_v"]
    if volts is None or rated_v is None:
        return
    needs, rated = Value(volts, "V", source="the chain's voltage"), given(rated_v, "V", "chain.driver_rated_v")
    if needs.over(rated):
        yield Finding("driver-voltage", "stop", "The coil's driver is not made for the chain's voltage.",
                      "driver's data sheet", f"One for {needs.plain()} or more.", needs, rated, needs)  # fmt: skip
