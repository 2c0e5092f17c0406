"""Runs on MicroPython: 2,000 looks at the contacts and 200 stops with the heap locked. Prints looks and stops."""

import micropython
from machine import LEVELS
from tizzone.board_io.heater import Heater
from tizzone.evening import sequence as S
from tizzone.link.acts import Acts
from tizzone.panel.panel import Panel


class Board:
    HEAT_TOP, HEAT_DECK, CONTACTOR, COOLING_FAN = 10, 11, 12, 13


class App:
    """As much of an App as stopping needs."""

    def __init__(self):
        self.heater = Heater(Board)
        self.sequence = S.Sequence(450000)
        self.out_pm = 0
        self.acts = Acts(self)


STOP = 26
BUS = {"i2c": 0, "sda": 0, "scl": 1}
SPEC = {"chip": "sh1106", "bus": BUS, "knob_a": 14, "knob_b": 15, "knob_push": 21, "stop": STOP}
app = App()
panel = Panel(app, SPEC, {})
LEVELS[STOP] = 0


def stopped():
    """Heat on, eight looks at rest, two with stop pressed: is the heat off?"""
    app.heater.top.set(1)
    app.heater.deck.set(1)
    looks = 0
    while looks < 8:
        panel.poll(5)
        looks += 1
    hot = LEVELS[10] and LEVELS[11]
    LEVELS[STOP] = 1
    panel.poll(5)
    panel.poll(5)
    LEVELS[STOP] = 0
    return hot and not LEVELS[10] and not LEVELS[11] and app.sequence.state == S.STOPPING


done = False
stops = 0
for _ in range(200):
    app.sequence.state = S.IDLE
    app.sequence.start(0)
    micropython.heap_lock()
    done = stopped()
    micropython.heap_unlock()
    stops += 1 if done else 0
    panel.poll(5)
print(200 * 10, stops)
