"""What one pin may do: every reason against (or remark about) a role on a pin, and the first free pin that suits.

Roles: "heat" (HEAT_TOP, HEAT_DECK, CONTACTOR: high energises), "fan" (high stops it), "contact" (closes to GND
against the pull-up), "cs", "sck", "mosi", "miso", "sda", "scl", "adc", "lamp" (lamp, buzzer: high = on), "in" (panel).
"""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from host.pins.chips import DOWN, UP, Chip

OUTPUTS = ("heat", "fan", "cs", "sck", "mosi", "lamp")
BUS = ("sck", "mosi", "miso", "sda", "scl")
SUPPLY_V = 3.3
LOW_V = 0.4  # a driver's input at or below this is off for certain; house
PULL_UP_MIN_OHM = 30_000  # weakest case of the ESP32 family's 45 kohm (from memory)
E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
# Level at reset that the wiring itself brings: contacts may be closed, selects and I2C rest high.
RESTS = {"contact": 0, "in": 0, "cs": 1, "sda": 1, "scl": 1, "heat": 0, "fan": 0, "lamp": 0}


class Trouble(NamedTuple):
    """A reason against a role on a pin; what to do is `hint` followed by a free pin, where `other` is true."""

    grade: str
    what: str
    why: str
    hint: str = ""
    other: bool = True


def pull_down_ohm(pull_up_ohm: float = PULL_UP_MIN_OHM, supply_v: float = SUPPLY_V, low_v: float = LOW_V) -> float:
    """Largest E12 resistor (ohm) that holds a pin with this pull-up at or below `low_v`."""
    most = low_v / (supply_v - low_v) * pull_up_ohm
    return max(value * 10**power for power in range(2, 5) for value in E12 if value * 10**power <= most)


def ohms(value: float) -> str:
    """4700 -> "4.7 kohm"."""
    return f"{value / 1000:g} kohm"


def troubles(chip: Chip, pin: int, role: str, psram: str | None = None) -> Iterator[Trouble]:
    """Every Trouble of a role on a pin that the chip has."""
    name = chip.gp(pin)
    yield from _taken(chip, pin, name, psram)
    yield from _console(chip, pin, name, role)
    if pin in chip.input_only:
        yield from _input_only(name, role)
    if pin in chip.straps:
        yield from _strap(chip, pin, name, role)
    if role == "heat":
        yield from _heat_level(chip, pin, name)
    elif pin in chip.active and pin not in chip.console:
        yield from _activity(chip, pin, name, role)
    if role == "fan" and chip.pull_at_reset(pin) == UP and pin not in chip.active:
        why = "an internal pull-up holds it high from reset until boot.py"
        yield Trouble("change", f"{name} may stop the fan while the board boots", why)
    if role == "adc":
        yield from _analog(chip, pin, name)


def _taken(chip, pin, name, psram):
    if pin in chip.taken:
        yield Trouble("stop", f"{name} is not free", f"it serves {chip.taken[pin]}")
    if pin in chip.usb:
        yield Trouble("stop", f"{name} is a data pin of the USB port", "the board is loaded and watched through it")
    kinds = chip.psram.get(pin, ())
    if psram in kinds:
        yield Trouble("stop", f"{name} is not free", f"the module's {psram} PSRAM uses it")
    elif kinds and psram is None:
        yield Trouble(
            "change", f"{name} may not be free", f"modules with {' or '.join(kinds)} PSRAM use it",
            'say PSRAM = "none" in the map if your module has none, else',
        )  # fmt: skip


def _console(chip, pin, name, role):
    direction = chip.console.get(pin)
    if direction is None:
        return
    if chip.console_is_link:
        yield Trouble("stop", f"{name} is the serial port ({direction})", "the board is loaded and watched through it")
    elif role == "lamp" and direction == "out":
        why = "the ROM and MicroPython may print there: a lamp flickers while the board boots"
        yield Trouble("note", f"{name} is UART 0 ({direction})", why, "nothing to mend", False)
    elif role != "heat":  # for heat the level at boot says it already
        why = "the ROM and MicroPython may print there" if direction == "out" else "what comes in there is a command"
        yield Trouble("change", f"{name} is UART 0 ({direction})", why)


