"""An Outside alone: levels in, contacts, currents and heat out."""

import pytest

from host.pins import pin_map
from host.simulator.outside import Outside


class Heated:
    """A plant that books the heat it is given and tells any temperature it is set to."""

    def __init__(self):
        self.air_c = 20.0
        self.heat_s = {"top": 0.0, "deck": 0.0}
        self.seconds = 0.0
        self.longest_s = 0.0
        self.events = []

    def step(self, dt_s, heat):
        self.seconds += dt_s
        self.longest_s = max(self.longest_s, dt_s)
        for zone, share in heat.items():
            self.heat_s[zone] += share * dt_s

    def temperature_c(self, place):
        return self.air_c

    def event(self, name, **values):
        self.events.append((name, values))


class Wired:
    """An Outside wired as `pins` says, with names for pins and a hand on every output."""

    def __init__(self, **changes):
        self.pins = pin_map.read("boards/pico.py")
        for name, value in changes.items():
            setattr(self.pins, name, value)
        self.plant = Heated()
        self.outside = Outside(self.pins, self.plant)
        self.levels = {}

    def wait(self, seconds, rose=(), **levels):
        """Let time pass with outputs by name at levels; `rose`: names with a rising edge."""
        for name, level in levels.items():
            self.levels[getattr(self.pins, name)] = level
        mask = 0
        for name in rose:
            mask |= 1 << getattr(self.pins, name)
        self.outside.advance(round(seconds * 1e6), self.levels, mask)

    def reads(self, name):
        """Level of a sensed input with its pull-up."""
        level = self.outside.level(getattr(self.pins, name))
        return 1 if level is None else level

    def lows(self, name):
        """How many of eight looks 2.5 ms apart find the current sensor low."""
        count = 0
        for look in range(8):
            count += 1 - self.reads(name)
            if look < 7:
                self.wait(0.0025)
        return count

    def heat_s(self, zone="top"):
        """Heat that has reached the plant since the last call, seconds of full power."""
        self.wait(0.25)  # so that the plant has stepped
        found, self.plant.heat_s[zone] = self.plant.heat_s[zone], 0.0
        return found


@pytest.fixture
def wired():
    """Call with changes of the pin map."""
    return Wired
