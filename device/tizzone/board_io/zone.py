"""One relay: its pin, what it owes of the window, and whether the pin follows. Written by the heater alone."""

from machine import Pin

from tizzone.integers import CAP_MS


def output(number):
    """An output at its safe level, or None where it is not wired."""
    return None if number is None else Pin(number, Pin.OUT, value=0)


class Zone:
    """One relay and its part of the window."""

    def __init__(self, pin, from_start):
        self.pin = pin
        self.from_start = from_start  # on from the window's start, else up to its end
        self.on = 0
        self.want_pm = 0
        self.debt = 0  # undelivered heat, per mille x ms
        self.switchings = 0
        self.since_ms = CAP_MS  # since the last change
        self.closed = 0  # has had its share of this window

    def set(self, on):
        """Drive the pin; counts switchings."""
        if self.pin is None:
            on = 0
        if on != self.on:
            self.on = on
            self.since_ms = 0
            if on:
                self.switchings += 1
        if self.pin is not None:
            self.pin.value(on)

    def follows(self):
        """Does the pin read back what it was told?"""
        return self.pin is None or self.pin.value() == self.on
