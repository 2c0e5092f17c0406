"""The panel of a pin map: display, its bus, knob and stop button, checked as strictly as a probe."""

import ast
import difflib
from functools import cache

from host.pins import buses
from host.pins.board import TAKE_OUT, Advice, Board
from host.pins.drivers import DEFAULT_ADDRESS, PROBES
from host.pins.probespecs import entries

CONTACTS = ("knob_a", "knob_b", "knob_push", "stop")
KEYS = ("chip", "bus", "address", *CONTACTS, "rotate", "contrast")
ADDRESSES = (0x3C, 0x3D)  # as the display's solder link sets it (from memory)
SHAPE = '{"i2c": ..., "sda": ..., "scl": ...}'
DISPLAY = PROBES.parent / "panel" / "display.py"
STOP_WHY = "without a stop button the heat is ended three movements deep in a menu"


@cache
def displays() -> tuple:
    """Display chips that the device drives, read from its file as a literal."""
    for node in ast.parse(DISPLAY.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "CHIPS":
            return ast.literal_eval(node.value)
    raise LookupError("the display driver names no CHIPS")


def panel(board: Board) -> dict | None:
    """PANEL where it is a dict."""
    spec = board.get("PANEL")
    return spec if isinstance(spec, dict) else None


def book(board: Board) -> None:
    """Book the pins of the panel: its I2C bus, knob and buttons."""
    spec = panel(board)
    if spec is None:
        return
    bus = spec.get("bus")
    if buses.bus_kind(bus) == "i2c":
        for signal, pin in buses.signals(bus):
            board.use(f"PANEL.bus.{signal}", pin, signal, buses.bus_key(bus))
    for name in CONTACTS:
        if spec.get(name) is not None:
            board.use(f"PANEL.{name}", spec[name], "in")


def check(board: Board) -> None:
    """All findings about the panel."""
    value = board.get("PANEL")
    if value is None:
        return
    spec = panel(board)
    if spec is None:
        board.say("stop", "PANEL", f"{value!r} is not a panel", "a panel is a dict",
                  Advice("PANEL = None, or see boards/README.md", {"PANEL": TAKE_OUT}))  # fmt: skip
        return
    missing = [name for name in CONTACTS if spec.get(name) is None]
    _keys(board, spec, missing)
    _stop(board, spec)
    _knob(board, missing)
    _chip(board, spec)
    _bus(board, spec)


def _keys(board, spec, missing):
    """Every unknown entry is refused: a misspelt stop button would be no stop button."""
    for key, value in spec.items():
        if key in KEYS:
            continue
        near = difflib.get_close_matches(str(key).lower(), KEYS, 1, 0.6)
        meant = near[0] if near else next((name for name in missing if name == "stop"), None)
        at = f"PANEL.{key}"
        if meant is None or spec.get(meant) is not None:
            do = Advice(f"take it out; a panel has {', '.join(KEYS)}", {at: TAKE_OUT})
        else:
            do = Advice(f"write {meant}", {at: TAKE_OUT, f"PANEL.{meant}": value})
        board.say("stop", at, f"a panel has no entry {key!r}",
                  "the board ignores it: what it was to wire would be missing", do)  # fmt: skip


def _stop(board, spec):
    meant = any("PANEL.stop" in found.remedy for found in board.findings)  # a misspelt one: told as such
    if spec.get("stop") is None and not meant:
        board.say("stop", "PANEL.stop", "no stop button", STOP_WHY, board.instead("PANEL.stop", "in", "stop:"))


def _knob(board, missing):
    turned = [name for name in ("knob_a", "knob_b") if name in missing]
    if len(turned) == 1:
        board.say("stop", f"PANEL.{turned[0]}", f"no {turned[0]}", "half a knob counts nothing",
                  board.instead(f"PANEL.{turned[0]}", "in", f"{turned[0]}:"))  # fmt: skip
    elif turned:
        board.say("note", "PANEL.knob_a", "no knob", "the panel shows and stops; settings are made over the link",
                  "wire knob_a, knob_b and knob_push, or leave it so")  # fmt: skip
    if not turned and "knob_push" in missing:
        board.say("stop", "PANEL.knob_push", "no knob_push", "a knob that cannot be pushed opens no menu",
                  board.instead("PANEL.knob_push", "in", "knob_push:"))  # fmt: skip


def _chip(board, spec):
    chip, known = spec.get("chip"), displays()
    if not isinstance(chip, str) or chip not in known:
        board.say("stop", "PANEL.chip", f"display {chip!r} is not known", "no driver draws on it",
                  Advice("one of: " + ", ".join(known), {"PANEL.chip": known[-1]}))  # fmt: skip
    rotate, contrast = spec.get("rotate", 0), spec.get("contrast", 159)
    if not _whole(rotate) or rotate not in (0, 180):
        board.say("stop", "PANEL.rotate", f"rotate {rotate!r} is not possible", "the picture stands upright or turned",
                  Advice("rotate: 0 or 180", {"PANEL.rotate": 0}))  # fmt: skip
    if not _whole(contrast) or not 0 <= contrast <= 255:
        board.say("stop", "PANEL.contrast", f"contrast {contrast!r} is not possible", "one byte",
                  Advice("contrast: 0 to 255, 159 if left out", {"PANEL.contrast": 159}))  # fmt: skip
    address = spec.get("address", ADDRESSES[0])
    if not _whole(address) or address not in ADDRESSES:
        board.say("stop", "PANEL.address", f"address {address!r} is no display's", "nothing would be shown",
                  Advice("address: 0x3C or 0x3D, as the module says", {"PANEL.address": ADDRESSES[0]}))  # fmt: skip


def _bus(board, spec):
    bus, at = spec.get("bus"), "PANEL.bus"
    if buses.bus_kind(bus) != "i2c":
        board.say("stop", at, "no I2C bus" if bus is None else f"{bus!r} is no I2C bus", "the display speaks I2C only",
                  buses.a_bus(board, at, "i2c", ("sda", "scl"), SHAPE))  # fmt: skip
        return
    before = len(board.findings)
    buses.check(board, at, bus, SHAPE)
    for found in board.findings[before:]:
        if found.grade == "change":  # an unknown entry of a probe's bus is ignored; here it is refused like a panel's
            board.findings[board.findings.index(found)] = found.refused({found.code: TAKE_OUT})
    _shares(board, spec, bus, at)


def _shares(board, spec, bus, at):
    key = buses.bus_key(bus)
    for name, probe in entries(board):
        other = probe.get("bus")
        if buses.bus_kind(other) != "i2c" or buses.bus_key(other) != key:
            continue
        wrong = any((suits := buses.fits(board, other, signal)) and not suits(pin)
                    for signal, pin in buses.signals(other) if isinstance(pin, int))  # fmt: skip
        if wrong:
            continue  # the probe's bus is told first
        if dict(buses.signals(other)) != dict(buses.signals(bus)):
            board.say("stop", at, f"{key} has other pins than for the {name} probe",
                      "a bus is opened once, with the pins of the probe",
                      Advice("write the same pins in both", {at: dict(other)}))  # fmt: skip
            continue
        board.say(
            "note",
            at,
            f"the display is on the {name} probe's bus",
            "a display that holds the lines down takes the probe with it, which trips",
            "better a bus of its own",
        )
        taken = probe.get("address", DEFAULT_ADDRESS.get(probe.get("chip")))
        if taken == spec.get("address", ADDRESSES[0]):
            board.say("stop", "PANEL.address", f"address {taken} is the {name} probe's already",
                      "both would answer at once", "set one of the two otherwise")  # fmt: skip


def _whole(value):
    return isinstance(value, int) and not isinstance(value, bool)
