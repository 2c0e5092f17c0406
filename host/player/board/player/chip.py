"""One played probe chip: what it answers, how often and with how many clocks it was read."""

import rp2
from machine import Pin
from micropython import const

from player import pio

_HELD_MS = const(50)  # a select that stays low longer is no read: an unpowered board, a broken wire
_FRAME = const(32)


class Chip:
    """`pins` [select, clock, data]; `number` 0 or 1: which of each unit's state machines are its own."""

    def __init__(self, number, pins):
        self.select = Pin(pins[0], Pin.IN, Pin.PULL_UP)
        self.clock = Pin(pins[1], Pin.IN, Pin.PULL_DOWN)
        self.data = pins[2]
        self._answer_number = number
        self._count_number = 4 + number
        self.answering = None
        self.counting = None
        self.pending = None
        self.word = None
        self.reads = self.short = self.long = self.held = 0
        self._low_ms = 0

    def begin(self):
        """Answer from now on; `give` comes first, else zeros are answered."""
        data = Pin(self.data)
        self.answering = rp2.StateMachine(self._answer_number, pio.answer, in_base=self.select, jmp_pin=self.clock,
                                          out_base=data, set_base=data)  # fmt: skip
        self.counting = rp2.StateMachine(self._count_number, pio.count, in_base=self.select, jmp_pin=self.clock)
        self.answering.put(self.word or 0)
        self.answering.active(1)
        self.counting.active(1)

    def give(self, word):
        """The frame from the next selection on; None = silent: the data line is let go."""
        if word == self.word and self.answering is not None:
            return
        self.word = self.pending = word
        if word is None:
            self._quiet()
        elif self.answering is None:
            self.begin()
            self.pending = None

    def look(self, dt_ms):
        """Hand over what is pending, collect the counts, let go of a held line; after every pass of the loop."""
        self._low_ms = 0 if self.select.value() else self._low_ms + dt_ms
        if self.answering is not None:
            if self._low_ms > _HELD_MS:
                self.held += 1
                self._quiet()
            elif self.pending is not None and not self.answering.tx_fifo():  # one word at most waits: the newest
                self.answering.put(self.pending)
                self.pending = None
        elif self.word is not None and not self._low_ms:
            self.begin()
        while self.counting is not None and self.counting.rx_fifo():
            self._counted(self.counting.get())

    def _counted(self, clocks):
        self.reads += 1
        if clocks < _FRAME:
            self.short += 1
        elif clocks > _FRAME:
            self.long += 1

    def _quiet(self):
        if self.answering is not None:
            self.answering.active(0)
            self.answering = None
        Pin(self.data, Pin.IN, None)

    def end(self):
        """Nothing driven."""
        self.word = self.pending = None
        self._quiet()
        if self.counting is not None:
            self.counting.active(0)
            self.counting = None
