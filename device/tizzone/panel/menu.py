"""What knob and push do: pages, menu, setpoint, two words about a bread. Every act goes through the same checked
commands as a line of the link; heat needs `start` and a second, different movement. The stop button is not here:
panel.py obeys it first.
"""

import gc

from micropython import const

from tizzone.evening import breads as R
from tizzone.evening import sequence as S
from tizzone.evening.cue import degrees, milli, shown
from tizzone.integers import aged
from tizzone.link import commands
from tizzone.panel import pages, screens
from tizzone.panel.canvas import BIG, TALL, UNDER
from tizzone.safety import limits as L

PAGE, LIST, CONFIRM, SETPOINT, VERDICT, NOTE = range(6)
_FORGET_MS = const(20_000)  # an open menu that nobody touches closes and nothing has changed
_NOTE_MS = const(8_000)
_PAGE_MS = const(30_000)
_ROWS = const(3)
LEAVE = "back"


def choices(app):
    """[(label, what it does)] that make sense now; the likeliest first, after a trip nothing but `back`."""
    seq, sup = app.sequence, app.supervisor
    found = []
    if seq.session:
        if seq.state == S.RUNNING and seq.stage in (S.LOAD, S.RECOVER, S.LIFT):
            found.append(("bread is in", "loaded"))
        if seq.state == S.HELD or seq.stage == S.REST:
            found.append(("resume", "resume"))
        found.append(("I am here", "present"))
        if seq.state == S.RUNNING:
            found.append(("hold", "hold"))
            if seq.rest_mc and seq.stage in (S.SOAK, S.LIFT, S.LOAD, S.RECOVER):
                found.append(("rest", "rest"))
        found.append(("stop", "stop"))
    elif sup.first_out != L.NONE:
        found.append((LEAVE, LEAVE))
    else:
        found.append(("start", "start"))
    if sup.first_out == L.NONE:
        found.append(("setpoint", "setpoint"))
    if app.evening.breads.count > app.evening.breads.open:
        found.append(("verdict", "verdict"))
    if not seq.session and seq.state in (S.STOPPED, S.COMPLETE):
        found.append(("to idle", "reset"))
    if sup.states.strip(b"\0"):
        found.append(("acknowledge", "acknowledge"))
    if sup.locked_out:
        found.append(("unlock", "unlock"))
    if found[0][1] != LEAVE:
        found.append((LEAVE, LEAVE))
    return found


