"""One hand at the simulated panel: turns, pushes, presses stop, and looks at the display.

hand = Hand(rehearsal)
hand.push(); hand.turn(3); hand.press_stop(); hand.image()
"""

from __future__ import annotations

import numpy as np

from host.simulator.rehearsal import Rehearsal

CLICK_MS = 160  # from click to click of a hand that takes its time: no acceleration
PUSH_MS = 120
REFRESH_S = 1.0  # within this what a hand has done is on the glass
# Contacts (a, b) closed, through one click clockwise.
TURN = ((True, False), (True, True), (False, True), (False, False))


class Hand:
    """Works the contacts of a Rehearsal's PANEL; ValueError where the pin map has none."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        self.rehearsal = rehearsal
        self.outside = rehearsal.outside
        self.moved_us = {}  # when each contact last moved
        spec, display = getattr(rehearsal.pins, "PANEL", None), rehearsal.outside.display
        if not spec or display is None:
            raise ValueError(f"board {rehearsal.pins.NAME} has no PANEL")
        self.spec: dict[str, int] = spec
        self.display = display

    def close(self, name: str, is_closed: bool) -> None:
        """A contact of the panel, now."""
        self.outside.contacts.buttons[self.spec[name]] = is_closed
        self.moved_us[name] = self.outside.now_us
        self.outside.contacts.settle(self.outside)

    def later(self, ms: float, name: str, is_closed: bool) -> None:
        """The same in the middle of a tick: `ms` after the piece of time that the board has been promised unchanged."""
        from_us = max(self.outside.now_us, self.outside.quiet_us)
        self.outside.at(from_us + round(ms * 1000), self, "close", name, is_closed)

    def push(self, seconds: float = REFRESH_S) -> None:
        """Press the knob and let go; wait until the display has followed."""
        self.later(1, "knob_push", True)
        self.later(1 + PUSH_MS, "knob_push", False)
        self.rehearsal.advance(PUSH_MS / 1000 + seconds)

    def turn(self, clicks: int, click_ms: int = CLICK_MS, seconds: float = REFRESH_S) -> None:
        """Turn by so many clicks, clockwise if positive."""
        states = TURN if clicks > 0 else tuple((b, a) for a, b in TURN)
        at_ms = 1.0
        for _ in range(abs(clicks)):
            for a, b in states:
                self.later(at_ms, "knob_a", a)
                self.later(at_ms, "knob_b", b)
                at_ms += click_ms / 4
        self.rehearsal.advance(at_ms / 1000 + seconds)

    def press_stop(self, after_ms: float = 1.0, for_ms: float = 200.0, seconds: float = REFRESH_S) -> None:
        """Press stop (its contact opens) and let go again."""
        self.later(after_ms, "stop", False)
        self.later(after_ms + for_ms, "stop", True)
        self.rehearsal.advance((after_ms + for_ms) / 1000 + seconds)

    def image(self) -> np.ndarray:
        """What the glass shows: 64x128 booleans."""
        return self.display.image()
