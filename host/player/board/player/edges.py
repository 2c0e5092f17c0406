"""When the board's outputs moved: time and levels of each edge, in a ring that interrupts fill without allocating."""

import time
from array import array

import machine
from machine import Pin
from micropython import const

_SIO_IN = const(0xD0000004)  # RP2040 datasheet 2.3.1.7: GPIO_IN, one bit a pin, so below 2**30
_ROOM = const(64)


class Edges:
    """`reads`: GP numbers of the board's outputs; `select`: that of the dome's chip select; `pulsed`: that of an output
    whose rising edges count by themselves, -1 if none."""

    def __init__(self, reads, select, pulsed=-1):
        self.mask = 0
        for number in reads:
            self.mask |= 1 << number
        self._times = array("i", [0] * _ROOM)
        self._levels = array("i", [0] * _ROOM)
        self._ticks = array("i", [0] * _ROOM)
        self._head = self._tail = self._tick_head = self._tick_tail = 0
        self.lost = 0
        self.rose = 0  # pins that have risen since the last `take_rose`
        self.levels = machine.mem32[_SIO_IN] & self.mask
        self._pins = []
        self._pulsed = 1 << pulsed if pulsed >= 0 else 0
        edge, pulse = self._edge, self._pulse
        both = Pin.IRQ_RISING | Pin.IRQ_FALLING
        for number in reads:
            if number == pulsed:
                self._watch(Pin(number, Pin.IN, Pin.PULL_DOWN), pulse, Pin.IRQ_RISING)
            else:
                self._watch(Pin(number, Pin.IN, Pin.PULL_DOWN), edge, both)
        self._watch(Pin(select, Pin.IN, Pin.PULL_UP), self._tick, Pin.IRQ_FALLING)

    def _watch(self, pin, handler, trigger):
        pin.irq(handler=handler, trigger=trigger, hard=True)
        self._pins.append(pin)

    def _pulse(self, pin):
        self.rose |= self._pulsed  # its low is shorter than the way to here: the levels may show nothing
        self._edge(pin)

    def _edge(self, _pin):
        self.note(time.ticks_us(), machine.mem32[_SIO_IN] & self.mask)

    def note(self, now_us, levels):
        """Levels at a time, if they are new."""
        if levels == self.levels:
            return
        self.rose |= levels & ~self.levels
        self.levels = levels
        head = (self._head + 1) % _ROOM
        if head == self._tail:
            self.lost += 1
            return
        self._times[self._head] = now_us
        self._levels[self._head] = levels
        self._head = head

    def _tick(self, _pin):
        head = (self._tick_head + 1) % _ROOM
        if head != self._tick_tail:
            self._ticks[self._tick_head] = time.ticks_us()
            self._tick_head = head

    def sample(self):
        """The levels as they are: for what no interrupt has told. None may come between look and note: it would tell
        the newer levels first."""
        if machine.mem32[_SIO_IN] & self.mask != self.levels:
            state = machine.disable_irq()
            self._edge(None)
            machine.enable_irq(state)

    def take_rose(self):
        """Pins that have risen since the last call."""
        state = machine.disable_irq()
        rose, self.rose = self.rose, 0
        machine.enable_irq(state)
        return rose

    def take(self, most):
        """ "us:levels ..." of the oldest edges in hex, at most so many."""
        parts = []
        while self._tail != self._head and len(parts) < most:
            parts.append("%x:%x" % (self._times[self._tail], self._levels[self._tail]))
            self._tail = (self._tail + 1) % _ROOM
        return ",".join(parts) or "-"

    def take_ticks(self, most):
        """Times at which the dome's chip was selected, us in hex."""
        parts = []
        while self._tick_tail != self._tick_head and len(parts) < most:
            parts.append("%x" % self._ticks[self._tick_tail])
            self._tick_tail = (self._tick_tail + 1) % _ROOM
        return ",".join(parts) or "-"

    def end(self):
        """No interrupts any more."""
        for pin in self._pins:
            pin.irq(handler=None)
