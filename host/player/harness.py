"""The harness between the user's board and the player: one wire a line, from the user's own pin map.

The player's pins are the same for every map, so that one player serves any board; a pin map that lacks a name lacks
its wire. The player is always a Raspberry Pi Pico. Its lines:

    reads     outputs of the board: relays, contactor, fan, buzzer, lamp; also clock and chip select of the probes
    closes    contacts to GND, pulled low or let go, never driven high
    answers   data of the played probe chips: driven only while their chip select is low
"""

from __future__ import annotations

from dataclasses import dataclass

from host.pins.chips import CHIPS
from host.pins.pin_map import PinMap
from host.player import PlayerError

PLAYED = "max31855"
PROBES = ("dome", "stone")
SLOW_OHM, FAST_OHM = 1000, 330  # house: 3.3 mA and 10 mA at the worst between two pins that both drive, pins bear 12 mA
READS = ("HEAT_TOP", "HEAT_DECK", "CONTACTOR", "COOLING_FAN", "BUZZER", "LED")
SENSES = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK")
CLOSES = ("ENABLE", "LIMIT_OK", "SELECTOR", "CONTACTOR_OPEN", "FAN_OK", "DOOR", *SENSES)
PANEL = ("stop", "knob_a", "knob_b", "knob_push")
HELD_DOWN = ("HEAT_TOP", "HEAT_DECK", "CONTACTOR")  # each has a resistor of its own to GND on the user's board
RESET = "RESET"
# GP number of the player for each line; 0 and 1 stay free.
PLAYER_PINS = {
    "dome.cs": 2, "dome.sck": 3, "dome.miso": 4, "stone.cs": 5, "stone.sck": 6, "stone.miso": 7,
    "HEAT_TOP": 8, "HEAT_DECK": 9, "CONTACTOR": 10, "COOLING_FAN": 11,
    "ENABLE": 12, "LIMIT_OK": 13, "SELECTOR": 14, "CONTACTOR_OPEN": 15, "FAN_OK": 16, "DOOR": 17,
    "MAINS_SENSE_TOP": 18, "MAINS_SENSE_DECK": 19,
    "PANEL.stop": 20, "PANEL.knob_a": 21, "PANEL.knob_b": 22, "PANEL.knob_push": 26,
    "BUZZER": 27, "LED": 28, RESET: 1,
}  # fmt: skip
CAUTIONS = (
    "Mains is nowhere near: the oven is unplugged, no relay, contactor or coil supply is connected. Only 3.3 V here.",
    "Both boards unpowered while you wire. GND to GND first, several short wires; then the rest, ticked off.",
    "Each wire through its resistor, at the player's end: a wrong wire then costs milliamperes, not a pin.",
    "Both boards on USB of the same laptop or hub. 3V3 and 5 V of the two are never joined.",
    "The board's own probe chips are unplugged from clock, data and select: two answers on one data line help nobody.",
    "Afterwards the harness comes off before anything of 24 V or mains is connected.",
    "What passes here shows that this board and its wiring did what was asked at 3.3 V: nothing of the mains side.",
)  # fmt: skip
WORDS = {
    "reads": "the player reads it", "closes": "the player closes it to GND", "answers": "the player answers on it",
    "resets": "the player can restart the board with it; may be left out",
}  # fmt: skip


@dataclass(frozen=True)
class Wire:
    """`pin` of the board (None: its reset), `player` GP number, `job`: reads, closes, answers or resets; `ohm`."""

    name: str
    pin: int | None
    player: int
    job: str
    ohm: int = SLOW_OHM

    @property
    def is_output(self) -> bool:
        """Whether the board drives it as a plain level: heat, contactor, fan, buzzer, lamp."""
        return self.name in READS


