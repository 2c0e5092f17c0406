"""The simulated board: clock, pins, timers, watchdog, buses and the serial port. Runs on both runtimes.

Strict: what hardware refuses is refused, and what hardware lets pass to its harm as well. Each refusal is
kept in `refusals`, so that a device that swallows the exception does not hide it. Time moves in sleeps
alone, in pieces that end where a timer or the watchdog is due; what is outside the board answers

    advance(dt_us, levels, rose)   levels: {pin: 0 or 1} of driven outputs; rose: bit per pin with a rising edge;
                                   False if nothing but time has changed
    level(pin)                     0 = a closed contact pulls the pin to GND, None = nothing does
    transfer(bus, cs, out, n)      what the chip selected by `cs` shifts out
    selects(bus)                   the chip-select pins of a bus
    i2c(address_bus, address, out, n), analog(pin), serial_out(bytes)
    rx, orders, host_reading       bytes for the board, disturbances of the board, whether the PC reads
"""

PERIOD = 1 << 30  # of ticks_ms and ticks_us, as on the boards
START_MS = PERIOD - 30_000  # every power-up begins 30 s before the wrap
SPIN_READS = 2000  # clock reads without a sleep after which reading takes time itself
SPIN_US = 100
NEVER_US = 1 << 60
RX_BYTES = 512
LOG = 256
# Pins there are; pins that only read (esp32: datasheet table of strapping and input-only pins).
PIN_COUNTS = {"rp2040": 30, "rp2350": 48, "esp32": 40, "esp32s3": 49, "esp32c3": 22}
INPUT_ONLY = {"esp32": (34, 35, 36, 37, 38, 39)}
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


class PinState:
    """One pin: what it does, its pull ("up", "down", None) and its latched output level."""

    def __init__(self, number, job, pull):
        self.number = number
        self.job = job
        self.pull = pull
        self.out = 0


