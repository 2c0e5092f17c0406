"""What is around a board behind a pseudo-terminal: the wired oven, the pace of time and the watchdog's bite.

Time: a device's sleep of d seconds takes d / speed seconds here; computing takes none of its time, up to PATIENCE_S of
it in one piece. At the prompt, and in a hang longer than that, the oven goes on by the life of the device's process
(host/board_pty/process.py) times speed: never by a time in which this laptop did not let it run. The watchdog counts
the device's time while it sleeps and feeds, else that life (at least PATIENCE_S): it bites in a hang and at the prompt.

Metered (BoardPty(metered=True)): the device gets its time in portions, by `grant`, and nothing depends on this
laptop's clock: the oven goes on only while the device sleeps, and a hang or a prompt just stands still. For tests.
"""

from __future__ import annotations

import time
from typing import Any

from host.board_pty.process import BoardProcess
from host.oven.base import Plant
from host.pins.pin_map import PinMap
from host.shim.remote import mask
from host.simulator.assembly import assembled

PATIENCE_S = 1.0
INTERRUPT = "interrupt"  # as in child.py
IDLE_S = 0.05  # after so long at its prompt the oven's time goes on by itself


class World:
    """`outside`: everything the board is wired to; `heat_log`: (us, pin, level) of every change of a heat pin."""

    def __init__(self, pins: PinMap, plant: Plant, seed: int, speed: float, patience_s: float = PATIENCE_S) -> None:
        self.pins = pins
        self.outside = assembled(pins, plant, seed)
        self.speed = speed
        self._patience_s = patience_s
        self.heat_log = []
        relays = [relay.pin for relay in self.outside.relays]
        self._heat = [pin for pin in relays if pin is not None]
        self._watched = mask([*relays, self.outside.contactor.pin, self.outside.fan_pin])
        self._boot_us = 0
        self._levels = {}
        self._pending: tuple[float, int] | None = (
            None  # (release time, number) of a piece of time that the device waits for
        )
        self._granted_us: int | None = None  # metered: the device's time may go on up to here
        self._watchdog_us = 0
        self._unfed_us = 0  # the device's own time since it last fed the watchdog
        self._released_at = time.monotonic()  # this laptop's clock: when the last piece of time was given
        # moments in the life of the device's process: its last sign of life, up to when the oven has been carried on
        self._alive_at = self._carried_at = 0.0

    def reset(self) -> None:
        """The chip starts again: every pin an input, no watchdog."""
        self._watchdog_us = 0
        self.set_levels({})
        self._boot_us = self.outside.now_us

    def config(self, is_soft: bool) -> dict[str, Any]:
        """What a starting process has to know; after a soft reset pins and watchdog are as they were."""
        self._pending = None
        self._alive_at = self._carried_at = 0.0
        selects = {}
        for bus, chip_select in self.outside.buses.chips:
            selects.setdefault(bus, []).append(chip_select)
        return {
            "mcu": getattr(self.pins, "MCU", "rp2040"),
            "boot_us": self._boot_us,
            "watched": self._watched,
            "sense_pins": [-1 if relay.sense_pin is None else relay.sense_pin for relay in self.outside.relays],
            "selects": selects,
            "now": self.now(),
            "levels": list(self._levels.items()) if is_soft else [],
        }

    def now(self) -> list[Any]:
        """Clock, contacts, currents and chips as the device sees them."""
        outside = self.outside
        frames = [[bus, chip_select, list(frame)] for (bus, chip_select), frame in outside.buses.frames.items()]
        waves = outside.sense_waves()
        quiet_us = outside.quiet_us
        if self._granted_us is not None:  # a moment that was granted must be one that the device tells of
            quiet_us = min(quiet_us, self._granted_us)
        return [outside.now_us, quiet_us, outside.contacts.closed, [waves & 3, waves >> 2], frames]

    # --- what the device says ------------------------------------------------------------------------

    def pin(self, number: int, level: int) -> None:
        """One output has been written."""
        self.set_levels({**self._levels, number: level})

    def set_levels(self, levels: dict[int, int], rose: int = 0) -> None:
        """All driven outputs, {pin: level}."""
        for pin in self._heat:
            if levels.get(pin, 0) != self._levels.get(pin, 0):
                self.heat_log.append((self.outside.now_us, pin, levels.get(pin, 0)))
        self._levels = levels
        self.outside.advance(0, levels, rose)

    def advance(self, number: int, dt_us: int, driven: int, high: int, rose: int) -> bool:
        """The device lets time pass; it is answered later. True if the watchdog bites in it."""
        levels = {}
        while driven:
            bit = driven & -driven
            levels[bit.bit_length() - 1] = 1 if high & bit else 0
            driven ^= bit
        self.set_levels(levels, rose)
        self._unfed_us += dt_us
        if self._watchdog_us and self._unfed_us > self._watchdog_us:
            return True
        self.outside.advance(dt_us, levels)
        self._released_at = max(time.monotonic(), self._released_at + dt_us / 1e6 / self.speed)
        self._pending = (self._released_at, number)
        return False

    def grant(self, seconds: float) -> None:
        """Metered from here on: let the device's time go on by so much from where it stands."""
        self._granted_us = self.outside.now_us + round(seconds * 1e6)

    @property
    def is_spent(self) -> bool:
        """Metered: whether the device has lived through what was granted, and waits."""
        pending = self._pending  # another thread may take it
        return pending is not None and self._granted_us is not None and self.outside.now_us >= self._granted_us

    def arm(self, timeout_ms: int, lived_s: float) -> None:
        """Start the watchdog, at this moment of the process's life."""
        self._watchdog_us = timeout_ms * 1000
        self.feed(lived_s)

    def feed(self, lived_s: float) -> None:
        """Give it its time again."""
        self._unfed_us = 0
        self._alive_at = lived_s

    def answer(self, name: str, values: list[Any]) -> Any:
        """A chip that is asked: transfer, i2c or analog."""
        if name in ("transfer", "i2c") and values[2] is not None:
            values[2] = bytes(values[2])
        answer = getattr(self.outside, name)(*values)
        return list(answer) if isinstance(answer, (bytes, bytearray)) else answer

    def interrupt(self, process: BoardProcess) -> bool:
        """Raise KeyboardInterrupt in a device that waits for time to pass; whether it did."""
        if not self._pending:
            return False
        number, self._pending = self._pending[1], None
        process.answer(number, INTERRUPT)
        return True

    # --- time ----------------------------------------------------------------------------------------

    def next_s(self) -> float:
        """Seconds until something is due."""
        if self.is_spent or (self._granted_us is not None and not self._pending):
            return 1.0
        return self._pending[0] - time.monotonic() if self._pending else IDLE_S

    def pass_time(self, process: BoardProcess) -> bool:
        """Answer what is due, or carry the oven on. True if the watchdog bites."""
        if self.is_spent:
            return False
        if self._pending:
            if self._granted_us is not None or time.monotonic() >= self._pending[0]:
                number, self._pending = self._pending[1], None
                self._alive_at = self._carried_at = process.lived_s()
                process.answer(number, self.now())
            return False
        return self._granted_us is None and self._live_on(process)

    def _live_on(self, process: BoardProcess) -> bool:
        """The device computes, hangs or sits at its prompt. True if the watchdog bites."""
        lived_s = process.lived_s()
        silent_s = lived_s - self._carried_at
        if silent_s >= self._patience_s or (silent_s >= IDLE_S and process.doing()[1]):
            self.outside.advance(round(silent_s * 1e6 * self.speed), self._levels)
            self._carried_at = lived_s
        patience_s = max(self._watchdog_us / 1e6 / self.speed, self._patience_s)
        return bool(self._watchdog_us) and lived_s - self._alive_at > patience_s
