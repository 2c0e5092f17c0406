"""Contacts of the panel, polled every few milliseconds: a knob with two contacts, its push, and the stop button.

No interrupt: what a person turns may come late, control may not. Time comes as the milliseconds since the last poll.
"""

from micropython import const

from tizzone.integers import CAP_MS, aged

_PUSH_MS = const(15)  # longer than a contact bounces; house
_FAST_MS = const(45)  # from click to click: ten steps a click
_BRISK_MS = const(110)  # five
FAST, BRISK = 10, 5


class Knob:
    """Quadrature contacts that both rest open at a click, as is common (no source).

    A click counts when the contacts are back at rest after they have gone round one way; what only bounced to and fro
    counts nothing, and one state that was missed between two polls does not matter.
    """

    def __init__(self):
        self._first = 0  # the side that closed first: 1 = a, 2 = b
        self._last = 0
        self._both = 0
        self._still_ms = CAP_MS
        self._way = 0

    def sense(self, a, b, ms):
        """Levels (0 = closed) of one poll; returns clicks: 0, or +1 / -1 times the acceleration."""
        self._still_ms = aged(self._still_ms, ms)
        if not a and not b:
            self._both = 1
            return 0
        if not a or not b:
            side = 1 if not a else 2
            if self._both:
                self._last = side
            elif not self._first:
                self._first = side
            elif side != self._first:
                self._last = side
            return 0
        first, last, both = self._first, self._last, self._both
        self._first = self._last = self._both = 0
        if first and last != first and (last or both):
            return self._click(first)
        if both and last and not first:  # the first of the sides was missed
            return self._click(3 - last)
        return 0

    def _click(self, first):
        way = 1 if first == 1 else -1
        still_ms, self._still_ms = self._still_ms, 0
        again = way == self._way  # after a change of direction one click is one step
        self._way = way
        return way * (FAST if again and still_ms < _FAST_MS else BRISK if again and still_ms < _BRISK_MS else 1)


class Push:
    """A push button, closed while pressed."""

    def __init__(self):
        self._closed_ms = 0
        self._taken = 1  # until it has been seen released: a button that is stuck at power-up presses nothing
        self._open_ms = 0

    def sense(self, level, ms):
        """Level (0 = closed) of one poll; returns 1 once for each press."""
        if level:
            self._closed_ms = 0
            self._open_ms = aged(self._open_ms, ms)
            if self._open_ms >= _PUSH_MS:
                self._taken = 0
            return 0
        self._open_ms = 0
        self._closed_ms = aged(self._closed_ms, ms)
        if self._taken or self._closed_ms < _PUSH_MS:
            return 0
        self._taken = 1
        return 1


class StopButton:
    """Closed at rest, open while pressed: a broken wire stops. Two polls in a row are believed."""

    def __init__(self):
        self._open = 0

    def sense(self, level):
        """Level (0 = closed) of one poll; returns 1 as long as stop is asked for."""
        self._open = min(self._open + 1, 2) if level else 0
        return 1 if self._open >= 2 else 0
