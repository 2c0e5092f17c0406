"""The simulated board: clock, pins, timers, watchdog, buses and the serial port. Runs on both runtimes.

Strict: what hardware refuses is refused, and what hardware lets pass to its harm as well. Each refusal is
kept in `refusals`, so that a device that swallows the exception does not hide it. Time moves in sleeps
alone, in pieces that end where a timer or the watchdog is due; what is outside the board answers

    advance(dt_us, levels, rose)   levels: {pin: 0 or 1} of driven outputs; rose: bit per pin with a rising edge;
                                   False if nothing but time has changed
    rest(dt_us)                    may be absent: let time pass if nothing can happen in it while the levels of the
                                   outputs in `watched` (a bit each) stay as they were, else False
    level(pin)                     0 = a closed contact pulls the pin to GND, None = nothing does
    transfer(bus, cs, out, n)      what the chip selected by `cs` shifts out
    selects(bus)                   the chip-select pins of a bus
    i2c(address_bus, address, out, n), analog(pin), serial_out(bytes)
    rx, orders, host_reading       bytes for the board, disturbances of the board, whether the PC reads
"""

try:
    from host.shim.pins import LOG, PIN_COUNTS, Pins
except ImportError:  # on MicroPython, where this folder itself is on the path
    from pins import LOG, PIN_COUNTS, Pins  # type: ignore[no-redef]

PERIOD = 1 << 30  # of ticks_ms and ticks_us, as on the boards
START_MS = PERIOD - 30_000  # every power-up begins 30 s before the wrap
SPIN_READS = 2000  # clock reads without a sleep after which reading takes time itself
SPIN_US = 100
NEVER_US = 1 << 60
RX_BYTES = 512
# ports/rp2/machine_wdt.c refuses more than 8388 ms; ports/esp32 has no such bound.
WATCHDOG_MAX_MS = {"rp2040": 8388, "rp2350": 8388}


class BoardReset(BaseException):
    """The chip starts again: `cause` is "power", "watchdog" or "reset"; `off_us` how long it has no supply."""

    def __init__(self, cause, off_us=0):
        super().__init__(cause)
        self.cause = cause
        self.off_us = off_us


class BoardHung(BaseException):
    """The interpreter does not come back; pins stay as they are."""


