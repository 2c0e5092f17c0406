"""The low-voltage wiring of a pin map as a picture (SVG): contacts left, board in the middle, outputs and probes right.

The mains side is another drawing, `tizzone plan`. Shapes and words carry everything; there is no colour in it.
"""

from html import escape

from host.circuit import BOARD, CHAIN, CIRCUIT, Circuit
from host.pins.board import Board
from host.pins.buses import bus_kind
from host.pins.finding import plain
from host.pins.probespecs import entries
from host.pins.ticklist import is_pin, missing_names, panel_pins, resistor, terminals

WIDTH = 1120
BOARD_LEFT, BOARD_RIGHT = 420, 590
TOP = 84
CONTACT_STEP, OUTPUT_STEP, SIGNAL_STEP = 46, 74, 22
CHIP_LEFT, CHIP_RIGHT = 800, 930
TRUNK_LEFT, TRUNK_STEP = 626, 22
STYLE = (
    "text{font:13px sans-serif;fill:#000}.s{font-size:11px}.b{font-weight:bold}.h{font-size:17px;font-weight:bold}"
    "rect,line,polyline,circle,path{stroke:#000;stroke-width:1.5;fill:none}.f{fill:#fff}.dot{fill:#000}"
    ".board{fill:#eee}.dash{stroke-dasharray:5 4}"
)


def picture(board: Board, circuit: Circuit = CIRCUIT) -> str:
    """SVG text of a Board's wiring; names with an error are marked with a cross."""
    wrong = {found.code.split(".")[0] for found in board.findings if found.grade == "stop"}
    left, left_bottom = _contacts(board, wrong, circuit)
    outputs, y = _outputs(board, wrong, circuit)
    chips, right_bottom = _chips(board, wrong, y)
    bottom = max(left_bottom, right_bottom) + 6
    notes = _notes(board, wrong, bottom + 30, circuit)
    height = bottom + 46 + 17 * notes.count("<text")
    title = f"{board.get('NAME') or 'board'}: {board.chip.title if board.chip else 'unknown MCU'}"
    middle = (BOARD_LEFT + BOARD_RIGHT) / 2
    frame = (
        f'<rect class="board" x="{BOARD_LEFT}" y="{TOP - 26}" width="{BOARD_RIGHT - BOARD_LEFT}" '
        f'height="{bottom - TOP + 26}"/>' + _text(middle, TOP - 34, str(board.get("MCU") or "?"), "b")
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" height="{height}" '
        f'role="img" aria-label="{escape(plain(title), quote=True)}"><style>{STYLE}</style>'
        f'<rect class="f" x="0" y="0" width="{WIDTH}" height="{height}" style="stroke:none"/>'
        + _text(20, 30, title, "h", "start")
        + _text(20, 48, "Low-voltage wiring. Mains stays outside this drawing.", "s", "start")
        + frame + left + outputs + chips + notes + "</svg>\n"
    )  # fmt: skip


def _contacts(board, wrong, circuit):
    parts, y = [], TOP + 6
    for device in circuit.inputs():
        name = device.name
        if not is_pin(board.get(name)):
            continue
        pin = board.get(name)
        parts.append(_pin(board, name, pin, y, wrong, True))
        series = board.chip is not None and pin in board.chip.active
        if series:
            parts.append(_line((374, y), (BOARD_LEFT, y)) + _resistor(334, y) + _text(354, y - 10, "1 kΩ", "s"))
        parts.append(_line((264, y), (334 if series else BOARD_LEFT, y)))
        parts.append(_switch(device, y) + _ground(190, y))
        parts.append(_text(176, y - 1, name, "b s", "end") + _text(176, y + 12, device.short, "s", "end"))
        if device.on(BOARD).kind == "contact":
            parts.append(_text(227, y + 16, device.on(BOARD).terminals, "s"))
        y += CONTACT_STEP
    return "".join(parts), y


def _switch(device, y):
    """A contact, or an opto output for the current sensors, between GND at 190 and the wire at 264."""
    if device.on(BOARD).kind == "opto":
        return (
            _line((190, y), (208, y)) + f'<rect class="f" x="208" y="{y - 11}" width="38" height="22"/>'
            + _text(227, y + 4, "opto", "s") + _line((246, y), (264, y))
        )  # fmt: skip
    dots = "".join(f'<circle class="f" cx="{x}" cy="{y}" r="3"/>' for x in (211, 243))
    return _line((190, y), (208, y)) + _line((213, y - 2), (241, y - 13)) + dots + _line((246, y), (264, y))


