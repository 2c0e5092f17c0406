"""Joins a pin map, an oven and the fake chips into an Outside: the oven wired in full."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from host import chips
from host.chips.oled import FakeOled
from host.oven.base import Plant
from host.pins.pin_map import PinMap
from host.simulator.outside import Outside

# Chips without registers: they answer whatever they are sent, so their frame can be held ready.
ONLY_READ = ("max31855", "max6675")
# Where a pin map may leave the address out.
ADDRESSES = {"mcp9600": 0x67, "mcp9601": 0x67, "ads1115": 0x48}


class Tip:
    """Temperature at a probe's tip, °C; `reversed_at` = the junction's callable if its leads are swapped."""

    def __init__(self, plant: Plant, place: str) -> None:
        self.plant = plant
        self.place = place
        self.reversed_at: Callable[[], float] | None = None

    def __call__(self) -> float:
        tip_c = self.plant.temperature_c(self.place)
        if self.reversed_at is not None:
            # The voltage changes its sign: as much below the junction as it was above.
            return 2.0 * self.reversed_at() - tip_c
        return tip_c


def bus_name(bus: dict[str, int]) -> str:
    """The name of a pin map's bus: "spi0", "i2c1", "spi-18" (soft, by its clock pin)."""
    if "spi" in bus:
        return f"spi{bus['spi']}"
    if "i2c" in bus:
        return f"i2c{bus['i2c']}"
    if "sck" in bus:
        return f"spi-{bus['sck']}"
    return f"i2c-{bus['scl']}"


def assembled(pins: PinMap, plant: Plant, seed: int = 1, limiter_c: float = 520.0) -> Outside:
    """An Outside with every chip of the pin map; ValueError for a chip that nobody simulates.

    `outside.tips[name]` and `outside.probe_chips[name]` give a probe's parts to faults and tests."""
    outside = Outside(pins, plant, seed, limiter_c)
    for number, (name, spec) in enumerate(sorted(getattr(pins, "PROBES", {}).items())):
        tip, junction = Tip(plant, name), Tip(plant, "box")
        try:
            fake: Any = chips.make(spec, tip, junction, outside.clock_us, seed=seed * 1000 + number)
        except KeyError as error:
            raise ValueError(f"probe {name}: nobody simulates {error.args[0]!r}") from error
        bus = spec["bus"]
        if "adc" in bus:
            outside.buses.analogs[bus["adc"]] = fake.read_u16
        elif "i2c" in bus or "scl" in bus:
            outside.buses.add_chip(bus_name(bus), spec.get("address", ADDRESSES.get(spec["chip"])), fake)
        else:
            outside.buses.add_chip(bus_name(bus), spec["cs"], fake, is_read_only=spec["chip"] in ONLY_READ)
        outside.tips[name] = tip
        outside.probe_chips[name] = fake
    _wire_panel(outside, getattr(pins, "PANEL", None))
    return outside


def _wire_panel(outside, spec):
    """The display of PANEL as `outside.display` (None without), and its stop button at rest, which is closed."""
    if not spec:
        return
    outside.display = FakeOled(spec["chip"])
    outside.buses.add_chip(bus_name(spec["bus"]), spec.get("address", 0x3C), outside.display)
    if spec.get("stop") is not None:
        outside.contacts.buttons[spec["stop"]] = True
        outside.contacts.settle(outside)
