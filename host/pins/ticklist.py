"""The wires of a pin map as a list to tick off on the bench: from which pin to what, at which voltage, with what
fitted, and what a meter must show with the mains unplugged. Every contact of the circuit has a line of its own; names,
terminals and voltages come from `host.circuit`."""

from collections.abc import Iterator
from typing import NamedTuple

from host.circuit import BOARD, CHAIN, CIRCUIT, MAINS, WORDS, Circuit
from host.pins.board import Board
from host.pins.buses import BUS_KEYS, bus_kind, signals
from host.pins.finding import plain
from host.pins.pinrules import ohms
from host.pins.probespecs import entries


class Wire(NamedTuple):
    """One line of the list. `pin` as printed ("GP10", "chain 3"), `edge` its number on the board's edge or ""; `volts`
    the voltage of this contact in words."""

    name: str
    pin: str
    edge: str
    to: str
    volts: str
    fit: str
    measure: str


MEASURE = """\
0 V off        at the far end of the wire: the resistor to GND with the board unplugged; on USB 0 V in reset and idle
open/closed    on USB 3.3 V while the contact is open, 0 V while it is closed
continuity     from the pin to the chip's terminal, board unplugged
apart          chain's supply off: open and closed as it should be, and no continuity to any wire of another voltage
electrician    mains contacts: by the licensed person, plug out, dead proved"""
TERMINALS = {
    "sck": "CLK", "miso": "DO", "mosi": "DI", "cs": "CS", "sda": "SDA", "scl": "SCL", "adc": "OUT",
}  # fmt: skip
PANEL_WORDS = {"BUZZER": "driver of the buzzer", "LED": "lamp with its resistor to GND"}
LOW_LEVEL = "contact for low levels (gold); 1 kohm from pin to 3V3"


def wires(board: Board, circuit: Circuit = CIRCUIT) -> list[Wire]:
    """Every Wire of a Board, in the order of the job: outputs, contacts, probes, panel, then chain and mains."""
    made = [_output(board, circuit, device) for device in circuit.outputs() if is_pin(board.get(device.name))]
    made += [_contact(board, circuit, device) for device in circuit.inputs() if is_pin(board.get(device.name))]
    return made + _probes(board, circuit) + _panel(board, circuit) + _chain(board, circuit) + _mains(board, circuit)


def _contact(board, circuit, device):
    pin, contact = board.get(device.name), device.on(BOARD)
    active = board.chip is not None and pin in board.chip.active
    fit = "1 kohm in series" if active else "" if contact.kind == "opto" or device.mark[0] == "X" else LOW_LEVEL
    to = f"{device.wire}; {device.mark} {contact.terminals} to GND"
    return _wire(board, device.name, pin, to, circuit.voltage(BOARD), fit, "open/closed")


def _probes(board, circuit):
    made, volts = [], circuit.voltage(BOARD)
    for probe, terminal, pin in terminals(board):
        to = f"{terminal} of the {probe} probe's {board.get('PROBES')[probe].get('chip')}"
        made.append(_wire(board, f"PROBES.{probe}", pin, to, volts, "", "continuity"))
    for probe, spec in entries(board):
        fit = "100 nF across them at the chip"
        if bus_kind(spec.get("bus")) == "i2c":
            fit += "; 4.7 kohm from SDA and SCL to 3V3 once a bus"
        to = f"supply of the {probe} probe's {spec.get('chip')}"
        made.append(Wire(f"PROBES.{probe}", "3V3, GND", "", plain(to), volts, fit, "3.3 V"))
    return made


def _panel(board, circuit):
    return [
        _wire(board, name, pin, PANEL_WORDS.get(name, f"{name.rpartition('.')[2].lower()} of the panel"),
              circuit.voltage(BOARD), "", "continuity")
        for name, pin in panel_pins(board)
    ]  # fmt: skip


