"""Keys of the live view. `Keys.press(character)` makes orders of them; what can start heat is asked back once."""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, TextIO

from host.runs.notes import LONGEST

if TYPE_CHECKING:
    from host.watch.watcher import Watcher


HELP = (
    "s start  x STOP  a acknowledge  p present  l loaded  h hold  r resume  q quit\n"
    "+ - setpoint by 5 degrees  t type a setpoint  o spot reading  w word about a bread\n"
    "z rest  e set an ended evening back  u unlock  L learn  n note"
)
ACTS = {
    "x": "stop", " ": "stop", "a": "acknowledge", "p": "present", "l": "loaded", "h": "hold",
    "z": "rest", "e": "reset", "u": "unlock",
}  # fmt: skip
ASKED = {"s": "start", "r": "resume", "L": "learn start"}  # these bring heat: y confirms
STEP = 5  # degrees, °C or °F
# While a note is typed, x and the space bar are letters: twice in a row they stop, and Ctrl-X at once.
NOTE_ASK = "note (STOP: Ctrl-X, x x or space space; Esc drops it, Enter keeps it): "
CTRL_X = "\x18"
NOTE_S = 30.0  # without a key for so long the note is dropped, and one x stops again
WORDS = {"1": "pale", "2": "right", "3": "dark"}
# Keys after which digits are typed, so that x and the space bar stop at every moment: (question, how many, the line).
TYPED = {
    "t": ("setpoint in °{}, then Enter: ", 3, lambda digits, unit: f"setpoint {celsius(digits, unit)}"),
    "o": (
        "bare stone by the hand-held thermometer, °{}, then Enter: ", 4,
        lambda digits, unit: f"spot {celsius(digits, unit)}",
    ),
    "w": (
        "the bread's top, then its base: 1 pale 2 right 3 dark, then Enter: ", 2,
        lambda digits, _: words_line(digits),
    ),
}  # fmt: skip


def celsius(digits: str, unit: str) -> str:
    """Whole degrees as typed, in °C for the link: `450` of 450 °C, `449.444` of 841 °F."""
    return digits if unit != "F" else f"{(int(digits) - 32) / 1.8 + 0.0005:.3f}"


def words_line(digits: str) -> str:
    """The line of two digits 1 to 3; "" for anything else."""
    return f"verdict {WORDS[digits[0]]} {WORDS[digits[1]]}" if len(digits) == 2 and set(digits) <= set(WORDS) else ""


class Keys:
    """State of the keyboard: `prompt` is what is shown, `quit` that q was pressed."""

    def __init__(self, watcher: Watcher, clock: Callable[[], float] = time.monotonic) -> None:
        self.watcher = watcher
        self._clock = clock
        self._note: str | None = None  # as far as it is typed
        self._pressed_s = 0.0
        self.prompt = ""
        self.quit = False
        self._pending: str | None = None  # "start", "resume" or the digits typed so far (after "t")
        self._digits: str | None = None
        self._purpose = "t"

    def press(self, key: str) -> None:
        """One character."""
        if self._note is not None and self._noted(key):
            return
        if key in ("x", "X", " ", CTRL_X):  # stop works whatever is being typed
            self._clear()
            self.watcher.order("stop")
        elif self._digits is not None:
            self._typed(key)
        elif self._pending is not None:
            pending = self._pending
            self._clear()
            if key in ("y", "Y"):
                self.watcher.order(pending)
        elif key == "q":
            self.quit = True
        elif key in ACTS:
            self.watcher.order(ACTS[key])
        elif key in ASKED:
            self._pending = ASKED[key]
            self.prompt = f"{self._pending}: heat follows. Is somebody with the oven? y confirms, any other key cancels"
        elif key in ("+", "-"):
            self._step(STEP if key == "+" else -STEP)
        elif key == "n":
            self._note, self._pressed_s, self.prompt = "", self._clock(), NOTE_ASK
        elif key in TYPED:
            self._digits, self._purpose = "", key
            self.prompt = TYPED[key][0].format(self._unit)

    def _noted(self, key):
        """A key of a note; False where it is a stop."""
        before_s, self._pressed_s = self._pressed_s, self._clock()
        is_late = self._pressed_s - before_s > NOTE_S
        if key == CTRL_X or (key in "xX " and (is_late or self._note[-1:] == key)):
            self._clear()
            return False
        if is_late or key == "\x1b":  # a key of a forgotten note is no command
            self._clear()
            return True
        if key in ("\r", "\n"):
            text = self._note
            self._clear()
            self.watcher.note(text)
            return True
        self._note = self._note[:-1] if key in ("\x7f", "\b") else (self._note + key)[:LONGEST]
        self.prompt = NOTE_ASK + self._note
        return True

    def _typed(self, key):
        question, most, line = TYPED[self._purpose]
        question = question.format(self._unit)
        if key.isdigit() and len(self._digits) < most:
            self._digits += key
            self.prompt = question + self._digits
        elif key in ("\r", "\n"):
            digits = self._digits
            self._clear()
            if digits and line(digits, self._unit):
                self.watcher.order(line(digits, self._unit))
        elif key in ("\x7f", "\b"):
            self._digits = self._digits[:-1]
            self.prompt = question + self._digits
        else:
            self._clear()

    @property
    def _unit(self):
        cue = self.watcher.view.get("cue")
        return cue["unit"] if cue else "C"

    def _step(self, by):
        status = self.watcher.view["status"]
        if status and status["setpoint_c"] is not None:
            shown = status["setpoint_c"] * 1.8 + 32 if self._unit == "F" else status["setpoint_c"]
            self.watcher.order(f"setpoint {celsius(str(round(shown) + by), self._unit)}")

    def _clear(self):
        self._pending = self._digits = self._note = None
        self.prompt = ""


class Keyboard:
    """Characters as they are pressed, without waiting; on a terminal of POSIX or Windows, nothing elsewhere."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream or sys.stdin
        self._old = None

    def __enter__(self):
        if os.name == "posix" and self.stream.isatty():
            import termios
            import tty

            self._old = termios.tcgetattr(self.stream)
            tty.setcbreak(self.stream)
        return self

    def __exit__(self, *exception):
        if self._old is not None:
            import termios

            termios.tcsetattr(self.stream, termios.TCSADRAIN, self._old)

    def read(self) -> str:
        """What was pressed since the last call, "" if nothing."""
        if os.name == "nt":
            import msvcrt

            pressed = ""
            while msvcrt.kbhit():  # type: ignore[attr-defined]  # on Windows
                pressed += msvcrt.getwch()  # type: ignore[attr-defined]
            return pressed
        if self._old is None or not select.select([self.stream], [], [], 0)[0]:
            return ""
        return os.read(self.stream.fileno(), 64).decode("utf-8", "ignore")
