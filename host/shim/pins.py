"""Pins and buses of the simulated board: the part of port.Port that refuses wrong wiring. Both runtimes."""

LOG = 256
# Pins there are; pins that only read (datasheets of the chips).
PIN_COUNTS = {"rp2040": 30, "rp2350": 48, "esp32": 40, "esp32s3": 49, "esp32c3": 22}
INPUT_ONLY = {"esp32": (34, 35, 36, 37, 38, 39)}


class PinState:
    """One pin: what it does, its pull ("up", "down", None) and its latched output level."""

    def __init__(self, number, job, pull):
        self.number = number
        self.job = job
        self.pull = pull
        self.out = 0


class Pins:
    """Base of Port; needs `mcu`, `outside`, `now_us`, `failing`, `refuse()` and `fail_if_asked()` of it."""

    def clear_pins(self):
        """Every pin an input, no bus."""
        for state in self.pins.values():
            state.job = "gone"  # objects from before the reset drive and read nothing any more
        self.pins = {}
        self.levels = {}
        self.rose = 0
        self.touched = -1  # bit per output whose level may have changed since the world outside was told of them
        self.selected = 0  # bit per output that fell and has not been used as chip select since
        self.buses = {}

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
                self.touched |= 1 << number
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
        level = 1 if level else 0
        if state.out != level:  # else its pad is settled already
            state.out = level
            self.settle(state.number)

    def settle(self, number):
        """The level at an output's pad, its edges and its history."""
        state = self.pins.get(number)
        if state is None or state.job != "out":
            return
        level = self.pads.get(number, state.out) if self.pads else state.out
        if self.levels[number] != level:
            self.levels[number] = level
            bit = 1 << number
            self.touched |= bit
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
        if job == "in" and not self.pads and not self.failing:  # nearly always
            level = self.outside.level(number)
            if level is None and state.pull is not None:
                return 1 if state.pull == "up" else 0
            if level is not None:
                return level
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
