"""Buses of a pin map, for probes and panel alike: which kind, which unit, whether the pins can serve it."""

from collections.abc import Callable, Iterator
from typing import Any

from host.pins.board import TAKE_OUT, Advice, Board

BUS_KEYS: dict[str | None, tuple[str, ...]] = {
    "spi": ("spi", "sck", "miso", "mosi"),
    "i2c": ("i2c", "sda", "scl"),
    "adc": ("adc",),
}
REQUIRED: dict[str | None, tuple[str, ...]] = {"spi": ("sck", "miso"), "i2c": ("sda", "scl"), "adc": ("adc",)}


def bus_kind(bus: Any) -> str | None:
    """ "spi", "i2c", "adc" or None of a bus entry."""
    if not isinstance(bus, dict):
        return None
    if "adc" in bus:
        return "adc"
    if "spi" in bus or "sck" in bus:
        return "spi"
    return "i2c" if "i2c" in bus or "scl" in bus or "sda" in bus else None


def bus_key(bus: Any) -> str | None:
    """What tells two buses apart, as the device does: unit, or clock pin of a bus in software."""
    kind = bus_kind(bus)
    if kind is None or kind == "adc":
        return None
    return f"{kind}{bus[kind]}" if kind in bus else f"{kind}-{bus.get('sck', bus.get('scl'))}"


def signals(bus: Any) -> Iterator[tuple]:
    """(signal, pin) of a bus's named pins."""
    kind = bus_kind(bus)
    for signal in BUS_KEYS.get(kind, ()):
        if signal not in ("spi", "i2c") and bus.get(signal) is not None:
            yield signal, bus[signal]


def fits(board: Board, bus: Any, signal: str) -> Callable | None:
    """A pin's fitness for a signal of this bus where functions are fixed; None where any pin will do."""
    kind, chip = bus_kind(bus), board.chip
    if chip is None or not chip.fixed_functions or kind not in ("spi", "i2c") or kind not in bus:
        return None
    return lambda pin: chip.function(pin)[kind] == (bus[kind], signal)


def check(board: Board, at: str, bus: Any, shape: str) -> None:
    """Findings on one bus that is of the right kind: keys, missing signals, unit, functions of its pins."""
    kind = bus_kind(bus)
    for signal in REQUIRED[kind]:
        if bus.get(signal) is None:
            do = board.instead(f"{at}.{signal}", signal, f"{signal}:", fits(board, bus, signal))
            board.say("stop", at, f"{signal} is missing", "the driver needs it", do)
    for key in bus:
        if key not in BUS_KEYS[kind]:
            board.say("change", f"{at}.{key}", f"a bus has no entry {key!r}", "the board ignores it", f"bus: {shape}")
    if _unit(board, at, bus, kind):
        _functions(board, at, bus, kind)


def a_bus(board: Board, at: str, kind: str, lines: tuple, shape: str) -> str:
    """Advice with free pins that serve these lines of one unit, else any for a bus in software; else words alone."""
    if board.chip is None:
        return f"bus: {shape}"
    units = board.chip.i2c_units if kind == "i2c" else board.chip.spi_units
    in_software = (*lines, "mosi") if kind == "spi" and "mosi" not in lines else lines  # it wants all three named
    for made, signals_ in (*(({kind: unit}, lines) for unit in units), ({}, in_software)):
        for signal in signals_:
            advice = board.instead(f"{at}.{signal}", signal, fits=fits(board, {**made, **dict.fromkeys(lines)}, signal))
            made |= {signal: getattr(advice, "remedy", {}).get(f"{at}.{signal}")}
        if None not in made.values():
            return Advice(f"bus: {made}", {at: made})
    return board.without(at, f"bus: {shape}; no free pins suit")


