"""Fake MAX31856: 16 registers, conversion while CR0 says so, linearised by the type in CR1."""

from __future__ import annotations

from typing import Any

from host.chips import its90
from host.chips.base import Celsius, Micros, RegisterChip, to_code

TYPES = "BEJKNRST"  # datasheet: code of CR1 bits 3..0


class FakeMAX31856(RegisterChip):
    """One chip; `couple` is the thermocouple that is really connected."""

    conversion_us = 100_000  # continuous mode, one sample (from memory)
    faults = ("open", "short_supply") + RegisterChip.faults[3:]
    power_up = {1: 0x03, 2: 0xFF, 3: 0x7F, 4: 0xC0, 5: 0x7F, 6: 0xFF, 7: 0x80}
    writable = range(0x0C)

    def __init__(
        self, temperature_c: Celsius, junction_c: Celsius, now_us: Micros, couple: str = "K", **options: Any
    ) -> None:
        self.couple = couple
        super().__init__(temperature_c, junction_c, now_us, **options)

    def linearised_c(self, hot_c: float, cold_c: float) -> float:
        """What the chip makes of the couple's EMF with the type it is set to."""
        kind = TYPES[self.memory[1] & 7]
        if kind == self.couple or kind not in its90.PIECES:
            return hot_c
        couple, emf = self.couple, its90.emf_mv
        return its90.temperature_c(kind, emf(couple, hot_c) - emf(couple, cold_c) + emf(kind, cold_c))

    def load(self, hot_c: float, cold_c: float, status: int = 0) -> None:
        """Put a result into the registers: temperatures in °C, status register."""
        self.memory[0x0A:0x0C] = (to_code(cold_c, 1 / 64, 14) << 2).to_bytes(2, "big")
        self.memory[0x0C:0x0F] = (to_code(hot_c, 1 / 128, 19) << 5).to_bytes(3, "big")
        self.memory[0x0F] = status

    def refresh(self) -> None:
        """A conversion that is due goes into the registers."""
        if self.memory[0] & 0x80 and self.due():
            cold = self.junction_c()
            status = {"open": 0x01, "short_supply": 0x02}.get(self.fault or "", 0)
            self.load(self.linearised_c(self.hot_c(), cold), cold, status)