class Port:
    """One board. `outside` see above, `mcu` a name of PIN_COUNTS, `board` the pin map, `fs` its files."""

    def __init__(self, outside, mcu="rp2040", board=None, fs=None):
        if mcu not in PIN_COUNTS:
            raise ValueError("unknown MCU {!r} (known: {})".format(mcu, ", ".join(sorted(PIN_COUNTS))))
        self.outside = outside
        self.mcu = mcu
        self.board = board
        self.fs = fs
        self.now_us = 0
        self.pins = {}
        self.refusals = []
        self.printed = []
        self.pads = {}  # pin -> level forced from outside the chip (a short)
        self.has_rtc = mcu != "esp32c3"
        self.log = [0] * LOG  # (us << 7 | pin << 1 | level), a ring
        self.log_count = 0
        self.reset("power")

    def reset(self, cause):
        """As after a chip reset: every pin an input, no timer, no watchdog, no bus."""
        self.cause = cause
        self.boot_us = self.now_us
        for state in self.pins.values():
            state.job = "gone"  # objects from before the reset drive and read nothing any more
        self.pins = {}
        self.levels = {}
        self.rose = 0
        self.selected = 0  # bit per output that fell and has not been used as chip select since
        self.timers = []
        self.buses = {}
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
        """Raise the OSError that a disturbance has asked for at this point ("spi", "i2c", "pin", "sleep")."""
        if self.failing and point in self.failing:
            kind = self.failing.pop(point)
            raise (OSError if kind == "OSError" else RuntimeError)("disturbed: " + point)

    # --- clock ---------------------------------------------------------------------------------

    def ticks_ms(self):
        """Milliseconds modulo 2^30."""
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
            if self.timers:
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
        changed = outside.advance(dt_us, self.levels, self.rose)
        self.now_us += dt_us
        self.rose = 0
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
        elif name == "fail":  # the next call at a point raises an OSError or a RuntimeError
            self.failing[value] = order[2]
        elif name == "hang":
            raise BoardHung()
        elif name == "power":  # no supply for `value` us
            raise BoardReset("power", value)
        else:
            raise ValueError("unknown order " + name)

    # --- pins ----------------------------------------------------------------------------------

    def claim(self, number, job, pull=None):
        """The PinState for a job ("in", "out", "spi0", ...); a second, different job is refused."""
        if isinstance(number, bool) or not isinstance(number, int):
            self.refuse(TypeError, f"a pin is a number, not {number!r}")
        if not 0 <= number < PIN_COUNTS[self.mcu]:
            self.refuse(ValueError, f"{self.mcu} has no pin {number}")
        if job != "in" and number in INPUT_ONLY.get(self.mcu, ()):
            self.refuse(ValueError, f"pin {number} can only read")
        state = self.pins.get(number)
        if state is None:
            state = self.pins[number] = PinState(number, job, pull)
            if job == "out":
                self.levels[number] = 0
                self.settle(number)
        elif state.job != job or state.pull != pull:
            text = f"pin {number} is claimed as {state.job} already, not {job}"
            if state.job == job:
                text = f"pin {number} is claimed with pull {state.pull} already"
            self.refuse(ValueError, text)
        return state

    def idle_pin(self, number):
        """The state of a pin that nobody has configured."""
        return self.pins.get(number) or PinState(number, "none", None)

    def write(self, state, level):
        """Drive an output; refused for anything else."""
        if state.job != "out":
            self.refuse(ValueError, f"pin {state.number} is not an output")
        if self.failing:
            self.fail_if_asked("pin")
        state.out = 1 if level else 0
        self.settle(state.number)

    def settle(self, number):
        """The level at an output's pad, its edges and its history."""
        state = self.pins.get(number)
        if state is None or state.job != "out":
            return
        level = self.pads.get(number, state.out)
        if self.levels[number] != level:
            self.levels[number] = level
            bit = 1 << number
            if level:
                self.rose |= bit
                self.selected &= ~bit
            else:
                self.selected |= bit
            self.log[self.log_count % LOG] = self.now_us << 7 | number << 1 | level
            self.log_count += 1

    def read(self, state):
        """The level at a pin. An input that nothing holds is refused rather than guessed."""
        number = state.number
        job = state.job
        if job == "out":
            level = self.levels[number]
        elif job != "in":
            self.refuse(ValueError, f"pin {number} is not configured")
        else:
            level = self.pads.get(number) if self.pads else None
            if level is None:
                level = self.outside.level(number)
            if level is None:
                if state.pull is None:
                    self.refuse(ValueError, f"pin {number} floats: no pull and nothing drives it")
                level = 1 if state.pull == "up" else 0
        if self.failing:
            self.fail_if_asked("pin")
        return level

    def history(self, number):
        """[(us, level), ...] of an output's changes, the newest 256 of all pins together."""
        found = []
        for index in range(max(0, self.log_count - LOG), self.log_count):
            entry = self.log[index % LOG]
            if entry >> 1 & 63 == number:
                found.append((entry >> 7, entry & 1))
        return found

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
        self.watchdog_due_us = self.now_us + self.watchdog_us

    # --- buses and serial ----------------------------------------------------------------------

    def open_bus(self, name, pins):
        """Claim a bus and its pins; the same again is fine, other pins are refused."""
        if self.buses.get(name, pins) != pins:
            self.refuse(ValueError, f"{name} is open on other pins already")
        for number in pins:
            if number is not None:
                self.claim(number, name)
        self.buses[name] = pins

    def close_bus(self, name):
        """Let a bus and its pins go."""
        for number in self.buses.pop(name, ()):
            if number is not None:
                self.pins.pop(number).job = "gone"

    def transfer(self, bus, out, count):
        """`count` bytes shifted in from the chip whose select is low; one transfer per selection."""
        self.need_bus(bus, "spi")
        chip = -1
        for number in self.outside.selects(bus):
            if self.levels.get(number) == 0:
                if chip >= 0:
                    self.refuse(OSError, f"{bus}: pins {chip} and {number} select two chips")
                chip = number
        if chip < 0:
            return bytes(count)  # nobody answers: MISO rests on its pull-down
        if not self.selected >> chip & 1:
            self.refuse(OSError, f"{bus}: chip {chip} was not selected anew")
        self.selected &= ~(1 << chip)
        return self.outside.transfer(bus, chip, out, count)

    def i2c(self, bus, address, out, count):
        """Write `out`, then read `count` bytes; OSError(5) when nobody acknowledges."""
        self.need_bus(bus, "i2c")
        answer = self.outside.i2c(bus, address, out, count)
        if answer is None:
            raise OSError(5)
        return answer

    def need_bus(self, bus, point):
        """Refuse a bus that is not open."""
        if bus not in self.buses:
            self.refuse(OSError, f"{bus} is not open")
        if self.failing:
            self.fail_if_asked(point)

    def can_write(self):
        """Whether the PC takes what the board sends."""
        return self.outside.host_reading