def _chain(board, circuit):
    """A line for each contact in series with the coil; nothing on a bench without contactor."""
    if not is_pin(board.get("CONTACTOR")):
        return []
    made, before = [], ""
    for order, (device, contact) in enumerate(circuit.chain(), 1):
        to = f"{device.mark} {contact.terminals}, {device.what}" + (f"; wire from {before}" if before else "")
        name = device.name if device.name in circuit.chain_names() else device.mark
        made.append(Wire(name, f"chain {order}", "", to, circuit.voltage(CHAIN),
                         f"closed: {contact.closed}", "apart"))  # fmt: skip
        before = f"{device.mark} {contact.terminals}"
    return made


def _mains(board, circuit):
    """A line for each contact at mains of what this map drives."""
    driven = [device for device in circuit.devices
              if device.on(MAINS) and (not device.name or is_pin(board.get(device.name)))]  # fmt: skip
    if not is_pin(board.get("CONTACTOR")):
        driven = []
    return [
        Wire(device.mark, WORDS[MAINS], "", f"{device.mark} {contact.terminals}, {device.what}",
             circuit.voltage(MAINS), f"closed: {contact.closed}", "electrician")
        for device in driven
        if (contact := device.on(MAINS))
    ]  # fmt: skip


def is_pin(value: object) -> bool:
    """Whether a map's value can be a pin number."""
    return isinstance(value, int) and not isinstance(value, bool)


def terminals(board: Board) -> Iterator[tuple]:
    """(probe, terminal, pin) of every signal of every probe's chip."""
    for probe, spec in entries(board):
        bus = spec.get("bus")
        kind = bus_kind(bus)
        for signal, pin in signals(bus):
            if signal in BUS_KEYS[kind] and is_pin(pin):
                yield probe, TERMINALS[signal], pin
        if kind == "spi" and is_pin(spec.get("cs")):
            yield probe, TERMINALS["cs"], spec["cs"]


def panel_pins(board: Board) -> Iterator[tuple]:
    """(name in the map, pin) of everything that a person sees, hears or turns."""
    for pin, uses in sorted(board.uses.items()):
        for name, _, _ in uses:
            if name.startswith("PANEL.") or name in ("BUZZER", "LED"):
                yield name, pin


def resistor(board: Board) -> str:
    """The pull-down at a relay driver's input as words, "" for an unknown chip."""
    return ohms(board.chip.pull_down_ohm) if board.chip else ""


def _output(board, circuit, device):
    name, to = device.name, f"{device.wire}; {device.mark} {device.on(BOARD).terminals}"
    if name == "CONTACTOR" and board.get("CONTACTOR_DRIVE") == "pulse":
        to = "retriggerable monostable, 600 ms at most, and " + to
    fit = f"{resistor(board)} to GND at its input".strip()
    return _wire(board, name, board.get(name), to, circuit.voltage(BOARD), fit, "0 V off")


def _wire(board, name, pin, to, volts, fit, measure):
    edge = str(board.chip.header.get(pin, "")) if board.chip else ""
    return Wire(plain(name), board.gp(pin), edge, plain(to), volts, fit, measure)


def table(board: Board, circuit: Circuit = CIRCUIT) -> str:
    """The list as plain text, one box to tick a line."""
    rows = [("name", "pin", "edge", "goes to", "voltage", "fit", "meter"), *wires(board, circuit)]
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ["    " + "  ".join(cell.ljust(width) for cell, width in zip(rows[0], wide, strict=True)).rstrip()]
    for row in rows[1:]:
        lines.append("[ ] " + "  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip())
    missing = missing_names(board, circuit)
    if missing:
        lines.append(f"not wired: {', '.join(missing)}")
    if any(row[2] for row in rows[1:]):
        lines.append("edge = pin number counted on the board's edge; compare it with the print on the board")
    lines += ["Terminals are numbered as usual; the print on the device comes first.",
              "meter, mains unplugged:", MEASURE]  # fmt: skip
    return "\n".join(lines)


def missing_names(board: Board, circuit: Circuit = CIRCUIT) -> list[str]:
    """Names of the circuit that the map does not wire."""
    return [device.name for device in (*circuit.outputs(), *circuit.inputs()) if board.get(device.name) is None]
