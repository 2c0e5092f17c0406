"""Fake MAX6675: answers the 16-bit frame of datasheet 19-2235, then leaves its output undriven."""

from __future__ import annotations

from host.chips import its90
from host.chips.base import FakeChip


class FakeMAX6675(FakeChip):
    """One chip with a type K probe."""

    conversion_us = 220_000  # at most, from memory
    faults = ("open",) + FakeChip.faults[3:]

    def chip_c(self, hot_c: float, cold_c: float) -> float:
        """What the chip's straight line of 41 µV/K makes of a true hot and cold junction, °C."""
        return cold_c + 1000.0 * (its90.emf_mv("K", hot_c) - its90.emf_mv("K", cold_c)) / 41.0

    def frame(self, hot_c: float, cold_c: float, is_open: bool = False) -> bytes:
        """Two bytes for a true hot and cold junction; unsigned 12 bits of 0.25 K."""
        code = max(0, min(4095, round(self.chip_c(hot_c, cold_c) * 4)))
        return (code << 3 | (4 if is_open else 0)).to_bytes(2, "big")

    def convert(self) -> bytes:
        """The frame of the present temperatures and fault."""
        return self.frame(self.hot_c(), self.junction_c(), self.fault == "open")

    def transfer(self, out: bytes | None, n: int) -> bytes:
        """One chip-select frame of n bytes; beyond 16 bits nothing is driven (pulled down here)."""
        return self.on_the_wire((self.answer() + bytes(n))[:n])
