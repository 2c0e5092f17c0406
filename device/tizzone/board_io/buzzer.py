"""Buzzer and lamp: optional outputs BUZZER and LED of the pin map, active high, in beats of one tick. Never heat.

One long row of beats at the bake's end, two short ones when a bread is due, slow beats while something has tripped,
from its start on where the board boots tripped.
The lamp: steady while heat is permitted, blinking while a person is awaited.
"""

from machine import Pin
from micropython import const

SILENT, SOON, DUE, DONE, TRIPPED = range(5)
# beats on, beats off, how often (0 = until replaced)
PATTERNS = ((0, 1, 1), (1, 1, 1), (1, 1, 2), (3, 1, 4), (2, 14, 0))
_BLINK = const(2)


class Buzzer:
    """Drives the pins of buzzer and lamp, or neither."""

    def __init__(self, board):
        self.buzzer = _output(getattr(board, "BUZZER", None))
        self.led = _output(getattr(board, "LED", None))
        self.playing = SILENT
        self.beat = 0
        self.blink = 0

    def play(self, pattern):
        """Begin a pattern; one that lasts until replaced goes on."""
        if pattern != self.playing or PATTERNS[pattern][2]:
            self.playing = pattern
            self.beat = 0

    def tick(self, permitted, awaited):
        """One tick."""
        on, off, times = PATTERNS[self.playing]
        span = on + off
        sound = 1 if self.beat % span < on else 0
        self.beat += 1
        if times and self.beat >= span * times:
            self.playing = SILENT
            self.beat = 0
        elif not times and self.beat >= span:
            self.beat = 0
        if self.buzzer is not None:
            self.buzzer.value(sound)
        self.blink = (self.blink + 1) % (2 * _BLINK)
        if self.led is not None:
            self.led.value((1 if self.blink < _BLINK else 0) if awaited else permitted)


def alarm(board):
    """The program ends on a fault: a sound without a pause, until the watchdog restarts the board, which then beeps as
    tripped; or, where it had not begun, until somebody comes."""
    pin = _output(getattr(board, "BUZZER", None))
    if pin is not None:
        pin.value(1)


def _output(number):
    return None if number is None else Pin(number, Pin.OUT, value=0)
