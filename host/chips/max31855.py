"""Fake MAX31855: answers the 32-bit frame of datasheet 19-5793 table 2, fault bits included."""

from __future__ import annotations

from typing import Any

from host.chips import its90
from host.chips.base import Celsius, FakeChip, Micros, to_code

# µV per K of the chip's straight line (datasheet p.8 for K; others from memory, = E(1000
# °C)/1000; T 400 °C).
GAIN_UV_PER_K = {"K": 41.276, "J": 57.953, "N": 36.256, "T": 52.18, "S": 9.587}
FAULT_BITS = {"open": 1, "short_ground": 2, "short_supply": 4}


class FakeMAX31855(FakeChip):
    """One chip; `kind` is the type of the part and (unless `couple` differs) of the probe."""

    conversion_us = 100_000  # datasheet value from memory

    def __init__(
        self,
        temperature_c: Celsius,
        junction_c: Celsius,
        now_us: Micros,
        kind: str = "K",
        couple: str | None = None,
        **options: Any,
    ) -> None:
        super().__init__(temperature_c, junction_c, now_us, **options)
        self.gain_uv = GAIN_UV_PER_K[kind]
        self.couple = couple or kind

    def chip_c(self, hot_c: float, cold_c: float) -> float:
        """What the chip's straight line makes of a true hot and cold junction, °C, unrounded."""
        e_uv = 1000.0 * (its90.emf_mv(self.couple, hot_c) - its90.emf_mv(self.couple, cold_c))
        return cold_c + e_uv / self.gain_uv

    def frame(self, hot_c: float, cold_c: float, fault_bits: int = 0) -> bytes:
        """Four bytes for true junctions, °C; fault_bits: 1 open, 2 to ground, 4 to supply."""
        # An open input saturates: the chip shows its highest code beside the fault bit.
        code = 0x1FFF if fault_bits & 1 else to_code(self.chip_c(hot_c, cold_c), 0.25, 14)
        word = code << 18 | to_code(cold_c, 0.0625, 12) << 4 | fault_bits
        if fault_bits:
            word |= 1 << 16
        return word.to_bytes(4, "big")

    def convert(self) -> bytes:
        """The frame of the present temperatures and fault."""
        bits = FAULT_BITS.get(self.fault, 0) if self.fault else 0
        return self.frame(self.hot_c(), self.junction_c(), bits)

    def transfer(self, out: bytes | None, n: int) -> bytes:
        """One chip-select frame of n bytes; the chip ignores what it is sent."""
        data = self.answer()
        if n != len(data):
            data = (data + bytes(max(0, n - len(data))))[:n]
        return data if self.fault is None else self.on_the_wire(data)
