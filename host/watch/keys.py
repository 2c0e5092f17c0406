"""Keys of the live view. `Keys.press(character)` makes orders of them; what can start heat is asked back once."""

from __future__ import annotations

import os
import select
import sys
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from host.watch.watcher import Watcher


HELP = (
    "s start  x STOP  a acknowledge  p present  l loaded  h hold  r resume  q quit\n"
    "+ - setpoint 5 K  t type a setpoint  o spot reading  w word about a bread\n"
    "z rest  e set an ended evening back  u unlock  L learn"
)
ACTS = {
    "x": "stop", " ": "stop", "a": "acknowledge", "p": "present", "l": "loaded", "h": "hold",
    "z": "rest", "e": "reset", "u": "unlock",
}  # fmt: skip
ASKED = {"s": "start", "r": "resume", "L": "learn start"}  # these bring heat: y confirms
STEP_K = 5
WORDS = {"1": "pale", "2": "right", "3": "dark"}
# Keys after which digits are typed, so that x and the space bar stop at every moment: (question, how many, the line).
TYPED = {
    "t": ("setpoint in °C, then Enter: ", 3, lambda digits: f"setpoint {digits}"),
    "o": ("bare stone by the hand-held thermometer, °C, then Enter: ", 3, lambda digits: f"spot {digits}"),
    "w": ("the bread's top, then its base: 1 pale 2 right 3 dark, then Enter: ", 2, lambda digits: words_line(digits)),
}


def words_line(digits: str) -> str:
    """The line of two digits 1 to 3; "" for anything else."""
    return f"verdict {WORDS[digits[0]]} {WORDS[digits[1]]}" if len(digits) == 2 and set(digits) <= set(WORDS) else ""


class Keys:
    """State of the keyboard: `prompt` is what is shown, `quit` that q was pressed."""

    def __init__(self, watcher: Watcher) -> None:
        self.watcher = watcher
        self.prompt = ""
        self.quit = False
        self._pending: str | None = None  # "start", "resume" or the digits typed so far (after "t")
        self._digits: str | None = None
        self._purpose = "t"

    def press(self, key: str) -> None:
        """One character."""
        if key in ("x", " "):  # stop works whatever is being typed
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
            self._step(STEP_K if key == "+" else -STEP_K)
        elif key in TYPED:
            self._digits, self._purpose = "", key
            self.prompt = TYPED[key][0]

    def _typed(self, key):
        question, most, line = TYPED[self._purpose]
        if key.isdigit() and len(self._digits) < most:
            self._digits += key
            self.prompt = question + self._digits
        elif key in ("\r", "\n"):
            digits = self._digits
            self._clear()
            if digits and line(digits):
                self.watcher.order(line(digits))
        elif key in ("\x7f", "\b"):
            self._digits = self._digits[:-1]
            self.prompt = question + self._digits
        else:
            self._clear()

    def _step(self, kelvin):
        status = self.watcher.view["status"]
        if status and status["setpoint_c"] is not None:
            self.watcher.order(f"setpoint {round(status['setpoint_c']) + kelvin}")

    def _clear(self):
        self._pending = self._digits = None
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
        return os.read(self.stream.fileno(), 64).decode("ascii", "ignore")