def _outputs(board, wrong, circuit):
    parts, y = [], TOP + 6
    for device in circuit.outputs():
        name = device.name
        if not is_pin(board.get(name)):
            continue
        parts.append(_pin(board, name, board.get(name), y, wrong))
        pulse = name == "CONTACTOR" and board.get("CONTACTOR_DRIVE") == "pulse"
        parts.append(_text(BOARD_RIGHT + (20 if pulse else 30), y - 5, name, "b s", "start"))
        parts.append(_line((BOARD_RIGHT, y), (730 if pulse else 790, y)))
        if pulse:
            parts.append(_box(694, y - 17, 76, 34, "monostable", "≤ 600 ms") + _line((770, y), (790, y)))
        drop = 672 if pulse else 740
        parts.append(f'<circle class="dot" cx="{drop}" cy="{y}" r="3"/>' + _line((drop, y), (drop, y + 8)))
        parts.append(f'<rect class="f" x="{drop - 6}" y="{y + 8}" width="12" height="24"/>')
        ohm = resistor(board).replace("ohm", "Ω")
        parts.append(_ground(drop, y + 32, True) + _text(drop - 11, y + 25, ohm, "s", "end"))
        parts.append(_box(790, y - 17, 66, 34, "driver"))
        parts.append(_line((856, y), (890, y)) + _box(890, y - 20, 200, 40, *_load_words(device, circuit)))
        y += OUTPUT_STEP
    return "".join(parts), y


def _load_words(device, circuit):
    """Two short lines: what the driver acts on, and behind which contacts of the chain."""
    first = f"{device.mark} {device.short}"
    if device.on(CHAIN) is None:
        return (first,)
    before = [one.mark for one, _ in circuit.chain() if one.name in circuit.chain_names()]
    return first, "behind " + ", ".join(before)


def _chips(board, wrong, y):
    """Pins of all buses on the board's right edge, a trunk for each, and the chips behind the trunks."""
    nets, labels = {}, {}
    for probe, terminal, pin in terminals(board):
        nets.setdefault(pin, []).append((probe, terminal))
    for name, pin in panel_pins(board):
        nets.setdefault(pin, []).append(("panel", name.rpartition(".")[2].upper()))
    for pin, ends in nets.items():
        shared = len({end[0] for end in ends}) > 1
        plain_name = shared or ends[0][1] in ("LED", "BUZZER")
        labels[pin] = ends[0][1] if plain_name else f"{ends[0][0]} {ends[0][1]}"
    parts, places, chip_y = [], {}, y + 14
    for name, words, height in _chip_sizes(board, nets):
        parts.append(_chip(name, words, chip_y, height, nets, places, y + 14 + SIGNAL_STEP / 2))
        chip_y += height + 26
    pin_y = y + 14
    step = min(TRUNK_STEP, (CHIP_LEFT - 16 - TRUNK_LEFT) / max(1, len(nets)))
    for index, (pin, ends) in enumerate(nets.items()):
        x = TRUNK_LEFT + step * index
        owner = "PANEL" if ends[0][0] == "panel" else "PROBES"
        parts.append(_pin(board, owner, pin, pin_y, wrong))
        parts.append(_text(BOARD_RIGHT - 62, pin_y + 4, labels[pin], "s", "end"))
        heights = [places[(end, pin)] for end in ends]
        first, last = min(pin_y, *heights), max(pin_y, *heights)
        parts.append(_line((BOARD_RIGHT, pin_y), (x, pin_y)) + _line((x, first), (x, last)))
        for end_y in heights:
            parts.append(_line((x, end_y), (CHIP_LEFT, end_y)))
            if first < end_y < last:
                parts.append(f'<circle class="dot" cx="{x}" cy="{end_y}" r="3"/>')
        pin_y += SIGNAL_STEP
    return "".join(parts), max(chip_y, pin_y + 8)


def _chip_sizes(board, nets):
    for probe, spec in entries(board):
        count = sum(end[0] == probe for ends in nets.values() for end in ends)
        kind = spec.get("type", "pt100" if spec.get("chip") == "max31865" else "K")
        yield probe, (f"{spec.get('chip')}", f"{probe} probe", f"type {kind}"), max(58, SIGNAL_STEP * (count + 1))
    count = sum(end[0] == "panel" for ends in nets.values() for end in ends)
    if count:
        words = "panel" if isinstance(board.get("PANEL"), dict) else "signals"
        yield "panel", (words, "", ""), SIGNAL_STEP * (count + 1)


