"""Joins a pin map, an oven and the fake chips into an Outside: the oven wired in full."""

from host.chips.max31855 import FakeMAX31855
from host.outside import Outside

# Chips by their name in the pin map: (class, needs a thermocouple type). Only reads = its bus has no MOSI.
CHIPS = {"max31855": FakeMAX31855}


class Tip:
    """Temperature at a probe's tip, °C; `reversed_at` = the junction's callable if its leads are swapped."""

    def __init__(self, plant, place):
        self.plant = plant
        self.place = place
        self.reversed_at = None

    def __call__(self):
        tip_c = self.plant.temperature_c(self.place)
        if self.reversed_at is not None:
            # The voltage changes its sign: as much below the junction as it was above.
            return 2.0 * self.reversed_at() - tip_c
        return tip_c


def bus_name(bus):
    """The name of a pin map's bus: "spi0", "i2c1", "spi-18" (soft, by its clock pin)."""
    if "spi" in bus:
        return f"spi{bus['spi']}"
    if "i2c" in bus:
        return f"i2c{bus['i2c']}"
    if "sck" in bus:
        return f"spi-{bus['sck']}"
    return f"i2c-{bus['scl']}"


def wire(pins, plant, seed=1, limiter_c=520.0):
    """An Outside with every chip of the pin map; ValueError for a chip that nobody simulates.

    `outside.tips[name]` and `outside.probe_chips[name]` give a probe's parts to faults and tests."""
    outside = Outside(pins, plant, seed, limiter_c)
    outside.tips = {}
    outside.probe_chips = {}
    for number, (name, spec) in enumerate(sorted(getattr(pins, "PROBES", {}).items())):
        chip = spec.get("chip")
        if chip not in CHIPS:
            raise ValueError(f"probe {name}: no simulated chip {chip!r} (known: {', '.join(sorted(CHIPS))})")
        tip, junction = Tip(plant, name), Tip(plant, "box")
        fake = CHIPS[chip](
            tip, junction, outside.clock_us, kind=spec.get("type", "K"), seed=seed * 1000 + number
        )
        bus = bus_name(spec["bus"])
        select = spec["cs"] if bus.startswith("spi") else spec["address"]
        outside.add_chip(bus, select, fake, is_read_only=bus.startswith("spi") and "mosi" not in spec["bus"])
        outside.tips[name] = tip
        outside.probe_chips[name] = fake
    return outside
