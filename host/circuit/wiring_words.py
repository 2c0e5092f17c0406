"""The wiring in words for README: the coil chain and every wire of one pin map, from the description of the circuit.

python -m tools.circuit_table            write it between the markers of README.md
python -m tools.circuit_table --check    exit code 1 if README says something else
"""

from typing import Any

from host.circuit import BOARD, CHAIN, CIRCUIT, MAINS, Circuit

BEGIN, END = "<!-- circuit:begin (python -m tools.circuit_table) -->", "<!-- circuit:end -->"


def section(pins: Any, circuit: Circuit = CIRCUIT) -> str:
    """Markdown between the markers for a PinMap of `host.pins.pin_map`."""
    lines = [_chain_words(circuit), "", "| order | in the coil's chain | terminals | closed | voltage |",
             "| --- | --- | --- | --- | --- |"]  # fmt: skip
    for order, (device, contact) in enumerate(circuit.chain(), 1):
        name = f" (**{device.name}**)" if device.name in circuit.chain_names() else ""
        lines.append(f"| {order} | {device.mark} {device.what}{name} | {contact.terminals} | {contact.closed} | "
                     f"{circuit.voltage(CHAIN)} |")  # fmt: skip
    lines += ["", "| pin | at the board | device, terminals | voltage | note |", "| --- | --- | --- | --- | --- |"]
    for device in (*circuit.outputs(), *circuit.inputs()):
        pin = pins.pin(device.name)
        contact = device.on(BOARD)
        if pin is not None:
            lines.append(f"| GP{pin} | {device.name} | {device.wire}; {device.mark} {contact.terminals} | "
                         f"{circuit.voltage(BOARD)} | {device.note} |")  # fmt: skip
    return "\n".join(lines)


def _chain_words(circuit):
    names = ", ".join(f"**{name}**" for name in circuit.chain_names())
    return (
        f"The coil of the contactor runs at {circuit.voltage(CHAIN)} through the contacts of {names} and the coil "
        f"driver in series: each of them opens the contactor without any software. The board senses them as well, at "
        f"{circuit.voltage(BOARD)}, each through an electrically separate contact of its own (or a separated sensing "
        f"stage); {circuit.voltage(MAINS)}, {circuit.voltage(CHAIN)} and {circuit.voltage(BOARD)} never share one "
        "contact, one cable or one terminal block."
    )


def put_into(text: str, words: str) -> str:
    """README's text with what stands between the markers replaced; ValueError where they are missing."""
    before, found, rest = text.partition(BEGIN)
    _, closed, after = rest.partition(END)
    if not found or not closed:
        raise ValueError("README.md has lost its circuit markers")
    return f"{before}{BEGIN}\n{words}\n{END}{after}"
