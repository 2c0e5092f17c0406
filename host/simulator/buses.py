"""The buses of the simulated board and the chips that sit on them: a part of outside.Outside.

Chips without registers hold a frame ready, converted at each step of the plant; others are asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

FRAME_BYTES = 4


class Buses:
    """Every bus of one board, empty at first."""

    def __init__(self) -> None:
        # chips: ("spi0", select pin) or ("i2c0", address); frames: what read-only chips hold ready
        self.analogs: dict[int, Callable[[], int]] = {}  # pin -> 0..65535
        self.chips: dict[tuple[str, int], Any] = {}
        self.frames: dict[tuple[str, int], bytes] = {}
        self._selects: dict[str, tuple[int, ...]] = {}

    def selects(self, bus: str) -> Sequence[int]:
        """The chip-select pins that are wired to a bus."""
        if bus not in self._selects:
            self._selects[bus] = tuple(key[1] for key in self.chips if key[0] == bus)
        return self._selects[bus]

    def transfer(self, bus: str, select: int, out: bytes | None, count: int) -> bytes:
        """One selection of an SPI chip: `out` (bytes or None) in, `count` bytes back."""
        if (bus, select) in self.frames:
            frame = self.frames[bus, select]
            return frame if count == FRAME_BYTES else frame[:count] + bytes(max(0, count - FRAME_BYTES))
        return self.chips[bus, select].transfer(out, count)

    def i2c(self, bus: str, address: int, out: bytes | None, count: int) -> bytes | None:
        """Write then read an I2C chip; None when nothing acknowledges."""
        chip = self.chips.get((bus, address))
        if chip is None:
            return None
        try:
            if out:
                chip.i2c_write(out)
            return chip.i2c_read(count) if count else b""
        except OSError:
            return None

    def analog(self, pin: int) -> int:
        """0..65535 of an analog input; 0 where nothing is wired."""
        return self.analogs[pin]() if pin in self.analogs else 0

    def add_chip(self, bus: str, select: int, chip: Any, is_read_only: bool = False) -> None:
        """Wire a chip; a read-only one holds a frame ready, converted at each step of the plant."""
        self.chips[bus, select] = chip
        self._selects.clear()
        if is_read_only:
            self.frames[bus, select] = chip.transfer(None, FRAME_BYTES)

    def refresh(self) -> None:
        """New answers of the read-only chips."""
        for key in self.frames:
            self.frames[key] = self.chips[key].transfer(None, FRAME_BYTES)
