"""`machine` of the simulated board, for both runtimes: what the device uses, and stricter than the boards.

Left out on purpose: PWM, PIO and pin interrupts (heat must not outlive a hung program), deep sleep.
"""

import simboard
from micropython import heap_lock, heap_unlock

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
        return self._port.read(self._state) if x is None else self._port.write(self._state, x)

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


def _number(pin):
    return pin._id if isinstance(pin, Pin) else pin


class SPI:
    """SPI controller `id`; transfers go to the chip whose select pin is low."""

    MSB = 0
    _RP2 = {  # RP2040 datasheet 1.4.3, GPIO functions: (sck, mosi, miso) of each unit
        0: ((2, 6, 18, 22), (3, 7, 19, 23), (0, 4, 16, 20)),
        1: ((10, 14, 26), (11, 15, 27), (8, 12, 24, 28)),
    }

    def __init__(
        self, id, baudrate=1_000_000, *, polarity=0, phase=0, bits=8, firstbit=0, sck=None, mosi=None, miso=None
    ):
        port = self._port = simboard.port
        pins = (_number(sck), _number(mosi), _number(miso))
        if port.mcu == "rp2040":
            if id not in self._RP2:
                port.refuse(ValueError, f"SPI({id!r}) does not exist")
            for index in range(3):
                number = pins[index]
                if number is not None and number not in self._RP2[id][index]:
                    port.refuse(ValueError, f"pin {number} cannot serve SPI({id}) there")
        if sck is None:
            port.refuse(ValueError, "name the pins of the bus")
        if bits != 8 or firstbit != 0 or baudrate < 1:
            port.refuse(ValueError, "SPI: 8 bits, MSB first, a baud rate above 0")
        self.mode = (polarity, phase)
        self.baudrate = baudrate
        self._bus = f"spi{id}"
        port.open_bus(self._bus, pins)

    def read(self, nbytes, write=0):
        """`nbytes` read while `write` is sent."""
        return bytes(self._port.transfer(self._bus, None, nbytes))

    def readinto(self, buf, write=0):
        """Fill `buf`."""
        count = len(buf)
        answer = self._port.transfer(self._bus, None, count)
        for index in range(count):
            buf[index] = answer[index]

    def write(self, buf):
        """Send, dropping what comes back."""
        self._port.transfer(self._bus, bytes(buf), len(buf))

    def write_readinto(self, write_buf, read_buf):
        """Send and receive buffers of one length."""
        if len(write_buf) != len(read_buf):
            self._port.refuse(ValueError, "buffers must be the same length")
        answer = self._port.transfer(self._bus, bytes(write_buf), len(read_buf))
        for index in range(len(read_buf)):
            read_buf[index] = answer[index]

    def deinit(self):
        """Close the bus and free its pins."""
        self._port.close_bus(self._bus)


class SoftSPI(SPI):
    """The same on any pins; the bus is named by its clock pin."""

    def __init__(self, baudrate=500_000, *, polarity=0, phase=0, bits=8, firstbit=0, sck, mosi=None, miso=None):
        self._port = simboard.port
        if bits != 8 or firstbit != 0:
            self._port.refuse(ValueError, "SPI: 8 bits, MSB first")
        self.mode = (polarity, phase)
        self.baudrate = baudrate
        self._bus = f"spi-{_number(sck)}"
        self._port.open_bus(self._bus, (_number(sck), _number(mosi), _number(miso)))


class I2C:
    """I2C controller `id`."""

    def __init__(self, id, *, scl=None, sda=None, freq=400_000, timeout=50_000):
        self._port = simboard.port
        if scl is None or sda is None:
            self._port.refuse(ValueError, "name the pins of the bus")
        self._bus = f"i2c{id}"
        self._port.open_bus(self._bus, (_number(scl), _number(sda)))

    def scan(self):
        """Addresses that acknowledge."""
        port = self._port
        port.need_bus(self._bus, "i2c")
        return [n for n in range(8, 0x78) if port.outside.i2c(self._bus, n, b"", 0) is not None]

    def writeto(self, addr, buf, stop=True):
        """Write; the number of bytes acknowledged."""
        self._port.i2c(self._bus, addr, bytes(buf), 0)
        return len(buf)

    def readfrom(self, addr, nbytes, stop=True):
        """Read `nbytes`."""
        return bytes(self._port.i2c(self._bus, addr, b"", nbytes))

    def readfrom_into(self, addr, buf, stop=True):
        """Fill `buf`."""
        answer = self._port.i2c(self._bus, addr, b"", len(buf))
        for index in range(len(buf)):
            buf[index] = answer[index]

    def readfrom_mem(self, addr, memaddr, nbytes, *, addrsize=8):
        """Write the register number, read `nbytes` after a repeated start."""
        return bytes(self._port.i2c(self._bus, addr, self._register(memaddr, addrsize), nbytes))

    def readfrom_mem_into(self, addr, memaddr, buf, *, addrsize=8):
        """The same into `buf`."""
        answer = self._port.i2c(self._bus, addr, self._register(memaddr, addrsize), len(buf))
        for index in range(len(buf)):
            buf[index] = answer[index]

    def writeto_mem(self, addr, memaddr, buf, *, addrsize=8):
        """Write the register number and `buf`."""
        self._port.i2c(self._bus, addr, self._register(memaddr, addrsize) + bytes(buf), 0)

    @staticmethod
    def _register(memaddr, addrsize):
        return bytes([memaddr]) if addrsize == 8 else bytes([memaddr >> 8, memaddr & 255])

    def deinit(self):
        """Close the bus and free its pins."""
        self._port.close_bus(self._bus)


class SoftI2C(I2C):
    """The same on any pins; the bus is named by its clock pin."""

    def __init__(self, scl, sda, *, freq=400_000, timeout=50_000):
        self._port = simboard.port
        self._bus = f"i2c-{_number(scl)}"
        self._port.open_bus(self._bus, (_number(scl), _number(sda)))


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
