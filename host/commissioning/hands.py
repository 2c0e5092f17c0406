"""What is done by hand at the oven: asked of a person, or done to the simulated oven."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from host import oven

if TYPE_CHECKING:
    from host.commissioning.person import Answers, Terminal
    from host.oven.base import Plant
    from host.simulator.outside import Outside
    from host.simulator.rehearsal import Rehearsal


class Hands:
    """Acts of a person at a real oven: each is said and waited for."""

    def __init__(self, person: Answers | Terminal) -> None:
        self.person = person

    def without_mains(self) -> None:
        """Plug pulled; the board runs from the laptop and starts anew."""
        self.person.do("pull the plug; restart the board from the laptop's USB alone")

    def warm(self, probe: str) -> None:
        """A hand on a probe's tip."""
        self.person.do(f"take the tip of the {probe} probe in your hand (Enter at once, then hold on)")

    def let_go(self, probe: str) -> None:
        """The hand off."""

    def lamps(self) -> None:
        """Lamps in place of the elements, mains on."""
        self.person.do("connect the lamps, tape the probes to their shades, plug in, ENABLE closed, switch to OURS")

    def elements(self) -> None:
        """Elements again."""
        self.person.do("pull the plug, connect the elements, probes in their places, shut the door, plug in")

    def selector(self, position: str) -> None:
        """Turn the transfer switch."""
        self.person.do(f"turn the transfer switch to {position.upper()}")

    def enable(self, is_closed: bool) -> None:
        """Open or close ENABLE."""
        self.person.do(f"{'close' if is_closed else 'open'} ENABLE")

    def limiter_down(self, reading_c: float) -> None:
        """Turn the limiter's dial down until it opens."""
        self.person.do("turn the limiter's dial slowly down until it opens; note the dial")

    def limiter_back(self) -> None:
        """Back to the working point, reset."""
        self.person.do("turn the limiter's dial back to its working point and reset it by hand")


class Warm:
    """A hand around a probe's tip: towards 33 °C by a tenth of the difference a second; swapped leads stay swapped."""

    def __init__(self, tip: Callable[[], float], clock_us: Callable[[], int]) -> None:
        self.tip = tip
        self.clock_us = clock_us
        self.start_us = clock_us()

    def __call__(self):
        tip = self.tip
        cold_c = tip.plant.temperature_c(tip.place)
        share = 1.0 - 0.9 ** ((self.clock_us() - self.start_us) / 1e6)
        warm_c = cold_c + (33.0 - cold_c) * share
        return warm_c if tip.reversed_at is None else 2.0 * tip.reversed_at() - warm_c


class SimulatedHands:
    """The same, done to a simulated board's surroundings; `plant` is the oven that follows the lamps."""

    def __init__(self, rehearsal: Rehearsal, plant: Plant, dial_back_c: float = 520.0) -> None:
        self.rehearsal = rehearsal
        self.plant = plant
        self.dial_back_c = dial_back_c

    @property
    def outside(self) -> Outside:
        """Of the board as it is now."""
        return self.rehearsal.outside

    def without_mains(self) -> None:
        """Mains off, board started anew."""
        self._restart()
        self.outside.mains(0.0)

    def warm(self, probe: str) -> None:
        """Warm a tip."""
        if probe in self.outside.tips:
            chip = self.outside.probe_chips[probe]
            chip.temperature_c = Warm(self.outside.tips[probe], self.outside.clock_us)

    def let_go(self, probe: str) -> None:
        """Leave it to its surroundings."""
        if probe in self.outside.tips:
            self.outside.probe_chips[probe].temperature_c = self.outside.tips[probe]

    def lamps(self) -> None:
        """The bench in place of the oven."""
        self._connect(oven.preset("lamp", 1))

    def elements(self) -> None:
        """The oven in place of the bench."""
        self._connect(self.plant)

    def _connect(self, plant):
        outside = self.outside
        self.rehearsal.plant = outside.plant = plant
        for name, chip in outside.probe_chips.items():
            outside.tips[name].plant = chip.junction_c.plant = plant
        outside.mains(1.0)
        self._restart()

    def _restart(self):
        self.outside.cut_power(5.0)
        self.rehearsal.advance(15.0)  # the board's start, with its grace window

    def selector(self, position: str) -> None:
        """Turn the transfer switch, at any moment between two ticks."""
        self._soon("position", position)

    def enable(self, is_closed: bool) -> None:
        """Open or close ENABLE."""
        self._soon("enable", is_closed)

    def _soon(self, name, value):
        self.outside.at(self.outside.now_us + 1_100_000, self, "turn", name, value)

    def turn(self, name: str, value: object) -> None:
        """A contact is moved."""
        setattr(self.outside, name, value)

    def limiter_down(self, reading_c: float) -> None:
        """Below the air that the limiter feels."""
        if self.outside.limiter is not None:
            self.outside.at(self.outside.now_us + 1_100_000, self, "feel", reading_c - 10.0)

    def feel(self, dial_c: float) -> None:
        """The dial is there: the limiter judges between two ticks of the board, as it would."""
        self.outside.limiter.set_c = dial_c  # type: ignore[union-attr]  # asked only where one is wired
        self.outside.limiter.feel(self.outside.true_c("dome"))  # type: ignore[union-attr]

    def limiter_back(self) -> None:
        """Back and reset."""
        if self.outside.limiter is not None:
            self.outside.limiter.set_c = self.dial_back_c
            self.outside.limiter.has_tripped = False
