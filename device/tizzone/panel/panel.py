"""The panel: a small display, a knob with push, and a stop button. Optional, and never part of the judgement.

    poll(ms)    every few milliseconds in the wait between two ticks: the stop button first of all, then the knob
    draw_piece()  one bounded piece of drawing or one page to the display, in the same wait
    tick(ms)    once a tick, after the pins are set: what is to be shown

Stop switches the heat pins off before anything else, in whatever is shown and even if the display is dead. An error of
bus or drawing never stops control: it is counted, and tried again after a while.
"""

import framebuf
from machine import I2C, Pin, SoftI2C
from micropython import const

from tizzone.evening.sequence import LOAD
from tizzone.integers import aged
from tizzone.panel import screens
from tizzone.panel.canvas import TALL, UNDER, Canvas
from tizzone.panel.display import PAGES, WIDTH, Oled
from tizzone.panel.knob import Knob, Push, StopButton
from tizzone.panel.menu import PAGE, Menu
from tizzone.safety import limits as L

_RETRY_MS = const(2_000)  # between two tries at a display that does not answer: a stuck bus can cost 50 ms each
_RENEW_MS = const(60_000)  # a display that has lost its settings to a disturbance gets them again
_BEAT_MS = const(1_000)
_BANDS = const(4)
_ADDRESS = const(0x3C)


def _contact(number):
    return None if number is None else Pin(number, Pin.IN, Pin.PULL_UP)


def _bus(bus, buses):
    """The display's own bus at 400 kHz, or the one of a probe as that probe needs it."""
    key = "i2c%d" % bus["i2c"] if "i2c" in bus else "i2c-%d" % bus["scl"]
    if key in buses:
        return buses[key][0]
    if "i2c" in bus:
        return I2C(bus["i2c"], scl=Pin(bus["scl"]), sda=Pin(bus["sda"]), freq=400_000)
    return SoftI2C(Pin(bus["scl"]), Pin(bus["sda"]), freq=400_000)


class Panel:
    """`spec`: PANEL of the pin map; `buses`: those that the probes have opened."""

    def __init__(self, app, spec, buses):
        self.app = app
        self.pixels = bytearray(PAGES * WIDTH)
        strip = bytearray(WIDTH)
        self.canvas = Canvas(
            self.pixels,
            framebuf.FrameBuffer(self.pixels, WIDTH, 8 * PAGES, framebuf.MONO_VLSB),
            strip,
            framebuf.FrameBuffer(strip, WIDTH, 8, framebuf.MONO_VLSB),
        )
        turned = spec.get("rotate", 0) == 180
        self.oled = Oled(
            _bus(spec["bus"], buses), spec.get("address", _ADDRESS), spec["chip"], self.pixels, turned,
            spec.get("contrast", 0x9F),
        )  # fmt: skip
        self._a, self._b = _contact(spec.get("knob_a")), _contact(spec.get("knob_b"))
        self._push = _contact(spec.get("knob_push"))
        self._stop = _contact(spec.get("stop"))
        self.knob = Knob()
        self.push = Push()
        self.stop = StopButton()
        self.stopping = 0
        self.menu = Menu()
        self.wanted = [(UNDER, "", 0)] * _BANDS
        self.shown = [None] * _BANDS
        self.pending = 0  # pages to be sent, a bit each
        self.ready = 0  # the display has its settings
        self.errors = 0  # of the bus
        self.fault = ""  # last error of drawing
        self._since_ms = _RETRY_MS
        self._beat_ms = 0
        self.second = 0
        self._stale = 1
        self._called = -1
        self._due = False

    # --- inputs ---------------------------------------------------------------------------------------

    def poll(self, ms):
        """Look at stop, push and knob; `ms` since the last look."""
        if self._stop is not None:
            self.stopping = self.stop.sense(self._stop.value())
            if self.stopping:
                self._obey_stop()
        if self._push is not None and self.push.sense(self._push.value(), ms) and not self.stopping:
            self.menu.push(self.app)
            self._stale = 1
        if self._a is not None and self._b is not None:
            clicks = self.knob.sense(self._a.value(), self._b.value(), ms)
            if clicks:
                self.menu.turn(self.app, clicks)
                self._stale = 1

    def _obey_stop(self):
        """As long as it is pressed: heat pins off, no evening, no menu."""
        self.app.acts.stop_now()
        self.menu.home()
        self._stale = 1

    # --- display --------------------------------------------------------------------------------------

    def tick(self, dt_ms):
        """Once a tick: time passes for the menu and for what alternates."""
        self._since_ms = aged(self._since_ms, dt_ms)
        self._beat_ms += min(dt_ms, _BEAT_MS)
        if self._beat_ms >= _BEAT_MS:
            self._beat_ms -= _BEAT_MS
            self.second = (self.second + 1) & 0xFFFF
        self.menu.pass_ms(dt_ms)
        called = self.app.supervisor.first_out + L.COUNT * (
            screens.asks_presence(self.app) + 2 * self.app.supervisor.pull_the_plug
        )
        if called != self._called:  # a trip or a question to the person: whatever is open gives way
            self._called = called
            self.second = 0  # a text of several pages begins with its first
            self.menu.home()
        due = self.app.sequence.stage == LOAD
        if due != self._due:  # a bread is due: the page that says so, unless somebody is choosing
            self._due = due
            if due and self.menu.mode == PAGE:
                self.menu.home()
        self._stale = 1

    def draw_piece(self):
        """One piece; call it again while there is time."""
        try:
            if not self.ready or self._since_ms >= _RENEW_MS:
                self._set_up()
            elif self.pending:
                self._send()
            elif self._stale:
                self._stale = 0
                self.wanted = self._with_beat(self.menu.bands(self.app, self.second))
            else:
                self._draw()
        except Exception as error:  # a fault of the picture must not end an evening: control goes on without it
            self.fault = repr(error)
            self.errors = aged(self.errors, 1)
            self.shown = [None] * _BANDS
            self.wanted = [(TALL, "panel fault", 1)] + [(TALL, "", 0)] * (_BANDS - 1)

    def _set_up(self):
        if self._since_ms >= _RETRY_MS:
            self._since_ms = 0
            if self._answered(self.oled.setup()):
                self.ready = 1
                self.pending = (1 << PAGES) - 1  # after an outage or a renewal everything is sent again

    def _send(self):
        """The lowest page that has changed."""
        page = 0
        while not self.pending >> page & 1:
            page += 1
        if self._answered(self.oled.send(page)):
            self.pending &= ~(1 << page)

    def _answered(self, done):
        """Note whether the display took it."""
        if not done:
            self.errors = aged(self.errors, 1)
            self.ready = 0
            self._since_ms = 0
        return done

    def _draw(self):
        """One band that is not yet as it is wanted."""
        for i in range(_BANDS):
            if self.wanted[i] != self.shown[i]:
                self.shown[i] = self.wanted[i]
                self.pending |= self.canvas.draw(i, self.wanted[i])
                return

    def _with_beat(self, bands):
        """The top line's last place blinks: a picture that stands still is a board that does."""
        kind, text, inverted = bands[0]
        if kind == TALL:
            text = text + " " * (screens.HEAD - len(text)) + ("*" if self.second & 1 else " ")
        return ((kind, text, inverted),) + tuple(bands[1:])
