"""One pin map under examination: its chip, which pins it uses for what, and the findings so far."""

import difflib
from collections.abc import Callable
from typing import Any

from host.pins import pin_map
from host.pins.chips import CHIPS
from host.pins.finding import Finding, plain
from host.pins.pinrules import free_pin

HEAT = ("HEAT_TOP", "HEAT_DECK", "CONTACTOR")
ROLES = {
    **dict.fromkeys(HEAT, "heat"),
    "COOLING_FAN": "fan",
    **dict.fromkeys(pin_map.INPUTS, "contact"),
    "BUZZER": "lamp",
    "LED": "lamp",
}
OTHER = ("NAME", "MCU", "WATCHDOG_MS", "DEADMAN_TIMER", "CONTACTOR_DRIVE", "PROBES", "PANEL", "PSRAM")
NAMES = (*ROLES, *OTHER)
TAKE_OUT = "(taken out)"
PSRAM_KINDS = ("none", "quad", "octal")


class Advice(str):
    """What to do, and in `remedy` the values of the map that do it: {"PANEL.bus.sda": 4, "PANEL.stopp": TAKE_OUT}."""

    remedy = {}

    def __new__(cls, words, remedy):
        made = super().__new__(cls, words)
        made.remedy = remedy
        return made


class Board:
    """The map, its chip (None if unknown) and its uses: {pin: [(name, role, bus or None), ...]}."""

    def __init__(self, source: pin_map.Source, wanted_c: float) -> None:
        self.source = source
        self.pins = source.pins
        self.wanted_c = wanted_c
        self.findings = []
        self.uses = {}
        self.implied = set()  # pins that a unit may take by itself, though nobody names them
        self.offers = {}  # {name: free pin it was offered}
        mcu = getattr(self.pins, "MCU", None)
        self.chip = CHIPS.get(mcu) if isinstance(mcu, str) else None
        psram = getattr(self.pins, "PSRAM", None)
        self.psram = psram if psram in PSRAM_KINDS else None

    def get(self, name: str) -> Any:
        """The value of a name, None if it is not wired."""
        return getattr(self.pins, name, None)

    def line(self, name: str) -> int:
        """Line of a name, or of the nearest name around it; 0 if the file lacks it."""
        while name:
            if name in self.source.lines:
                return self.source.lines[name]
            name = name.rpartition(".")[0]
        return 0

    def say(self, grade: str, name: str, what: str, why: str, do: str) -> None:
        """Add a finding about a name; `do` may be an Advice, whose values then mend it."""
        self.findings.append(Finding(plain(name), grade, plain(what), plain(why), plain(do), self.line(name),
                                     dict(getattr(do, "remedy", {}))))  # fmt: skip

    def gp(self, pin: object) -> str:
        """A pin's printed name."""
        return self.chip.gp(pin) if self.chip else str(pin)

    def use(self, name: str, pin: object, role: str, bus: str | None = None) -> None:
        """Book a pin; bus: the bus that several chips may share. A finding if it is no pin number."""
        if isinstance(pin, bool) or not isinstance(pin, int):
            self.say("stop", name, f"{pin!r} is not a pin number", "a pin is a whole number, or None for not wired",
                     self.instead(name, role))  # fmt: skip
        else:
            self.uses.setdefault(pin, []).append((name, role, bus))

    def instead(self, name: str, role: str, hint: str = "", fits: Callable | None = None) -> str:
        """What to do about a name: the hint, then a free pin for this role that no other name has been offered."""
        if self.chip is None:
            return hint.rstrip(":;, ") or "name the MCU, then a free pin can be named"
        pin = self.offers.get(name)
        if pin is None or (fits is not None and not fits(pin)):
            taken = {*self.uses, *self.offers.values(), *(self.implied if role != "mosi" else ())}
            pin = free_pin(self.chip, taken, role, self.psram, fits)
        if pin is not None:
            self.offers[name] = pin
            return Advice(f"{hint} use {self.chip.gp(pin)}".strip(), {name: pin})
        if hint.endswith("; or"):
            return hint[:-4]
        if hint.endswith("better"):
            return f"{hint[:-6]}no better pin is free"
        return self.without(name, f"{hint} no free pin of {self.chip.title} suits".strip())

    def without(self, name: str, words: str) -> str:
        """Advice where no pin is left: without the panel or the stone probe the map may pass, so that is its remedy."""
        words = f"{words}: give up a layer, or take a larger board"
        for whole, value in (("PANEL", TAKE_OUT), ("PROBES.stone", TAKE_OUT)):
            if name.startswith(f"{whole}."):
                return Advice(f"{words}; without {whole} it may pass", {whole: value})
        return words


def closest(name: str) -> str | None:
    """The known name that this one may have been meant for, or None."""
    found = difflib.get_close_matches(name.upper(), NAMES, 1, 0.75)
    return found[0] if found else None
