"""The way in: get a board to its prompt with nothing armed, and only a board whose heat is off and whose dome is known
to be below 80 °C.

1. The program answers: link command `maintenance`, which stores a flag and restarts into a board that arms nothing.
   It answers from its first tick on, three seconds before it arms the watchdog: a program that hangs later and is
   restarted by its watchdog again and again is caught there.
2. The prompt answers (stopped, never loaded, cut off in a load, jumper fitted): flag, restart, so that no watchdog
   runs. A program that was stopped is started once more and asked, since only it knows how hot the dome is.
3. Nothing answers: Ctrl-C now and then, and on with 1 and 2.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from host.deploy import DeployError
from host.deploy.plan import FLAG, LAST
from host.link import LinkLost

if TYPE_CHECKING:
    from host.deploy.line import Line


HOT_MC = 80_000
COLD_OPTION = "--oven-is-cold"

FACTS = f"""
import os
def _there(n):
    try:
        os.stat(n)
        return 1
    except OSError:
        return 0
_j = 0
try:
    import board
    from machine import Pin
    if getattr(board, "MAINTENANCE", None) is not None:
        _j = 1 - Pin(board.MAINTENANCE, Pin.IN, Pin.PULL_UP).value()
except (ImportError, ValueError, TypeError, SyntaxError, AttributeError):
    pass
print(_there({FLAG!r}), _there({LAST!r}), _j)
"""
SET_FLAG = f"""
with open({FLAG!r}, "wb") as _f:
    _f.write(b"1")
"""
PLAN_RESET = """
try:
    from tizzone.memory.memory import Memory
    Memory().expect_reset()
except (ImportError, AttributeError, OSError, SyntaxError, MemoryError):
    pass
"""


def fields(reply: str) -> dict[str, str]:
    """{"state": "idle", ...} of a reply "ok state=idle ..."."""
    return dict(word.split("=", 1) for word in reply.split() if "=" in word)


def refuse_unless_cold(reply: str) -> None:
    """DeployError unless this status says: no evening, no heat, dome below 80 °C."""
    now = fields(reply)
    if any(now.get(name, "1") != "0" for name in ("top", "deck", "permit", "contactor")):
        raise DeployError("heat is on: end the evening first (link command stop) and let the oven cool")
    if now.get("state") in ("running", "holding", "held", "stopping"):
        raise DeployError(f"an evening is on ({now['state']}): end it first and let the oven cool below 80 °C")
    try:
        dome_mc = int(now["pv_mc"])
    except (KeyError, ValueError):
        raise DeployError("the board does not tell the dome's temperature") from None
    if dome_mc >= HOT_MC and "armed" not in now.get("missing", "").split(","):
        raise DeployError(f"the dome has {dome_mc // 1000} °C: the fan must run on; load the board below 80 °C")


def board_facts(line: Line) -> dict[str, int]:
    """{"flag", "program", "jumper"}: 0 or 1, of a board at its raw prompt."""
    return dict(zip(("flag", "program", "jumper"), map(int, line.run(FACTS).split()), strict=True))


class Entry:
    """One way in. `say(text)` tells each step; `is_cold`: a person vouches for it where nobody can ask."""

    def __init__(self, line: Line, is_cold: bool = False, say: Callable = print) -> None:
        self.line = line
        self.is_cold = is_cold
        self.say = say
        self.was_flagged = False  # it was in maintenance already: perhaps since a load that was cut off
        self._has_restarted = False
        self._quiet_until = 0.0
        self._last_no = ""

    def go(self) -> None:
        """Returns at the prompt of a board in maintenance; DeployError with the reason otherwise."""
        timing = self.line.timing
        end = time.monotonic() + timing.way_in_s
        self._quiet_until = time.monotonic() + timing.quiet_s
        while time.monotonic() < end:
            try:
                if self._attempt():
                    return
            except LinkLost:
                self.line.open_when_back()
        raise DeployError(
            self._last_no
            or "neither the program nor the prompt answers: press the board's reset (or unplug it) and run this again "
            "at once; the three seconds after a start are the way in"
        )

    def _attempt(self):
        line = self.line
        reply = line.ask("status")
        if reply is not None and reply.startswith("ok"):
            return self._ask_for_maintenance(reply)
        if line.saw_prompt:
            return self._from_prompt()
        if time.monotonic() > self._quiet_until:
            self._quiet_until = time.monotonic() + line.timing.quiet_s
            if line.interrupt():
                return self._from_prompt()
        return False

    def _ask_for_maintenance(self, status):
        refuse_unless_cold(status)
        line = self.line
        reply = line.ask("maintenance", 3 * line.timing.reply_s)
        if reply is None:
            return False
        if not reply.startswith("ok"):
            if "armed" in fields(status).get("missing", ""):
                self._last_no = f"the board refuses: {reply[3:]}"
                return False  # it is just starting and knows no temperature yet
            raise DeployError(f"the board refuses: {reply[3:]}")
        self.say("link command maintenance: the board restarts with nothing armed")
        return self._arrive()

    def _from_prompt(self):
        """At the prompt for whatever reason: outputs to safe levels, then a restart into maintenance."""
        line = self.line
        line.enter()
        found = board_facts(line)
        self.was_flagged = self.was_flagged or bool(found["flag"])
        if found["flag"] or found["jumper"] or not found["program"] or self.is_cold:
            reasons = (found["flag"] and "flag", found["jumper"] and "jumper", not found["program"] and "no program")
            why = next((reason for reason in reasons if reason), COLD_OPTION)
            self.say(f"prompt ({why}): flag set, the board restarts with nothing armed")
            line.run(SET_FLAG)
            line.run(PLAN_RESET)
            line.reset()
            return self._arrive()
        if self._has_restarted:
            raise DeployError(
                "the program on the board does not answer, so the dome is not known to be below 80 °C: make sure of "
                f"it, and that heat is off, then say {COLD_OPTION}"
            )
        self.say("the program is stopped: starting it once more to ask for the dome's temperature")
        self._has_restarted = True
        line.run(PLAN_RESET)
        line.reset()
        line.open_when_back()
        self._quiet_until = time.monotonic() + line.timing.boot_s
        return False

    def _arrive(self):
        if not self.line.wait_prompt(self.line.timing.boot_s):
            raise DeployError("the board does not come back to its prompt: unplug it, plug it in and run this again")
        return True