def _unit(board, at, bus, kind):
    """Whether the unit exists (or none is named)."""
    if board.chip is None or kind not in bus or kind == "adc":
        return True
    units = board.chip.spi_units if kind == "spi" else board.chip.i2c_units
    if isinstance(bus[kind], int) and not isinstance(bus[kind], bool) and bus[kind] in units:
        return True
    listed = " or ".join(str(unit) for unit in units)
    do = Advice(
        f"{kind}: {listed}; or leave it out for a bus in software", {f"{at}.{kind}": _unit_of(board, bus, kind)}
    )
    board.say("stop", f"{at}.{kind}", f"{board.chip.title} has no {kind.upper()} unit {bus[kind]!r} for programs",
              "the port refuses it", do)  # fmt: skip
    return False


def _unit_of(board, bus, kind):
    """The unit that the named pins belong to, else the first there is."""
    for _, pin in signals(bus):
        if board.chip.fixed_functions and isinstance(pin, int) and pin in board.chip.pins:
            return board.chip.function(pin)[kind][0]
    return (board.chip.spi_units if kind == "spi" else board.chip.i2c_units)[0]


def _functions(board, at, bus, kind):
    if _swapped(board, at, bus, kind) or _other_unit(board, at, bus, kind):
        return
    for signal, pin in signals(bus):
        suits = fits(board, bus, signal)
        if suits is None or signal == kind or not _is_pin(pin) or pin not in board.chip.pins or suits(pin):
            continue
        unit, is_signal = board.chip.function(pin)[kind]
        do = board.instead(f"{at}.{signal}", signal, fits=suits)
        if kind == "i2c" and not getattr(do, "remedy", None):
            do = Advice("leave the unit out: a bus in software takes any pins", {f"{at}.{kind}": TAKE_OUT})
        board.say("stop", f"{at}.{signal}", f"{board.gp(pin)} cannot be {signal} of {kind}{bus[kind]}",
                  f"it is {is_signal} of {kind}{unit}", do)  # fmt: skip


def _other_unit(board, at, bus, kind):
    """All pins serve their signals, but of another unit: the number is what is wrong."""
    if not board.chip or not board.chip.fixed_functions or kind == "adc" or kind not in bus:
        return False
    named = [(signal, pin) for signal, pin in signals(bus) if _is_pin(pin) and pin in board.chip.pins]
    found = {board.chip.function(pin)[kind] for _, pin in named}
    units = {unit for unit, _ in found}
    if len(named) < 2 or len(units) != 1 or units == {bus[kind]} or {s for s, _ in named} != {s for _, s in found}:
        return False
    unit = units.pop()
    if any(board.chip.function(pin)[kind] != (unit, signal) for signal, pin in named):
        return False
    pins = " and ".join(board.gp(pin) for _, pin in named)
    board.say("stop", f"{at}.{kind}", f"{pins} are not of {kind}{bus[kind]}", f"they are {kind}{unit}'s",
              Advice(f"write {kind}: {unit}", {f"{at}.{kind}": unit}))  # fmt: skip
    return True


def _swapped(board, at, bus, kind):
    """Two lines crossed: told as one mistake, and mended by crossing them back."""
    if kind not in ("spi", "i2c"):
        return False
    named = [(signal, pin) for signal, pin in signals(bus) if _is_pin(pin)]
    for one, pin in named:
        for other, second in named:
            a, b = fits(board, bus, one), fits(board, bus, other)
            if one < other and a and b and not a(pin) and not b(second) and a(second) and b(pin):
                words = f"swap them: {one} {board.gp(second)}, {other} {board.gp(pin)}"
                board.say("stop", f"{at}.{one}", f"{one} and {other} of {kind}{bus[kind]} are swapped",
                          f"{board.gp(pin)} is {other} of that unit, {board.gp(second)} is its {one}",
                          Advice(words, {f"{at}.{one}": second, f"{at}.{other}": pin}))  # fmt: skip
                return True
    return False


def _is_pin(value):
    return isinstance(value, int) and not isinstance(value, bool)
