"""What a simulated board asks of the world that it is wired to, as types: see port.py for what each call means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol


class Wired(Protocol):
    """Whatever stands outside the board: the simulated oven (host/simulator), or a test's own."""

    now_us: int
    rx: bytearray
    orders: list[list[Any]]
    host_reading: bool

    def advance(self, dt_us: int, levels: Mapping[int, int], rose: int = 0) -> bool:
        """Let time pass; False if nothing but time has changed."""

    def level(self, pin: int) -> int | None:
        """0 where a closed contact pulls the pin to GND, None where nothing does."""

    def selects(self, bus: str) -> Sequence[int]:
        """The chip-select pins of a bus."""

    def transfer(self, bus: str, select: int, out: bytes | None, count: int) -> bytes:
        """What the chip that is selected shifts out."""

    def i2c(self, bus: str, address: int, out: bytes | None, count: int) -> bytes | None:
        """Write, then read; None when nothing acknowledges."""

    def analog(self, pin: int) -> int:
        """0..65535 of an analog input."""

    def serial_out(self, data: bytes) -> None:
        """The board sends."""
