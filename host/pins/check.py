"""Everything about one pin map: names, pins, probes, layers."""

from pathlib import Path

from host.pins import buses, layers, panelspec, pin_map, probespecs, release
from host.pins.board import HEAT, NAMES, PSRAM_KINDS, ROLES, TAKE_OUT, Advice, Board, closest
from host.pins.chips import CHIPS
from host.pins.finding import Finding, ordered
from host.pins.pin_map import Source
from host.pins.pinrules import BUS, troubles


def check(path: Path | str, wanted_c: int = 480) -> list[Finding]:
    """Findings, worst first, about the map in a file or of a board's name, for a wanted dome temperature (°C).

    host.pins.pin_map.PinMapError (one line) for a file that is no pin map."""
    return check_source(pin_map.read_source(path), wanted_c)


def check_releasable(path: Path | str) -> list[Finding]:
    """The same for no more than commissioning can release with this map: what must be right before it is loaded."""
    source = pin_map.read_source(path)
    return check_source(source, release.reach(Board(source, 0)).release_c)


def check_source(source: Source, wanted_c: int = 480) -> list[Finding]:
    """The same for a Source that has been read."""
    return usable_map(source, wanted_c).findings


def usable_map(source: Source, wanted_c: int = 480) -> Board:
    """The Board with its findings: what the drawing and the list to tick off show."""
    board = Board(source, wanted_c)
    _names(board)
    _identity(board)
    for name, role in ROLES.items():
        if board.get(name) is not None:
            board.use(name, board.get(name), role)
    probespecs.book(board)
    panelspec.book(board)
    _pins(board)
    probespecs.check(board)
    panelspec.check(board)
    layers.check(board)
    board.findings = ordered(board.findings)
    return board


def _names(board):
    for name, line, first in board.source.repeated:
        board.say("stop", name, f"assigned twice (first in line {first})", "the board takes the last, silently",
                  f"keep one; this is line {line}")  # fmt: skip
    for name in vars(board.pins):
        if name in NAMES:
            continue
        meant, value = closest(name), getattr(board.pins, name)
        wires = isinstance(value, dict) or (isinstance(value, int) and not isinstance(value, bool))
        if meant is None and wires:
            board.say("stop", name, "unknown name", "the board ignores it: what it was to wire would be missing",
                      Advice("take it out, or give the name that boards/README.md has for it; a stop button is PANEL's "
                             "entry stop", {name: TAKE_OUT}))  # fmt: skip
        elif meant:
            there = {} if getattr(board.pins, meant, None) is not None else {meant: value}
            words = f"write {meant}" if there else f"take it out: {meant} is there already"
            board.say("stop", name, "unknown name", "the board ignores it: what it was to wire would be missing",
                      Advice(words, {name: TAKE_OUT, **there}))  # fmt: skip
        else:
            board.say(
                "change", name, "unknown name", "the board ignores it", "take it out; boards/README.md has all names"
            )


def _identity(board):
    name, mcu = board.get("NAME"), board.get("MCU")
    if not isinstance(name, str) or not name or not name.isascii() or not name.isprintable() or " " in name:
        board.say("stop", "NAME", "no usable NAME", "the board names itself with it over the link",
                  Advice('write NAME = "kitchen", one word of plain letters', {"NAME": "kitchen"}))  # fmt: skip
    known = ", ".join(CHIPS)
    if mcu is None:
        board.say("stop", "MCU", "no MCU", "without it no pin can be checked", f"one of: {known}")
    elif board.chip is None:
        board.say("stop", "MCU", f"MCU {mcu!r} is not known", "its pins cannot be checked", f"one of: {known}")
    psram = board.get("PSRAM")
    if psram is not None and psram not in PSRAM_KINDS:
        do = Advice(f"one of: {', '.join(PSRAM_KINDS)}, as the module says", {"PSRAM": _psram(psram)})
        board.say("stop", "PSRAM", f"PSRAM {psram!r} is not known", "it says which pins the module takes itself", do)


def _psram(value):
    """The same word in small letters, else the kind that takes most pins."""
    word = str(value).strip().lower()
    return word if word in PSRAM_KINDS else PSRAM_KINDS[-1]


def _pins(board):
    for pin, uses in sorted(board.uses.items()):
        _shared(board, pin, uses)
        if board.chip is None:
            continue
        if pin not in board.chip.pins:
            for name, role, _ in uses:
                board.say("stop", name, f"{board.chip.title} has no {board.chip.gp(pin)}", _range(board.chip),
                          board.instead(name, role))  # fmt: skip
            continue
        for name, role, _ in uses:
            for trouble in troubles(board.chip, pin, role, board.psram):
                do = _remedy(board, name, role, trouble)
                board.say(trouble.grade, name, trouble.what, trouble.why, do)


def _remedy(board, name, role, trouble):
    if not trouble.other:
        return trouble.hint
    return board.instead(name, role, trouble.hint, _bus_fits(board, name, role))


def _bus_fits(board, name, role):
    """Where functions are fixed, another pin of a bus must serve the same unit."""
    if role not in BUS or not name.startswith(("PROBES.", "PANEL.")):
        return None
    spec = board.get("PANEL") if name.startswith("PANEL.") else board.get("PROBES")[name.split(".")[1]]
    return buses.fits(board, spec["bus"], role)


def _range(chip):
    runs, start = [], None
    for pin in (*chip.pins, None):
        if start is None:
            start = last = pin
        elif pin == last + 1:
            last = pin
        else:
            runs.append(f"{start}-{last}" if last > start else f"{start}")
            start = last = pin
    return "it has " + ", ".join(runs)


def _shared(board, pin, uses):
    """Two names on one pin: only the wires of one bus may be shared."""
    first = uses[0]
    for name, role, bus in uses[1:]:
        if bus is not None and bus == first[2] and role == first[1]:
            continue
        heat = any(entry[0] in HEAT for entry in uses)
        why = "a contact or a clock would switch the heat" if heat else "each would act on the other"
        board.say("stop", name, f"{board.gp(pin)} is {first[0]} already", why,
                  board.instead(name, role, fits=_bus_fits(board, name, role)))  # fmt: skip
