"""Fake type K amplifier of 5 mV/K, and a fake ADS1115 on I2C that converts its output."""

from __future__ import annotations

from host.chips import its90
from host.chips.base import FakeChip, I2CChip

CONVERSION, CONFIG = 0x00, 0x01
FULL_SCALE_V = {0: 6.144, 1: 4.096, 2: 2.048, 3: 1.024, 4: 0.512, 5: 0.256}
SUPPLY_V = 3.3


def amplifier_v(hot_c: float, fault: str | None = None, vref_v: float = 0.0) -> float:
    """Output of an AD8495 with its ambient compensation taken as perfect, V (AN-1087, from memory)."""
    if fault == "open":
        return SUPPLY_V - 0.05
    volts = 122.4e-3 * its90.emf_mv("K", hot_c) + 1.25e-3 + vref_v
    return max(0.0, min(SUPPLY_V - 0.05, volts))


class FakeADS1115(I2CChip):
    """The converter with one amplifier on every input; conversion by the rate in its configuration."""

    faults = ("open",) + I2CChip.faults[3:]
    power_up = {CONVERSION: 0, CONFIG: 0x8583}
    width = {0: 2, 1: 2, 2: 2, 3: 2}
    writable = (1, 2, 3)
    vref_v = 0.0

    @property
    def conversion_us(self) -> int:  # type: ignore[override]  # the base has a constant
        """Time of one conversion at the configured rate."""
        rates = (8, 16, 32, 64, 128, 250, 475, 860)
        return round(1_000_000 / rates[self.words.get(CONFIG, 0) >> 5 & 7])

    def code(self, volts: float) -> int:
        """16-bit code of a voltage at the configured range."""
        full = FULL_SCALE_V.get(self.words[CONFIG] >> 9 & 7, 0.256)
        return max(-32768, min(32767, round(volts / full * 32768))) & 0xFFFF

    def refresh(self) -> None:
        """A conversion that is due goes into the registers."""
        if self.words[CONFIG] & 0x0100 == 0 and self.due():
            self.words[CONVERSION] = self.code(amplifier_v(self.hot_c(), self.fault, self.vref_v))


class FakeAnalog(FakeChip):
    """The amplifier on the board's own analog input: `read_u16()` as machine.ADC has it, 12 bits."""

    conversion_us = 0
    faults = ("open", "all_zero", "all_one", "frozen", "noise")

    def read_u16(self) -> int:
        """0..65535 of SUPPLY_V; the low 4 bits repeat the high ones, as the boards do."""
        if self.fault in ("all_zero", "all_one"):
            return 0 if self.fault == "all_zero" else 65535
        code = int.from_bytes(self.answer(), "big")
        return code << 4 | code >> 8

    def convert(self) -> bytes:
        """The 12-bit code of the present output, two bytes."""
        volts = amplifier_v(self.hot_c(), self.fault) + self._random.gauss(0.0, 0.0008)
        return max(0, min(4095, round(volts / SUPPLY_V * 4095))).to_bytes(2, "big")
