"""A board beside which nothing is wired: for its store, its memory and single parts of the program by themselves."""

from __future__ import annotations

from collections.abc import Mapping


class Dark:
    """What Port asks of the outside, where there is none."""

    def __init__(self) -> None:
        self.rx = bytearray()
        self.orders: list[list[object]] = []

    def advance(self, dt_us: int, levels: Mapping[int, int], rose: int = 0) -> None:
        """Time passes."""

    def level(self, pin: int) -> None:
        """Open: nothing pulls the pin."""

    def selects(self, bus: int) -> tuple[int, ...]:
        """No chips."""
        return ()
