"""What a fault acts on, as a type: all that stands around the board (host/simulator/outside.py)."""

from __future__ import annotations

import random
from typing import Any, Protocol


class AroundTheBoard(Protocol):
    """Tips and chips of the probes, relays, contactor, plant, clock and serial line of a simulated board."""

    random: random.Random
    plant: Any
    now_us: int
    quiet_us: int
    rx: bytearray
    relays: list[Any]
    contactor: Any
    listeners: list[Any]
    probe_chips: dict[str, Any]
    tips: dict[str, Any]

    def clock_us(self) -> int:
        """Simulated time, us."""

    def at(self, us: int, thing: object, method: str, *arguments: Any) -> None:
        """Have a method of `thing` called at this time."""

    def tell(self, kind: str, text: str) -> None:
        """Note what has happened."""