class Port(Pins):
    """One board. `outside` see above, `mcu` a name of PIN_COUNTS, `board` the pin map, `fs` its files."""

    def __init__(self, outside, mcu="rp2040", board=None, fs=None):
        if mcu not in PIN_COUNTS:
            raise ValueError("unknown MCU {!r} (known: {})".format(mcu, ", ".join(sorted(PIN_COUNTS))))
        self.outside = outside
        self.can_rest = hasattr(outside, "rest")
        self.mcu = mcu
        self.board = board
        self.fs = fs
        self.now_us = 0
        self.pins = {}
        self.refusals = []
        self.printed = []
        self.on_hang = None  # where the whole program runs: what passes the time of a hang
        self.pads = {}  # pin -> level forced from outside the chip (a short)
        self.has_rtc = mcu != "esp32c3"
        self.log = [0] * LOG  # (us << 7 | pin << 1 | level), a ring
        self.log_count = 0
        self.reset("power")

    def reset(self, cause):
        """As after a chip reset: every pin an input, no timer, no watchdog, no bus."""
        self.cause = cause
        self.boot_us = self.now_us
        self.clear_pins()
        self.timers = []
        self.watchdog_us = 0  # timeout; 0 = not armed
        self.watchdog_due_us = 0
        self.rx = bytearray()
        self.spin = 0
        self.soon_us = 0  # no timer and no watchdog is due before this; 0 = not worked out
        self.late_us = 0
        self.stalled_ms = -1
        self.failing = {}

    def restart(self):
        """What machine.reset() does."""
        raise BoardReset("reset")

    def refuse(self, kind, text):
        """Raise `kind(text)` and remember it."""
        self.refusals.append((self.now_us, text))
        raise kind(text)

    def fail_if_asked(self, point):
        """Do what a disturbance has asked for at this point ("spi", "i2c", "pin", "sleep", "clock", "feed")."""
        if "call" in self.failing:
            self._count_call()
        if self.failing and point in self.failing:
            kind = self.failing.pop(point)
            raise (OSError if kind == "OSError" else RuntimeError)("disturbed: " + point)

    def _count_call(self):
        """Count calls of the hardware down to the one that raises, comes back late or loses the supply."""
        left, kind, late_us = self.failing["call"]
        if left > 0:
            self.failing["call"] = [left - 1, kind, late_us]
            return
        del self.failing["call"]
        self.outside.serial_out(b"!acted\n")
        if kind == "late":
            self.pass_us(late_us, True)
        elif kind == "power":
            raise BoardReset("power", late_us)
        else:
            errors = {"os-error": OSError, "memory-error": MemoryError, "interrupt": KeyboardInterrupt}
            raise errors.get(kind, ValueError)("injected")

    # --- clock ---------------------------------------------------------------------------------

    def ticks_ms(self):
        """Milliseconds modulo 2^30."""
        if self.failing:
            self.fail_if_asked("clock")
        self.spin += 1
        if self.spin > SPIN_READS:
            self.pass_us(SPIN_US)
        if self.stalled_ms >= 0:
            return self.stalled_ms
        return (START_MS + (self.now_us - self.boot_us) // 1000) & (PERIOD - 1)

    def ticks_us(self):
        """Microseconds modulo 2^30, the same counter as ticks_ms."""
        self.spin += 1
        if self.spin > SPIN_READS:
            self.pass_us(SPIN_US)
        if self.stalled_ms >= 0:
            return self.stalled_ms * 1000 & (PERIOD - 1)
        return (START_MS * 1000 + self.now_us - self.boot_us) & (PERIOD - 1)

    def sleep_us(self, duration_us):
        """Let time pass; timers fire and the watchdog bites on the way."""
        self.spin = 0
        if self.failing:
            self.fail_if_asked("sleep")
        if self.late_us:
            duration_us += self.late_us
            self.late_us = 0
        if duration_us <= 0:
            return
        if self.now_us + duration_us < self.soon_us:
            if self.can_rest and not self.touched & self.outside.watched and self.outside.rest(duration_us):
                self.now_us += duration_us
                return
            self.advance(duration_us)
        else:
            self.pass_us(duration_us)

    def pass_us(self, duration_us, is_hung=False):
        """Move the clock on, in pieces; with a hung interpreter only hard timers still fire."""
        end = self.now_us + duration_us
        while self.now_us < end:
            due = self.next_due_us()
            stop = due if due < end else end
            if stop > self.now_us:
                self.advance(stop - self.now_us)
            if self.timers and due <= self.now_us:
                self.fire(is_hung)
            if self.watchdog_us and self.now_us >= self.watchdog_due_us:
                raise BoardReset("watchdog")
        self.soon_us = self.next_due_us()

    def next_due_us(self):
        """When a timer or the watchdog is due next."""
        due = NEVER_US
        for timer in self.timers:
            if timer.due_us < due:
                due = timer.due_us
        if self.watchdog_us and self.watchdog_due_us < due:
            due = self.watchdog_due_us
        return due

    def advance(self, dt_us):
        """One piece of time for the world outside, then what it has for the board."""
        outside = self.outside
        if self.can_rest and not self.touched & outside.watched and outside.rest(dt_us):
            self.now_us += dt_us
            return
        changed = outside.advance(dt_us, self.levels, self.rose)
        self.now_us += dt_us
        self.rose = 0
        self.touched = 0
        if not changed:
            return
        if outside.rx:
            self.rx = (self.rx + outside.rx)[:RX_BYTES]
            outside.rx = bytearray()
        if outside.orders:
            orders, outside.orders = outside.orders, []
            for order in orders:
                self.obey(order)

    def obey(self, order):
        """A disturbance of the board itself: [name, value...]."""
        name, value = order[0], order[1]
        if name == "late":  # the next sleep takes `value` us more
            self.late_us += value
        elif name == "stall":  # the tick counter stands still (value true) or runs
            self.stalled_ms = -1
            if value:
                self.stalled_ms = self.ticks_ms()
        elif name == "pad":  # a pin is held at a level from outside, or let go
            if order[2] is None:
                self.pads.pop(value, None)
            else:
                self.pads[value] = order[2]
            self.settle(value)
        elif name == "fail":  # the next call at a point raises an OSError or a RuntimeError; "call": see _count_call
            self.failing[value] = order[2]
        elif name == "hang":
            if self.on_hang is None:
                raise BoardHung()
            self.on_hang()  # comes back by a reset only
        elif name == "power":  # no supply for `value` us
            raise BoardReset("power", value)
        else:
            raise ValueError("unknown order " + name)

    # --- timers and watchdog -------------------------------------------------------------------

    def fire(self, is_hung=False):
        """Call every timer that is due. An exception in a callback ends that timer, as on a board."""
        for timer in list(self.timers):
            while timer in self.timers and timer.due_us <= self.now_us:
                if timer.period_us and timer.is_periodic:
                    timer.due_us += timer.period_us
                else:
                    self.timers.remove(timer)
                if is_hung and not timer.is_hard:
                    continue
                try:
                    timer.call()
                except Exception as error:  # reported and the timer ended: extmod/machine_timer.c
                    self.printed.append(f"timer callback: {error!r}")
                    if timer in self.timers:
                        self.timers.remove(timer)

    def arm(self, timeout_ms):
        """Start the watchdog; it cannot be stopped."""
        if not isinstance(timeout_ms, int) or timeout_ms < 1:
            self.refuse(ValueError, "watchdog timeout must be 1 ms or more")
        if timeout_ms > WATCHDOG_MAX_MS.get(self.mcu, PERIOD):
            self.refuse(ValueError, f"watchdog timeout exceeds {WATCHDOG_MAX_MS[self.mcu]} ms")
        self.soon_us = 0
        self.watchdog_us = timeout_ms * 1000
        self.watchdog_due_us = self.now_us + self.watchdog_us

    def feed(self):
        """Give the watchdog its full time again; refused while it is not armed."""
        if not self.watchdog_us:
            self.refuse(RuntimeError, "watchdog fed before it was armed")
        if self.failing:
            self.fail_if_asked("feed")
        self.watchdog_due_us = self.now_us + self.watchdog_us

    def can_write(self):
        """Whether the PC takes what the board sends."""
        return self.outside.host_reading
