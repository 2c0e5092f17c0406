"""What knob and push do: pages, menu, setpoint, two words about a bread. Every act goes through the same checked
commands as a line of the link; heat needs `start` and a second, different movement. The stop button is not here:
panel.py obeys it first.
"""

import gc

from tizzone.evening import breads as R
from tizzone.evening import sequence as S
from tizzone.evening.cue import degrees, shown
from tizzone.integers import aged
from tizzone.link import commands
from tizzone.panel import pages, screens
from tizzone.panel.canvas import BIG, TALL, UNDER
from tizzone.safety import limits as L

PAGE, LIST, CONFIRM, SETPOINT, VERDICT, NOTE = range(6)
MODES = ("page", "list", "confirm", "setpoint", "verdict", "note")
FORGET_MS = 20_000  # an open menu that nobody touches closes and nothing has changed
NOTE_MS = 6_000
PAGE_MS = 30_000
ROWS = 3
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
        self.value_c = 0
        self.words = ()
        self.items = []
        self.lines = []
        self.still_ms = 0

    def home(self):
        """Back to the main page; nothing is taken."""
        self.mode = PAGE
        self.page = pages.MAIN

    def pass_ms(self, dt_ms):
        """Time without a touch: what is open closes by itself."""
        self.still_ms = aged(self.still_ms, dt_ms)
        long_ms = NOTE_MS if self.mode == NOTE else PAGE_MS if self.mode == PAGE else FORGET_MS
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
            highest_c = app.supervisor.ceiling_mc // 1000
            self.value_c = max(L.SETPOINT_MIN_MC // 1000, min(highest_c, self.value_c + clicks))
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
        elif mode == SETPOINT and self.value_c != app.sequence.setpoint_mc // 1000:
            self._say(app, "setpoint " + str(self.value_c))
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
            self.value_c = min(app.sequence.setpoint_mc, app.supervisor.ceiling_mc) // 1000
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
            self.lines = screens.wrapped(reply[3:].replace(",", ", "))
            self.lines[:0] = ["done:"] if reply[:2] == "ok" else ["NOT DONE:"]

    # --- what it looks like --------------------------------------------------------------------------

    def bands(self, app, second):
        """Four bands of what a person sees now."""
        mode = self.mode
        if mode == PAGE:
            return pages.show(app, self.page, second)
        if mode == LIST:
            return self._list()
        if mode == CONFIRM:
            goal = "to " + degrees(app, app.sequence.setpoint_mc) + (", go on" if app.evening.interrupted else "")
            return (screens.head_line("START HEAT?", ""), (TALL, goal, 0)) + self._marked(("no", "yes"), 0)
        if mode == SETPOINT:
            highest_c = app.supervisor.ceiling_mc // 1000
            now = "now " + degrees(app, app.sequence.setpoint_mc)
            big = "{:>3}|{}|max {}".format(shown(app, self.value_c * 1000), now, degrees(app, highest_c * 1000))
            foot = "highest there is" if self.value_c == highest_c else "push to take"
            return (screens.head_line("SETPOINT", ""), (BIG, big, 0), (UNDER, "", 0), (TALL, foot, 0))
        if mode == VERDICT:
            ask = "BREAD: top?" if not self.words else "BREAD: base?"
            return (screens.head_line(ask, ""),) + self._marked(R.WORDS[1:], 1)
        first = second // screens.PAGE_S % ((len(self.lines) + 3) // 4) * 4
        lines = (self.lines + ["", "", ""])[first : first + 4]
        return tuple([(TALL, line, 0) for line in lines])

    def _list(self):
        count = len(self.items)
        first = max(0, min(self.at - 1, count - ROWS))
        labels = [item[0] for item in self.items[first : first + ROWS]] + [""] * (ROWS - count)
        place = "{}/{}".format(self.at + 1, count)
        return (screens.head_line("MENU", place),) + self._marked(labels, first)

    def _marked(self, labels, first):
        marked = self.at - first
        return tuple([(TALL, _row(labels[i], i == marked), 1 if i == marked else 0) for i in range(len(labels))])


def _row(label, is_marked):
    text = (">" if is_marked else " ") + label
    return text + " " * (screens.LETTERS - len(text))
