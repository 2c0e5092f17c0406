"""Relays, contactor and current sensors as the board's outputs have them, with what the laptop has broken in them.

Open drain throughout: a line is pulled low or let go. Modes come with every turn:
    relay     0 good, 1 welded, 2 never conducts, 3 half waves while on, 4 half waves while off
    sensor    0 follows, 1 wire cut, 2 short to GND
    contactor 0 good, 1 welded, 2 never closes;   mirror as sensor
"""

import rp2
from machine import Pin
from micropython import const

from player import pio

_MOVES_MS = const(20)  # contactor, both ways; common practice for small ones, no source
_MONOSTABLE_MS = const(600)
_CYCLES = const(40)  # of the pulse programs, a mains period
_NONE, _WHOLE, _HALF = const(0), const(1), const(2)
_FLOWS = ((_NONE, _WHOLE), (_WHOLE, _WHOLE), (_NONE, _NONE), (_NONE, _HALF), (_HALF, _WHOLE))  # [mode][commanded]


class Line:
    """One contact to GND: `pull(1)` closes it, `pull(0)` lets it go."""

    def __init__(self, number):
        self.number = number
        self.pin = Pin(number, Pin.IN, None)
        self.low = 0

    def pull(self, low):
        """Close or let go."""
        if low != self.low:
            self.low = low
            if low:
                self.pin.init(Pin.OUT, value=0)
            else:
                self.pin.init(Pin.IN, None)


class Sensor:
    """A current sensor's opto output: pulses while current flows. `unit`: its state machine."""

    def __init__(self, unit, number, mains_hz):
        self.line = Line(number)
        self._unit = unit
        self._hz = _CYCLES * mains_hz
        self._machine = None
        self.shown = -1  # waves that it shows; 3: held low

    def show(self, waves):
        """No waves, whole ones, half ones, or 3 for a wire that is short to GND."""
        if waves == self.shown:
            return
        self.shown = waves
        if self._machine is not None:
            self._machine.active(0)
            self._machine.exec(pio.LET_GO)
            self._machine = None
        self.line.low = 0
        self.line.pin.init(Pin.IN, None)
        if waves == 3:
            self.line.pull(1)
        elif waves:
            program = pio.whole_waves if waves == _WHOLE else pio.half_waves
            self._machine = rp2.StateMachine(self._unit, program, freq=self._hz, set_base=self.line.pin)
            self._machine.active(1)


class Mains:
    """`step` after every pass of the loop. `sensors`: {0 top, 1 deck: Sensor}, `mirror`: a Line or None, `at`: masks of
    the outputs for top, deck and contactor."""

    def __init__(self, sensors, mirror, is_pulsed, at):
        self.sensors = sensors
        self.mirror = mirror
        self.is_pulsed = is_pulsed
        self._top, self._deck, self._drive = at
        self.modes = [0] * 7
        self.closed = 0
        self._moves_ms = 0
        self._since_rise_ms = _MONOSTABLE_MS
        self._levels = -1
        self._is_new = True

    def use(self, modes):
        """Of a turn: relays top, deck; their sensors' wires; contactor; mirror; whether the rest of the coil's circuit
        is closed and there is mains."""
        if modes != self.modes:
            self.modes = modes
            self._is_new = True

    def step(self, dt_ms, levels, rose):
        """Levels of the board's outputs; `rose`: those that have risen since."""
        modes = self.modes
        asked = levels & self._drive
        if self.is_pulsed:
            self._since_rise_ms = 0 if rose & self._drive else min(_MONOSTABLE_MS, self._since_rise_ms + dt_ms)
            asked = self._since_rise_ms < _MONOSTABLE_MS
        want = 1 if asked and modes[6] and modes[4] != 2 or modes[4] == 1 else 0
        if want == self.closed:
            self._moves_ms = 0
        else:
            self._moves_ms += dt_ms
            if self._moves_ms >= _MOVES_MS or modes[4] == 1:
                self.closed, self._moves_ms = want, 0
                self._is_new = True
        if self._is_new or levels != self._levels:
            self._levels = levels
            self._is_new = False
            self._show(levels)

    def _show(self, levels):
        modes = self.modes
        if self.mirror is not None:
            wire = modes[5]
            self.mirror.pull(1 if wire == 2 or (wire == 0 and not self.closed) else 0)
        for zone in self.sensors:
            wire = modes[2 + zone]
            is_on = 1 if levels & (self._deck if zone else self._top) else 0
            waves = _FLOWS[modes[zone]][is_on] if self.closed and modes[6] else _NONE
            self.sensors[zone].show(3 if wire == 2 else _NONE if wire else waves)

    def end(self):
        """Nothing driven."""
        self.closed = 0
        for zone in self.sensors:
            self.sensors[zone].show(_NONE)
        if self.mirror is not None:
            self.mirror.pull(0)
