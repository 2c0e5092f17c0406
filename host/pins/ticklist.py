"""The wires of a pin map as a list to tick off on the bench: from which pin to what, with what fitted, and what a
meter must show with the mains unplugged."""

from typing import NamedTuple

from host.pins.finding import plain
from host.pins.pinrules import ohms
from host.pins.probespecs import BUS_KEYS, bus_kind, entries


class Wire(NamedTuple):
    """One line of the list. `pin` as printed ("GP10"), `edge` its number on the board's edge or ""."""

    name: str
    pin: str
    edge: str
    to: str
    fit: str
    measure: str


MEASURE = """\
0 V off        at the far end of the wire: the resistor to GND with the board unplugged; on USB 0 V in reset and idle
open/closed    on USB 3.3 V while the contact is open, 0 V while it is closed
continuity     from the pin to the chip's terminal, board unplugged"""
OUTPUTS = {
    "HEAT_TOP": "driver of the relay of the top element",
    "HEAT_DECK": "driver of the relay of the deck element",
    "CONTACTOR": "driver of the contactor's coil, in series with ENABLE, LIMIT_OK and SELECTOR",
    "COOLING_FAN": "driver of the fan relay; its NORMALLY CLOSED contact feeds the fan",
}
CONTACTS = {
    "ENABLE": "key or latching stop switch to GND, closed = enabled",
    "LIMIT_OK": "independent high limit's contact to GND, closed = healthy",
    "SELECTOR": "transfer switch's auxiliary contact to GND, closed in OURS",
    "CONTACTOR_OPEN": "contactor's mirror contact to GND, closed while it is open",
    "MAINS_SENSE_TOP": "current sensor of the top zone: opto output to GND",
    "MAINS_SENSE_DECK": "current sensor of the deck zone: opto output to GND",
    "FAN_OK": "fan's contact to GND, closed while it turns",
    "DOOR": "door contact to GND, closed = shut",
    "MAINTENANCE": "jumper to GND, fitted only to load a board whose link is dead",
}
SHORT = {
    "ENABLE": "key or stop switch",
    "LIMIT_OK": "independent high limit",
    "SELECTOR": "transfer switch in OURS",
    "CONTACTOR_OPEN": "contactor's mirror contact",
    "MAINS_SENSE_TOP": "current sensor, top zone",
    "MAINS_SENSE_DECK": "current sensor, deck zone",
    "FAN_OK": "cooling fan turns",
    "DOOR": "door, closed = shut",
    "MAINTENANCE": "jumper, not fitted in use",
}
TERMINALS = {
    "sck": "CLK", "miso": "DO", "mosi": "DI", "cs": "CS", "sda": "SDA", "scl": "SCL", "adc": "OUT",
}  # fmt: skip


def wires(board):
    """Every Wire of a Board, in the order of the job: outputs, contacts, probes, panel."""
    made = []
    for name, to in OUTPUTS.items():
        if is_pin(board.get(name)):
            made.append(_output(board, name, to))
    for name, to in CONTACTS.items():
        if is_pin(board.get(name)):
            active = board.chip is not None and board.get(name) in board.chip.active
            fit = "1 kohm in series" if active else ""
            made.append(_wire(board, name, board.get(name), to, fit, "open/closed"))
    for probe, terminal, pin in terminals(board):
        name = f"PROBES.{probe}"
        spec = board.get("PROBES")[probe]
        to = f"{terminal} of the {probe} probe's {spec.get('chip')}"
        made.append(_wire(board, name, pin, to, "", "continuity"))
    for probe, spec in entries(board):
        fit = "100 nF across them at the chip"
        if bus_kind(spec.get("bus")) == "i2c":
            fit += "; 4.7 kohm from SDA and SCL to 3V3 once a bus"
        to = f"supply of the {probe} probe's {spec.get('chip')}"
        made.append(Wire(f"PROBES.{probe}", "3V3, GND", "", plain(to), fit, "3.3 V"))
    for name, pin in panel_pins(board):
        made.append(_wire(board, name, pin, f"{name.rpartition('.')[2].lower()} of the panel", "", "continuity"))
    return made


def is_pin(value):
    """Whether a map's value can be a pin number."""
    return isinstance(value, int) and not isinstance(value, bool)


def terminals(board):
    """(probe, terminal, pin) of every signal of every probe's chip."""
    for probe, spec in entries(board):
        bus = spec.get("bus")
        kind = bus_kind(bus)
        for signal in BUS_KEYS.get(kind, ()):
            if signal not in ("spi", "i2c") and is_pin(bus.get(signal)):
                yield probe, TERMINALS[signal], bus[signal]
        if kind == "spi" and is_pin(spec.get("cs")):
            yield probe, TERMINALS["cs"], spec["cs"]


def panel_pins(board):
    """(name in the map, pin) of everything that a person sees, hears or turns."""
    for pin, uses in sorted(board.uses.items()):
        for name, _, _ in uses:
            if name.startswith("PANEL.") or name in ("BUZZER", "LED"):
                yield name, pin


def resistor(board):
    """The pull-down at a relay driver's input as words, "" for an unknown chip."""
    return ohms(board.chip.pull_down_ohm) if board.chip else ""


def _output(board, name, to):
    if name == "CONTACTOR" and board.get("CONTACTOR_DRIVE") == "pulse":
        to = "retriggerable monostable, 600 ms at most, and " + to
    fit = f"{resistor(board)} to GND at its input".strip()
    return _wire(board, name, board.get(name), to, fit, "0 V off")


def _wire(board, name, pin, to, fit, measure):
    edge = str(board.chip.header.get(pin, "")) if board.chip else ""
    return Wire(plain(name), board.gp(pin), edge, plain(to), fit, measure)


def table(board):
    """The list as plain text, one box to tick a line."""
    rows = [("name", "pin", "edge", "goes to", "fit", "meter"), *wires(board)]
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["    " + "  ".join(cell.ljust(width) for cell, width in zip(rows[0], wide, strict=True)).rstrip()]
    for row in rows[1:]:
        lines.append("[ ] " + "  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip())
    missing = [name for name in (*OUTPUTS, *CONTACTS) if board.get(name) is None]
    if missing:
        lines.append(f"not wired: {', '.join(missing)}")
    if any(row[2] for row in rows[1:]):
        lines.append("edge = pin number counted on the board's edge; compare it with the print on the board")
    lines += ["meter, mains unplugged:", MEASURE]
    return "\n".join(lines)
