"""An evening worked at the panel alone, on the simulated oven and real MicroPython: the pictures of the README.

python -m host.panel.evening [FOLDER]        writes FOLDER/panel-*.png
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from host import oven
from host.faults import library
from host.files.writing import write_bytes
from host.panel.hand import Hand
from host.panel.view import png
from host.simulator.rehearsal import Rehearsal

SETTINGS = {"soak_min": 20, "breads": 2}


def asks(evening: Rehearsal) -> bool:
    """Does the board ask for a person?"""
    told = [event["value"] for event in evening.events if event["kind"] == "warn"]
    return told[-1:] == ["attend-soon"]


def attended(evening: Rehearsal, hand: Hand, stage: str, most_s: int = 6000) -> None:
    """Until a stage, confirming presence at the knob whenever asked; RuntimeError if it does not come."""
    for _ in range(most_s):
        if evening.stage == stage:
            return
        if asks(evening):
            hand.push()
        evening.advance(1)
    raise RuntimeError(f"no stage {stage} within {most_s} s: {evening.state}, {evening.trip}")


def calm(evening: Rehearsal, hand: Hand, seconds: int) -> None:
    """Let time pass with the main page on the display and no question on it."""
    for _ in range(seconds):
        evening.advance(1)
        if asks(evening):
            hand.push()


def shown(
    runtime: str = "micropython", board: str = "boards/pico_panel.py", settings: Mapping[str, Any] | None = None
) -> Iterator[tuple[str, np.ndarray]]:
    """Yields (name, frame) of an evening from the first start to a stop, and of a probe that breaks after it."""
    with Rehearsal(oven.preset("standard"), board, settings or SETTINGS, cook=None, runtime=runtime) as evening:
        hand = Hand(evening)
        evening.advance(5)
        yield from shown_preheat(evening, hand)
        yield from shown_bake(evening, hand)
        yield from shown_end(evening, hand)


def shown_preheat(evening: Rehearsal, hand: Hand) -> Iterator[tuple[str, np.ndarray]]:
    """Menu, start, preheat, soak and the question whether anybody is there."""
    yield "idle", hand.image()
    hand.push()
    yield "menu", hand.image()
    hand.push()
    yield "start", hand.image()
    hand.turn(1)
    hand.push()
    calm(evening, hand, 120)
    yield "preheat", hand.image()
    hand.turn(-2)
    yield "handback", hand.image()
    hand.turn(2)
    attended(evening, hand, "soak")
    calm(evening, hand, 90)
    yield "soak", hand.image()
    hand.turn(1)
    yield "stone", hand.image()
    hand.turn(-1)
    while not asks(evening):
        evening.advance(1)
    evening.advance(1)
    yield "presence", hand.image()
    hand.push()


def shown_bake(evening: Rehearsal, hand: Hand) -> Iterator[tuple[str, np.ndarray]]:
    """A bread is laid, bakes, and the stone recovers."""
    attended(evening, hand, "load")
    evening.advance(2)
    yield "load", hand.image()
    evening.outside.door(8)
    evening.outside.load(90)
    evening.advance(2)
    yield "door", hand.image()
    evening.advance(8)
    hand.push()
    hand.push()
    calm(evening, hand, 30)
    yield "bake", hand.image()
    attended(evening, hand, "recover")
    yield "recover", hand.image()


def shown_end(evening: Rehearsal, hand: Hand) -> Iterator[tuple[str, np.ndarray]]:
    """Another setpoint, the stop button, what a start needs, and a trip."""
    hand.push()
    hand.turn(4)
    hand.push()
    hand.turn(-8, click_ms=80)
    yield "setpoint", hand.image()
    hand.press_stop()
    yield "stopped", hand.image()
    evening.outside.enable = False
    evening.advance(2)
    hand.turn(3)
    yield "needs", hand.image()
    evening.outside.enable = True
    library.known("dome_open").start(evening.outside)
    evening.advance(2)
    yield "trip", hand.image()
    evening.advance(4)
    yield "trip-act", hand.image()


def unplugged(runtime: str = "micropython", board: str = "boards/pico_panel.py") -> Iterator[tuple[str, np.ndarray]]:
    """The picture that tells a person to pull the plug: the contactor welds and is seen at the stop."""
    with Rehearsal(oven.preset("standard"), board, cook=None, runtime=runtime) as evening:
        hand = Hand(evening)
        evening.advance(5)
        evening.say("start")
        evening.advance(30)
        library.known("contactor_welded").start(evening.outside)
        evening.advance(1)
        hand.press_stop()
        evening.advance(5)
        yield "plug", hand.image()


def main(folder: Path) -> None:
    """Write every picture."""
    for name, frame in [*shown(), *unplugged()]:
        write_bytes(folder / f"panel-{name}.png", png(frame), makes_folder=True)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ".pictures"))
