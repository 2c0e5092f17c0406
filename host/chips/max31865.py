"""Fake MAX31865: 8 registers, ratio of the element to the reference resistor, thresholds, fault cycle."""

from __future__ import annotations

from typing import Any

from host.chips import iec60751
from host.chips.base import Celsius, Micros, RegisterChip


class FakeMAX31865(RegisterChip):
    """One chip; the element's R0 and the reference resistor in ohm, lead resistance seen with 2 wires."""

    conversion_us = 21_000
    registers = 8
    faults = ("open", "short_ground", "short_supply") + RegisterChip.faults[3:]
    power_up = {3: 0xFF, 4: 0xFF}
    writable = (0, 3, 4, 5, 6)

    def __init__(
        self,
        temperature_c: Celsius,
        junction_c: Celsius,
        now_us: Micros,
        r0_ohm: float = 100.0,
        rref_ohm: float = 400.0,
        **options: Any,
    ) -> None:
        self.r0_ohm = r0_ohm
        self.rref_ohm = rref_ohm
        super().__init__(temperature_c, junction_c, now_us, **options)

    def code(self, t_c: float) -> int:
        """15-bit code of an element at t_c."""
        resistance = self.r0_ohm * iec60751.ratio(t_c)
        return max(0, min(32767, round(resistance / self.rref_ohm * 32768)))

    def load(self, code: int, status: int = 0) -> None:
        """Put a result into the registers; the thresholds are compared here as in the chip."""
        word = code << 1
        high, low = self.memory[3] << 8 | self.memory[4], self.memory[5] << 8 | self.memory[6]
        if word >= high:
            status |= 0x80
        if word <= low:
            status |= 0x40
        self.memory[7] |= status
        word |= 1 if self.memory[7] else 0
        self.memory[1:3] = word.to_bytes(2, "big")

    def refresh(self) -> None:
        """A conversion that is due goes into the registers."""
        if self.memory[0] & 0xC0 == 0xC0 and self.due():
            code = {"open": 32767, "short_ground": 0}.get(self.fault or "")
            if code is None:
                code = self.code(self.hot_c())
            self.load(code, 0x04 if self.fault == "short_supply" else 0)

    def written(self, register: int) -> None:
        """A write to the configuration may clear the faults."""
        if register != 0:
            return
        config = self.memory[0]
        if config & 0x02:  # clear faults; the bit clears itself
            self.memory[7] = 0
            self.memory[2] &= 0xFE
            self.memory[0] &= 0xFD
        if config & 0x0C == 0x04:  # automatic fault-detection cycle: well under 1 ms here
            self.memory[7] |= {"open": 0x30, "short_ground": 0x08}.get(self.fault or "", 0)
            self.memory[0] &= 0xF3
