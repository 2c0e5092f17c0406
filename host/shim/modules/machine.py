"""`machine` of the simulated board, for both runtimes: what the device uses, and stricter than the boards.

Left out on purpose: PWM, PIO and pin interrupts (heat must not outlive a hung program), deep sleep.
"""

import simboard
from micropython import heap_lock, heap_unlock
from simbus import I2C, SPI, SoftI2C, SoftSPI

__all__ = ["ADC", "I2C", "RTC", "SPI", "WDT", "Pin", "SoftI2C", "SoftSPI", "Timer"]

PWRON_RESET = 1
HARD_RESET = 2
WDT_RESET = 3
_CAUSES = {"power": PWRON_RESET, "watchdog": WDT_RESET, "reset": HARD_RESET}
_PULLS = {None: None, -1: None, 1: "up", 2: "down"}


def reset():
    """Start the chip again."""
    simboard.port.restart()


def reset_cause():
    """Why the board started. rp2 says WDT_RESET after machine.reset() too (ports/rp2, resets.c)."""
    port = simboard.port
    if port.cause == "reset" and port.mcu.startswith("rp2"):
        return WDT_RESET
    return _CAUSES[port.cause]


def unique_id():
    """Eight bytes."""
    return b"\x54\x5a\x01\x02\x03\x04\x05\x06"


def freq(hz=None):
    """Processor clock in Hz; setting it is accepted and changes nothing."""
    return 125_000_000 if hz is None else None


def idle():
    """Wait for 1 ms."""
    simboard.port.sleep_us(1000)


def disable_irq():
    """Nothing interrupts between sleeps here."""
    return 0


def enable_irq(state=0):
    """See disable_irq."""


class Pin:
    """A GPIO. Opened twice for different work, driven as an input, read unconfigured: refused."""

    IN = 0
    OUT = 1
    PULL_UP = 1
    PULL_DOWN = 2

    def __init__(self, id, mode=-1, pull=-1, *, value=None):
        self._port = simboard.port
        self._id = id
        self._state = self._port.idle_pin(id)
        if mode != -1:
            self.init(mode, pull, value=value)

    def init(self, mode=-1, pull=-1, *, value=None):
        """Configure: mode IN or OUT, pull None, PULL_UP or PULL_DOWN, first level."""
        port = self._port
        if mode not in (0, 1):
            port.refuse(ValueError, "pin mode must be Pin.IN or Pin.OUT")
        if pull not in _PULLS:
            port.refuse(ValueError, "pull must be None, PULL_UP or PULL_DOWN")
        self._state = port.claim(self._id, "out" if mode else "in", _PULLS[pull])
        if value is not None:
            port.write(self._state, value)

    def value(self, x=None):
        """Read (no argument) or drive the level."""
        port, state = self._port, self._state
        if x is not None:
            if state.out != x or state.job != "out" or port.failing:  # else it has that level already
                port.write(state, x)
            return None
        return port.read(state)

    __call__ = value

    def on(self):
        """Drive high."""
        self.value(1)

    def off(self):
        """Drive low."""
        self.value(0)

    high = on
    low = off

    def toggle(self):
        """Drive the other level."""
        self.value(1 - self.value())

    def irq(self, *arguments, **named):
        """Refused: inputs are polled."""
        self._port.refuse(NotImplementedError, "pin interrupts are not for this program")


class ADC:
    """An analog input; `read_u16()` gives 0..65535."""

    def __init__(self, pin):
        self._port = simboard.port
        self._number = pin if isinstance(pin, int) else pin._id
        if self._port.mcu == "rp2040" and self._number not in (26, 27, 28, 29):
            self._port.refuse(ValueError, f"pin {self._number} has no analog input")
        self._port.claim(self._number, "adc")

    def read_u16(self):
        """The converted value."""
        return self._port.outside.analog(self._number)


class Timer:
    """A hardware timer; hard callbacks run with the heap locked where the runtime can."""

    ONE_SHOT = 0
    PERIODIC = 1

    def __init__(self, id=-1, **options):
        self._port = simboard.port
        if self._port.mcu.startswith("rp2") and id != -1:
            self._port.refuse(ValueError, "Timer must be -1 on rp2")
        self.is_hard = False
        self.is_periodic = True
        self.period_us = 0
        self.due_us = 0
        self._callback = None
        if options:
            self.init(**options)

    def init(self, *, mode=1, period=-1, freq=-1, callback=None, hard=False):
        """Start: period in ms or freq in Hz; callback(timer)."""
        port = self._port
        if callback is None or (period < 1 and freq <= 0):
            port.refuse(ValueError, "a timer needs a callback and a period")
        self.deinit()
        self.is_periodic = mode == Timer.PERIODIC
        # esp32 callbacks are always scheduled: a hung interpreter never runs them
        self.is_hard = bool(hard) and not port.mcu.startswith("esp32")
        self.period_us = int(1_000_000 // freq) if freq > 0 else period * 1000
        self.due_us = port.now_us + self.period_us
        self._callback = callback
        port.timers.append(self)
        port.soon_us = 0

    def call(self):
        """Run the callback now (the simulated interrupt)."""
        if self.is_hard:
            heap_lock()
        try:
            self._callback(self)
        finally:
            if self.is_hard:
                heap_unlock()

    def deinit(self):
        """Stop."""
        if self in self._port.timers:
            self._port.timers.remove(self)


class WDT:
    """The watchdog: once made it bites unless fed."""

    def __init__(self, id=0, timeout=5000):
        self._port = simboard.port
        self._port.arm(timeout)

    def feed(self):
        """Start its time again."""
        self._port.feed()


class RTC:
    """A clock that nobody has set: 2021-01-01 00:00 at power-up, as rp2 has it."""

    def __init__(self, id=0):
        if not simboard.port.has_rtc:
            simboard.port.refuse(ValueError, "no clock on this board")
        self._port = simboard.port

    def datetime(self, when=None):
        """(year, month, day, weekday, hours, minutes, seconds, 0), for the first days of the month."""
        if when is not None:
            self._port.refuse(NotImplementedError, "the simulated clock cannot be set")
        seconds = (self._port.now_us - self._port.boot_us) // 1_000_000
        days = seconds // 86400
        return (2021, 1, 1 + days, (4 + days) % 7, seconds // 3600 % 24, seconds // 60 % 60, seconds % 60, 0)
