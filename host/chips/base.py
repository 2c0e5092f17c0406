"""What every fake chip shares: time of conversion, seeded noise, and the faults of a bus.

A fake chip gets callables for what the world does (`temperature_c()` at the probe's tip,
`junction_c()` at the chip, `now_us()`), so that it holds no oven and no clock. Bound methods
survive a deep copy of the whole simulated board; a lambda would keep pointing at the original.
SPI chips answer `transfer(out_bytes_or_None, n) -> n bytes` (one chip-select frame); I2C chips
answer `i2c_write(bytes)` and `i2c_read(n) -> bytes`, raising OSError when they do not
acknowledge.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from typing import Any

Celsius = Callable[[], float]  # a temperature now, °C
Micros = Callable[[], int]  # the clock, µs

# Faults that any chip can have, by the name that a rehearsal uses.
BUS_FAULTS = ("all_zero", "all_one", "half_zero", "half_one", "garbled", "frozen", "noise")
WIRE_FAULTS = BUS_FAULTS[:5]  # while one lasts nothing can be written either
PROBE_FAULTS = ("open", "short_ground", "short_supply")


class FakeChip:
    """Base of the fake chips.

    noise_k: standard deviation of the reading's own noise, K; seed: of this chip's noise;
    conversion_us: a read sooner than this after the last one returns the last answer.
    """

    conversion_us = 100_000
    faults: tuple[str, ...] = PROBE_FAULTS + BUS_FAULTS
    # size of the noise while "noise" is on: relay transients on an unshielded cable
    burst_k = 60.0

    def __init__(
        self, temperature_c: Celsius, junction_c: Celsius, now_us: Micros, seed: int = 1, noise_k: float = 0.08
    ) -> None:
        self.temperature_c = temperature_c
        self.junction_c = junction_c
        self.now_us = now_us
        self.noise_k = noise_k
        self.fault: str | None = None
        self._random = random.Random(seed)
        self._answer: bytes | None = None
        self._sampled_us: int | None = None

    def set_fault(self, name: str | None) -> None:
        """Switch a fault on (a name of `faults`) or off (None)."""
        if name is not None and name not in self.faults:
            known = ", ".join(self.faults)
            raise ValueError(f"{type(self).__name__} has no fault {name!r}; it has {known}")
        self.fault = name

    def hot_c(self) -> float:
        """Temperature at the tip with noise, °C."""
        spread = self.burst_k if self.fault == "noise" else self.noise_k
        return self.temperature_c() + self._random.gauss(0.0, spread)

    def convert(self) -> bytes:
        """Newest whole answer as bytes, from the present temperatures and fault."""
        raise NotImplementedError

    def answer(self) -> bytes:
        """The answer that stands in the chip now: converted anew when the last is old enough."""
        now = self.now_us()
        due = self._sampled_us is None or now - self._sampled_us >= self.conversion_us
        if self._answer is None or (due and self.fault != "frozen"):
            self._answer = self.convert()
        if due:
            self._sampled_us = now
        return self._answer

    def on_the_wire(self, data: bytes) -> bytes:
        """`data` as a faulty bus delivers it."""
        half = len(data) // 2
        if self.fault == "all_zero":
            return bytes(len(data))
        if self.fault == "all_one":
            return b"\xff" * len(data)
        if self.fault == "half_zero":
            return data[:half] + bytes(len(data) - half)
        if self.fault == "half_one":
            return data[:half] + b"\xff" * (len(data) - half)
        if self.fault == "garbled":
            return bytes(self._random.randrange(256) for _ in data)
        return data


def to_code(value: float, step: float, bits: int) -> int:
    """Nearest two's complement code of `value` in units of `step`, held at the ends."""
    limit = 1 << (bits - 1)
    code = round(value / step)
    if not -limit <= code < limit:
        code = -limit if code < 0 else limit - 1
    return code & ((1 << bits) - 1)


class RegisterChip(FakeChip):
    """An SPI chip with registers: address byte with bit 7 set writes, else reads, counting upwards."""

    registers = 16
    power_up: dict[int, int] = {}  # register: value
    writable: Sequence[int] = range(16)

    def __init__(self, temperature_c: Celsius, junction_c: Celsius, now_us: Micros, **options: Any) -> None:
        super().__init__(temperature_c, junction_c, now_us, **options)
        self.memory = bytearray(self.registers)
        self.restart()

    def restart(self) -> None:
        """Power-up: every register back to its first value, no result yet."""
        for register in range(self.registers):
            self.memory[register] = self.power_up.get(register, 0)
        self._answer = None
        self._sampled_us = self.now_us()

    def refresh(self) -> None:
        """Put the newest conversion into the registers."""

    def written(self, register: int) -> None:
        """A register has been written."""

    def transfer(self, out: bytes | None, n: int) -> bytes:
        """One chip-select frame: the first byte is the address; its answer has no meaning."""
        self.refresh()
        if not out:
            out = bytes(n)  # read only: MOSI rests low
        address = out[0]
        data = bytearray()
        for i, value in enumerate(out[1:n]):
            register = (address & 0x7F) + i
            if address & 0x80 and register in self.writable and self.fault not in WIRE_FAULTS:
                self.memory[register] = value
                self.written(register)
            data.append(self.memory[register] if register < self.registers else 0)
        if address & 0x80:
            data = bytearray(len(data))
        return self.on_the_wire(b"\xff" if self.fault == "all_one" else b"\0")[:1] + self.on_the_wire(bytes(data))

    def due(self) -> bool:
        """True once per conversion time; a frozen chip never converts again."""
        now = self.now_us()
        if self.fault == "frozen" or now - (self._sampled_us or 0) < self.conversion_us:
            return False
        self._sampled_us = now
        return True


class I2CChip(RegisterChip):
    """An I2C chip with registers behind a pointer: `i2c_write` sets it and writes, `i2c_read` reads.

    With "all_one" nothing acknowledges (OSError), as on a bus without the chip.
    """

    width: dict[int, int] = {}  # bytes of a register that is wider than one

    def __init__(self, temperature_c: Celsius, junction_c: Celsius, now_us: Micros, **options: Any) -> None:
        self.words = {}
        self.pointer = 0
        super().__init__(temperature_c, junction_c, now_us, **options)

    def restart(self) -> None:
        """Power-up: registers back to their first values."""
        self.words = dict(self.power_up)
        self._sampled_us = self.now_us()

    def i2c_write(self, data: bytes) -> int:
        """Pointer, then the register's bytes."""
        if self.fault == "all_one":
            raise OSError(5, "no acknowledge")
        self.pointer = data[0]
        size = self.width.get(self.pointer, 1)
        if len(data) > size and self.pointer in self.writable and self.fault not in WIRE_FAULTS:
            self.words[self.pointer] = int.from_bytes(data[1 : 1 + size], "big")
            self.written(self.pointer)
        return len(data)

    def i2c_read(self, n: int) -> bytes:
        """The register at the pointer, most significant byte first."""
        if self.fault == "all_one":
            raise OSError(5, "no acknowledge")
        self.refresh()
        size = self.width.get(self.pointer, 1)
        data = self.words.get(self.pointer, 0).to_bytes(size, "big")
        return self.on_the_wire((data + bytes(n))[:n])