class Menu:
    """Where a person is: `mode`, `page`, and what is being chosen."""

    def __init__(self):
        self.mode = PAGE
        self.page = pages.MAIN
        self.at = 0
        self.value = 0  # a setpoint in whole degrees as the cook reads them, °C or °F
        self.words = ()
        self.items = []
        self.title = ""
        self.lines = []
        self.still_ms = 0

    def home(self):
        """Back to the main page; nothing is taken."""
        self.mode = PAGE
        self.page = pages.MAIN

    def pass_ms(self, dt_ms):
        """Time without a touch: what is open closes by itself."""
        self.still_ms = aged(self.still_ms, dt_ms)
        long_ms = _NOTE_MS if self.mode == NOTE else _PAGE_MS if self.mode == PAGE else _FORGET_MS
        if self.still_ms >= long_ms:
            self.home()

    def turn(self, app, clicks):
        """The knob: `clicks` with their acceleration, which only the setpoint uses."""
        self.still_ms = 0
        step = 1 if clicks > 0 else -1
        if self.mode == PAGE:
            self.page = (self.page + step) % pages.PAGES
        elif self.mode == LIST:
            self.at = max(0, min(len(self.items) - 1, self.at + step))
        elif self.mode == CONFIRM:
            self.at = 1 if step > 0 else 0
        elif self.mode == SETPOINT:
            lowest, highest = _bounds(app)
            self.value = max(lowest, min(highest, self.value + clicks))
        elif self.mode == VERDICT:
            self.at = max(1, min(3, self.at + step))
        else:
            self.home()

    def push(self, app):
        """The knob's push."""
        self.still_ms = 0
        mode = self.mode
        if mode == PAGE:
            if self.page == pages.MAIN and screens.asks_presence(app):
                self._say(app, "present")
            else:
                self._open(LIST, 0)
                self.items = choices(app)
        elif mode == LIST:
            self._choose(app, self.items[self.at][1])
        elif mode == CONFIRM and self.at:
            self._say(app, "start")
        elif mode == SETPOINT and self.value != shown(app, app.sequence.setpoint_mc):
            self._say(app, "setpoint {:.3f}".format(milli(app, self.value) / 1000))
        elif mode == VERDICT:
            self.words += (R.WORDS[self.at],)
            self.at = 2
            if len(self.words) == 2:
                self._say(app, "verdict " + " ".join(self.words))
        else:
            self.home()

    def _open(self, mode, at):
        self.mode = mode
        self.at = at

    def _choose(self, app, what):
        if what == LEAVE:
            self.home()
        elif what == "start":
            if app.missing_permissives():
                self.page = pages.NEEDS  # by name, instead of a refusal
                self.mode = PAGE
            else:
                self._open(CONFIRM, 0)
        elif what == "setpoint":
            self._open(SETPOINT, 0)
            self.value = min(shown(app, app.sequence.setpoint_mc), _bounds(app)[1])
        elif what == "verdict":
            self._open(VERDICT, 2)
            self.words = ()
        else:
            self._say(app, what)

    def _say(self, app, line):
        """Carry out a line as the link would; a plain ok needs no words."""
        gc.collect()  # the picture leaves crumbs, and what a person asks for may need a block in one piece
        reply = commands.answer(app, line)
        self.home()
        if reply != "ok":
            self.mode = NOTE
            self.title = "done" if reply[:2] == "ok" else "NOT DONE"
            if reply[:12] == "ok setpoint_":  # the link speaks in Celsius
                reply = "ok setpoint " + degrees(app, app.sequence.setpoint_mc)
            self.lines = screens.wrapped(reply[3:].replace(",", ", "))

    # --- what it looks like --------------------------------------------------------------------------

    def bands(self, app, second):
        """Four bands of what a person sees now."""
        mode = self.mode
        if mode == PAGE and self.page == pages.MAIN:
            return pages.show(app, pages.MAIN, second)
        still_s = self.still_ms // 1000  # after a touch its title first
        if mode == PAGE:
            return pages.show(app, self.page, still_s)
        if mode == LIST:
            title, rows = "MENU {}/{}".format(self.at + 1, len(self.items)), self._list()
        elif mode == CONFIRM:
            goal = "heat to " + degrees(app, app.sequence.setpoint_mc) + "?"
            yes = "yes: go on now" if app.evening.interrupted else "yes: heat now"
            title, rows = "START HEAT?", ((TALL, goal, 0),) + self._marked(("no", yes), 0)
        elif mode == SETPOINT:
            now = "now " + degrees(app, app.sequence.setpoint_mc)
            big = "{:>3}|{}|max {}".format(self.value, now, degrees(app, app.supervisor.ceiling_mc))
            foot = "highest there is" if self.value == _bounds(app)[1] else "push to take"
            title, rows = "SETPOINT", ((BIG, big, 0), (UNDER, "", 0), (TALL, foot, 0))
        elif mode == VERDICT:
            title, rows = "BREAD: base?" if self.words else "BREAD: top?", self._marked(R.WORDS[1:], 1)
        else:
            first = still_s // screens.PAGE_S % ((len(self.lines) + 2) // 3) * 3
            title, rows = self.title, tuple([(TALL, line, 0) for line in (self.lines + ["", ""])[first : first + 3]])
        return (screens.turning(app, title, still_s),) + rows

    def _list(self):
        count = len(self.items)
        first = max(0, min(self.at - 1, count - _ROWS))
        return self._marked([item[0] for item in self.items[first : first + _ROWS]] + [""] * (_ROWS - count), first)

    def _marked(self, labels, first):
        marked = self.at - first
        return tuple([(TALL, _row(labels[i], i == marked), 1 if i == marked else 0) for i in range(len(labels))])


def _bounds(app):
    """(lowest, highest) setpoint in the cook's degrees; both lie within what the link accepts."""
    ceiling_mc = app.supervisor.ceiling_mc
    highest = shown(app, ceiling_mc)
    return shown(app, L.SETPOINT_MIN_MC), highest if milli(app, highest) <= ceiling_mc else highest - 1


def _row(label, is_marked):
    text = (">" if is_marked else " ") + label
    return text + " " * (screens.LETTERS - len(text))