class Harness:
    """`wires` of a PinMap in the order of wiring; PlayerError for a map that the player cannot serve."""

    def __init__(self, pins: PinMap) -> None:
        self.pins = pins
        self.mcu = str(getattr(pins, "MCU", ""))
        if self.mcu not in CHIPS:
            raise PlayerError(f"the pin map names MCU {self.mcu!r}, which nobody knows: tizzone pins FILE says more")
        self.wires = tuple(
            [*_probes(pins), *_plain(pins), *_panel(pins), Wire(RESET, None, PLAYER_PINS[RESET], "resets")]
        )
        used = [wire.pin for wire in self.wires]
        doubled = [wire.name for wire in self.wires if used.count(wire.pin) > 1]
        if doubled:
            raise PlayerError(f"the pin map names one pin twice ({', '.join(doubled)}): tizzone pins FILE says more")

    def wire(self, name: str) -> Wire | None:
        """The wire of a name, None if the map has none."""
        return next((wire for wire in self.wires if wire.name == name), None)

    def checked(self) -> tuple[Wire, ...]:
        """The wires that a check can move: all but the reset."""
        return tuple(wire for wire in self.wires if wire.pin is not None)

    def setup(self) -> dict[str, dict]:
        """The player's own pins: {"probes": {name: [cs, sck, miso]}, "reads": {name: GP}, "closes": {name: GP}}."""
        of_board = {wire.pin: wire.player for wire in self.wires}
        probes = {}
        for probe, spec in self.pins.PROBES.items():
            probes[probe] = [of_board[pin] for pin in (spec["cs"], spec["bus"]["sck"], spec["bus"]["miso"])]
        named = {job: {w.name: w.player for w in self.wires if w.job == job} for job in ("reads", "closes")}
        return {"probes": probes, "reads": {n: p for n, p in named["reads"].items() if n in READS},
                "closes": named["closes"]}  # fmt: skip

    def rows(self) -> list[tuple[str, str, str, str, str]]:
        """(line, pin of the board, resistor, pin of the player, what happens on it) of each wire, as words."""
        board, player = CHIPS[self.mcu], CHIPS["rp2040"]
        made = [("GND", "GND", "none", "GND", "common ground: first on, last off")]
        for wire in self.wires:
            own = "RUN or EN" if wire.pin is None else _printed(board, wire.pin)
            made.append((wire.name, own, f"{wire.ohm} ohm", _printed(player, wire.player), WORDS[wire.job]))
        return made

    def table(self) -> str:
        """The wires as a list to tick off."""
        head = ("line", "your board", "resistor", "player (Pico)", "what happens on it")
        rows = [head, *self.rows()]
        widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
        lines = [
            "[ ]  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in rows
        ]
        return "\n".join(["     " + lines[0][5:], *lines[1:]])


def _printed(chip, pin):
    edge = chip.header.get(pin, "")
    return f"{chip.gp(pin)} (pin {edge})" if edge and str(edge).isdigit() else chip.gp(pin)


def _probes(pins):
    """Select, clock and data of each probe; a clock or data line that two probes share is one wire."""
    made = []
    for probe in PROBES:
        spec = (getattr(pins, "PROBES", None) or {}).get(probe)
        if spec is None:
            continue
        bus = spec.get("bus", {})
        if spec.get("chip") != PLAYED or not {"sck", "miso"} <= set(bus):
            raise PlayerError(
                f"the player answers as {PLAYED.upper()} on SPI only; probe {probe} has {spec.get('chip')}"
            )
        for line, pin, job in (
            ("cs", spec["cs"], "reads"),
            ("sck", bus["sck"], "reads"),
            ("miso", bus["miso"], "answers"),
        ):
            if line == "cs" or all(wire.pin != pin for wire in made):
                name = f"{probe}.{line}"
                made.append(Wire(name, pin, PLAYER_PINS[name], job, FAST_OHM))
    if not made:
        raise PlayerError("the pin map names no probe: there is nothing to play")
    return made


def _plain(pins):
    for names, job in ((READS, "reads"), (CLOSES, "closes")):
        for name in names:
            pin = pins.pin(name)
            if pin is not None:
                yield Wire(name, pin, PLAYER_PINS[name], job)


def _panel(pins):
    spec = getattr(pins, "PANEL", None) or {}
    for name in PANEL:
        if spec.get(name) is not None:
            yield Wire(f"PANEL.{name}", spec[name], PLAYER_PINS[f"PANEL.{name}"], "closes")
