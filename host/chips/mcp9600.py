"""Fake MCP9600 and MCP9601: registers of DS20005426 on I2C, update flag and identity included."""

from __future__ import annotations

from typing import Any

from host.chips.base import Celsius, I2CChip, Micros, to_code

HOT, COLD, STATUS, SENSOR, DEVICE, IDENTITY = 0x00, 0x02, 0x04, 0x05, 0x06, 0x20


class FakeMCP9600(I2CChip):
    """One chip; identity 0x40 (MCP9600) or 0x41 (MCP9601, which sees an open or shorted probe)."""

    conversion_us = 143_000  # 16 bits 80 ms (from memory), cold junction 63 ms
    faults = ("open", "short_ground") + I2CChip.faults[3:]
    width = {HOT: 2, COLD: 2, IDENTITY: 2}
    writable = (STATUS, SENSOR, DEVICE)

    def __init__(
        self, temperature_c: Celsius, junction_c: Celsius, now_us: Micros, identity: int = 0x40, **options: Any
    ) -> None:
        self.power_up = {IDENTITY: identity << 8 | 0x10}
        super().__init__(temperature_c, junction_c, now_us, **options)

    def load(self, hot_c: float, cold_c: float, status: int = 0x40) -> None:
        """Put a result into the registers: temperatures in °C; the cold junction in steps of 0.25 K."""
        self.words[HOT] = to_code(hot_c, 0.0625, 16)
        self.words[COLD] = to_code(round(cold_c * 4) / 4, 0.0625, 16)
        self.words[STATUS] = status

    def refresh(self) -> None:
        """A conversion that is due goes into the registers."""
        if not self.due():
            return
        hot, status = self.hot_c(), 0x40
        if self.words[IDENTITY] >> 8 == 0x41:
            status |= {"open": 0x10, "short_ground": 0x20}.get(self.fault or "", 0)
        elif self.fault in ("open", "short_ground"):
            hot = self.junction_c()  # no EMF: the chip shows its own temperature and says nothing
        self.load(hot, self.junction_c(), status)
