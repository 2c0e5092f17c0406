"""Contacts and currents that the board senses. Reads pins only; decides nothing.

Every contact closes to GND against the internal pull-up: level 0 = good; a broken wire reads 1 = not good. A name that
the pin map lacks stays at 'good' (contacts) or 'not wired' (-1).
"""

import time

from machine import Pin
from micropython import const

# A current sensor's opto output is low while current flows. Four samples a quarter of a mains period apart: full
# waves show in two opposite samples (at most one pair can fall on the zero crossings), half waves never do.
_SAMPLES = const(4)
_QUARTERS = const(250_000)  # us x Hz: a quarter of one period


def _input(number):
    return None if number is None else Pin(number, Pin.IN, Pin.PULL_UP)


def jumper(board):
    """Does the MAINTENANCE jumper hold the board at its prompt?"""
    pin = _input(getattr(board, "MAINTENANCE", None))
    return pin is not None and pin.value() == 0


class Contacts:
    """All sensed inputs of one board. Currents take three quarters of a mains period to see: `sample()` does that in
    the wait before the tick, `sense()` is the tick's part."""

    def __init__(self, board, mains_hz=50):
        self.quarter_us = _QUARTERS // mains_hz
        self.enable = _input(getattr(board, "ENABLE", None))
        self.limit_ok = _input(getattr(board, "LIMIT_OK", None))
        self.selector = _input(getattr(board, "SELECTOR", None))
        self.fan_ok = _input(getattr(board, "FAN_OK", None))
        self.door = _input(getattr(board, "DOOR", None))
        self.mirror = _input(getattr(board, "CONTACTOR_OPEN", None))
        self.top = _input(getattr(board, "MAINS_SENSE_TOP", None))
        self.deck = _input(getattr(board, "MAINS_SENSE_DECK", None))
        wired = self.top is not None or self.deck is not None
        self.sampling_ms = (_SAMPLES - 1) * self.quarter_us // 1000 if wired else 0  # that sample() takes
        self._top_bits = self._deck_bits = self._mirror_high = 0  # a bit a sample; in how many samples it was high
        self._sampled = 0  # the samples of this tick are there

    def sample(self, panel=None):
        """Look at the currents; takes 15 ms (50 Hz) of waiting where one is sensed, else no time. Allocates nothing.
        A panel is polled meanwhile."""
        if not self.sampling_ms:
            return
        top = deck = mirror = taken = 0
        due_us = time.ticks_us()
        while True:
            if self.top is not None:
                top = (top << 1) | (1 - self.top.value())
            if self.deck is not None:
                deck = (deck << 1) | (1 - self.deck.value())
            if self.mirror is not None:
                mirror += self.mirror.value()
            taken += 1
            if taken >= _SAMPLES:
                break
            due_us = time.ticks_add(due_us, self.quarter_us)
            if panel is not None:
                panel.poll(self.quarter_us // 1000)
            left_us = time.ticks_diff(due_us, time.ticks_us())
            if left_us > 0:
                time.sleep_us(left_us)
        self._top_bits = top
        self._deck_bits = deck
        self._mirror_high = mirror
        self._sampled = 1

    def sense(self, seen):
        """Fill `seen` with the contacts as they are now and the currents of the samples just taken; takes them now if
        nobody has. Allocates nothing."""
        if not self._sampled:
            self.sample()
        self._sampled = 0
        seen.enable = self._good(self.enable)
        seen.limit_ok = self._good(self.limit_ok)
        seen.selector_ours = self._good(self.selector)
        seen.fan_ok = self._good(self.fan_ok)
        seen.door_shut = self._good(self.door)
        if self.mirror is not None:
            seen.mirror_open = 1 - self.mirror.value()
            # It was both within these samples and now: a contactor that does not stay where it is.
            steady = _SAMPLES if seen.mirror_open == 0 else 0
            seen.mirror_bounced = 1 if self.sampling_ms and self._mirror_high != steady else 0
        if self.top is not None:
            seen.top_sense = self._current(self._top_bits)
        if self.deck is not None:
            seen.deck_sense = self._current(self._deck_bits)

    def _good(self, pin):
        return 1 if pin is None or pin.value() == 0 else 0

    def _current(self, samples):
        """0 none, 1 half waves, 2 full; the opposite of sample k is sample k + 2."""
        if samples & (samples >> 2) & 3:
            return 2
        return 1 if samples else 0