def _chip(name, words, y, height, nets, places, grid):
    parts = [f'<rect class="f" x="{CHIP_LEFT}" y="{y}" width="{CHIP_RIGHT - CHIP_LEFT}" height="{height}"/>']
    row = y + 16 + (grid - y - 16) % SIGNAL_STEP  # between the rows of the pins: no two wires share a run
    for pin, ends in nets.items():
        for end in ends:
            if end[0] == name:
                places[(end, pin)] = row
                parts.append(_text(CHIP_LEFT + 6, row + 4, end[1], "s", "start"))
                row += SIGNAL_STEP
    for index, line in enumerate(words):
        parts.append(_text(CHIP_RIGHT - 8, y + 20 + 15 * index, line, "b" if index == 0 else "s", "end"))
    if name != "panel":
        middle = y + height / 2
        parts.append(_line((CHIP_RIGHT, middle - 4), (CHIP_RIGHT + 60, middle - 4)))
        parts.append(_line((CHIP_RIGHT, middle + 4), (CHIP_RIGHT + 60, middle + 4)))
        parts.append(f'<path d="M{CHIP_RIGHT + 60},{middle - 9} h34 a9,9 0 0 1 0,18 h-34 z"/>')
        parts.append(_text(CHIP_RIGHT + 110, middle - 1, "probe tip,", "s", "start"))
        parts.append(_text(CHIP_RIGHT + 110, middle + 12, "insulated", "s", "start"))
    return "".join(parts)


def _notes(board, wrong, y, circuit):
    lines = []
    if any(bus_kind(spec.get("bus")) for _, spec in entries(board)):
        lines.append("Every probe chip also needs 3V3 and GND from the board, and 100 nF across them at the chip.")
    apart = [f"{device.mark} {device.name}: board {device.on(BOARD).terminals}, chain {device.on(CHAIN).terminals}"
             for device, contact in circuit.chain() if device.name in circuit.chain_names()]  # fmt: skip
    if apart and is_pin(board.get("CONTACTOR")):
        lines.append(f"Contacts drawn here carry {circuit.voltage(BOARD)}. In the coil chain "
                     f"({circuit.voltage(CHAIN)}) each device has a contact of its own:")  # fmt: skip
        lines.append("    " + "; ".join(apart) + ".")
    missing = missing_names(board, circuit)
    if missing:
        lines.append("Not wired: " + ", ".join(missing) + ".")
    if wrong:
        lines.append("✗ = the check found an error: do not wire it like this.")
    lines.append("GND of board, drivers, contacts and chips is one point. Nothing here says that a build is safe.")
    return "".join(_text(20, y + 17 * i, line, "s", "start") for i, line in enumerate(lines))


def _pin(board, name, pin, y, wrong, left=False):
    """A pin's printed name inside the board's edge, its number on the real edge outside; a cross where an error is."""
    x, anchor = (BOARD_LEFT + 6, "start") if left else (BOARD_RIGHT - 6, "end")
    beside, side = (BOARD_LEFT - 4, "end") if left else (BOARD_RIGHT + 6, "start")
    edge = board.chip.header.get(pin, "") if board.chip else ""
    label = ("✗ " if name in wrong else "") + board.gp(pin)
    return _text(x, y + 4, label, "b", anchor) + _text(beside, y - 4, edge, "s", side)


def _resistor(x, y):
    return f'<rect class="f" x="{x}" y="{y - 6}" width="40" height="12"/>'


def _ground(x, y, straight=False):
    """GND: below the point, or left of it with its own stem."""
    stem = "" if straight else _line((x, y), (x, y + 6))
    base = y if straight else y + 6
    bars = "".join(_line((x - w, base + 4 * i), (x + w, base + 4 * i)) for i, w in enumerate((9, 6, 3)))
    return stem + bars


def _box(x, y, width, height, *lines):
    first = y + height / 2 + 4 - 7 * (len(lines) - 1)
    words = "".join(_text(x + width / 2, first + 14 * i, line, "s") for i, line in enumerate(lines))
    return f'<rect class="f" x="{x}" y="{y}" width="{width}" height="{height}"/>' + words


def _line(*points):
    path = " ".join(f"{x:g},{y:g}" for x, y in points)
    return f'<polyline points="{path}"/>'


def _text(x, y, words, kind="", anchor="middle"):
    if not words:
        return ""
    return f'<text x="{x:g}" y="{y:g}" class="{kind}" text-anchor="{anchor}">{escape(plain(words))}</text>'