def _input_only(name, role):
    if role in OUTPUTS or role in ("sda", "scl"):
        yield Trouble("stop", f"{name} can only read", "it has no output driver")
    elif role in ("contact", "in"):
        why = "without a pull-up a broken wire is read as anything, also as good"
        hint = "an external 10 kohm to 3.3 V would be needed, which this check cannot see:"
        yield Trouble("stop", f"{name} has no pull-up", why, hint)
    elif role == "miso":
        why = "with the chip away the line floats, and noise looks like an answer"
        yield Trouble("note", f"{name} has no pull", why, "fit 10 kohm from the line to 3.3 V; or")


def _strap(chip, pin, name, role):
    needed, meaning = chip.straps[pin]
    rests = RESTS.get(role)
    if role == "heat":
        yield Trouble("stop", f"{name} is a strapping pin", f"{meaning}; a heat output must not share that")
    elif needed is None:
        grade = "note" if role in ("contact", "lamp") else "change"
        yield Trouble(grade, f"{name} is a strapping pin", meaning, "tolerable; better")
    elif role == "lamp" and needed == 0:
        why = f"{meaning}; a lamp to GND with its resistor holds it low"
        yield Trouble("note", f"{name} is a strapping pin", why, "tolerable for a lamp; better")
    elif rests is not None and rests != needed:
        level = "low" if rests == 0 else "high"
        yield Trouble("stop", f"{name} is a strapping pin that this wiring holds {level}", meaning)
    else:
        yield Trouble("change", f"{name} is a strapping pin", meaning)


def _heat_level(chip, pin, name):
    if pin in chip.active:
        why = f"it {chip.active[pin]} while booting; no pull-down holds back a driven pin"
        yield Trouble("stop", f"{name} can energise the relay while the board boots", why)
    elif chip.pull_at_reset(pin) == UP:
        most = pull_down_ohm()
        why = (
            f"an internal pull-up holds it high from reset until boot.py; a pull-down of {ohms(chip.pull_down_ohm)} "
            f"leaves {SUPPLY_V * chip.pull_down_ohm / (chip.pull_down_ohm + PULL_UP_MIN_OHM):.1f} V"
        )
        hint = f"a pull-down would have to be {ohms(most)} or less; better"
        yield Trouble("stop", f"{name} is high at reset", why, hint)
    else:
        yield _pull_down_note(chip, pin, name)


def _pull_down_note(chip, pin, name):
    weak = chip.pull_at_reset(pin) == DOWN
    state = "has only a weak pull-down" if weak else "floats"
    why = "a driver's input may drift up, also with the board's plug out"
    if chip.mcu == "rp2350":
        why += "; erratum E9: the pad can stick near 2.2 V with some 120 µA, which 8.2 kohm or less pull down"
    hint = f"fit {ohms(chip.pull_down_ohm)} to GND at the input of the driver (or monostable) that it feeds"
    return Trouble("note", f"{name} {state} from reset until boot.py", why, hint, False)


def _activity(chip, pin, name, role):
    doing = chip.active[pin]
    if role == "lamp":
        yield Trouble(
            "note", f"{name} is driven at boot", f"it {doing}: the lamp or buzzer shows it", "nothing to mend", False
        )
    elif role == "contact":
        why = f"it {doing} while booting, against a closed contact"
        yield Trouble("note", f"{name} is driven at boot", why, "fit 1 kohm in series; or")
    elif role == "fan":
        yield Trouble("change", f"{name} may stop the fan while the board boots", f"it {doing}")
    else:
        yield Trouble("change", f"{name} is driven at boot", f"it {doing}; the chip at its other end may answer")


def _analog(chip, pin, name):
    if pin in chip.adc2:
        why = "ADC2 gives nothing while Wi-Fi is on, and is not served at all by some releases"
        yield Trouble("change", f"{name} belongs to ADC2", why)
    elif pin not in chip.adc1:
        yield Trouble("stop", f"{name} has no analog input", f"{chip.title} has them elsewhere")


def free_pin(chip: Chip, used: set, role: str, psram: str | None = None, fits: Callable | None = None) -> int | None:
    """The first pin not in `used` that suits the role without error or warning; None if there is none.

    fits: a further condition on the pin's number (a bus unit's signal)."""
    for pin in chip.pins:
        if pin in used or (fits is not None and not fits(pin)):
            continue
        if role == "miso" and pin in chip.input_only:
            continue
        if all(trouble.grade == "note" for trouble in troubles(chip, pin, role, psram)) and pin not in chip.straps:
            return pin
    return None
