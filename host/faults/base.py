"""What a fault is: how it is made and mended, and what is promised when it happens.

A fault acts on the Outside (wiring, chips, relays, oven) or, where it lies within the board, on what the board
keeps (its files, its memory); the device's code is never touched.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from host.errors import InputError
from host.faults.around import AroundTheBoard
from host.link.frames import on_wire

SECOND_TRY = ("cold", "held")  # phases in which somebody asks for heat 10 s after the fault
# From which moment a promise counts: "fault" itself; "heat": the contactor is closed for the first time after it;
# "off" / "on": a relay is commanded off / on for the first time after it, contactor closed; of one zone with its name.
SINCE = ("fault", "heat", "off", "on", "off_top", "off_deck", "on_top", "on_deck")
NO_SESSION = "no evening is on: no heat is asked for"
BOOT_S = 20.0  # watchdog, restart and grace window until the reason is on the panel
GENTLE_C = 395.0  # domes held at less than 400 degrees


class FaultError(InputError):
    """A fault that cannot be had; the text is one line."""


class Promise:
    """What must follow a fault.

    reasons: condition names, one of which is first-out; within_s: from `since` until heat is off for that reason;
    inhibit_s: from the fault itself until nothing conducts any more (None: as `within_s`); above_c: how hot the dome
    must be (or be going to be) for the fault to show: below that it is as quiet as a Quiet. while_on: `within_s` counts
    only while the relay of `since` ("on_top", "on_deck") is commanded on: what is missing then shows at no other time.
    gentle_s: `within_s` below GENTLE_C, where the device's output is limited for a while after a fall like a door's.
    """

    quiet = ""

    def __init__(
        self,
        reasons: str,
        within_s: float = 1.0,
        since: str = "fault",
        inhibit_s: float | None = None,
        above_c: float = 0,
        while_on: bool = False,
        gentle_s: float | None = None,
    ) -> None:
        self.reasons = frozenset(reasons.split())
        self.within_s = within_s
        self.since = since
        self.inhibit_s = inhibit_s
        self.above_c = above_c
        self.while_on = while_on
        self.gentle_s = gentle_s

    def at(self, hot_c: float) -> Promise | Quiet:
        """What holds at a dome of `hot_c`: itself, or a Quiet."""
        if self.above_c <= hot_c < GENTLE_C and self.gentle_s:
            return Promise(" ".join(self.reasons), self.gentle_s, self.since, self.inhibit_s, self.above_c)
        if hot_c >= self.above_c:
            return self
        return Quiet(f"shows above {self.above_c:g} °C only", " ".join(self.reasons) + " probe-reversed no-rise")


class Quiet:
    """A fault that does no harm here, and why; `also`: reasons that may show all the same."""

    within_s = 0.0
    since = "fault"
    inhibit_s = None
    while_on = False

    def __init__(self, why: str, also: str = "", watch_s: float = 60.0) -> None:
        self.quiet = why
        self.reasons = frozenset(also.split())
        self.watch_s = watch_s

    def at(self, hot_c: float) -> Quiet:
        """Itself: it does no harm at any temperature."""
        return self


class Fault:
    """One named fault: `start(outside)` makes it, `end(outside)` repairs it where that can be.

    promises: {phase or "*": Promise or Quiet}; unsensed: the same for an oven without current sense, mirror
    contact and stone probe (looked up first there). group: "sensor", "actuator", "wiring", "mains", "board",
    "people". needs: names of the pin map without which the fault cannot exist. inside: it acts on the memory or
    files of a board that runs in this process (CPython only). guard: only the independent limiter or a second
    probe sees it; `exception` is the word about it where neither is wired.
    """

    def __init__(
        self,
        name: str,
        description: str,
        make: Callable[[Any], object],
        mend: Callable[[Any], object] | None = None,
        group: str = "board",
        promises: Mapping[str, Promise | Quiet] | None = None,
        unsensed: Mapping[str, Promise | Quiet] | None = None,
        needs: Sequence[str] = (),
        inside: bool = False,
        exception: str = "",
    ) -> None:
        self.name = name
        self.description = description
        self.group = group
        self.needs = needs
        self.inside = inside
        self.exception = exception
        self.promises = promises or {}
        self.unsensed = unsensed or {}
        self._make = make
        self._mend = mend

    def __deepcopy__(self, _memo):
        return self  # holds no state of a board

    def start(self, outside: AroundTheBoard) -> None:
        """Make the fault."""
        self._make(outside)
        outside.tell("fault", self.name)

    def end(self, outside: AroundTheBoard) -> None:
        """Repair it; FaultError if it cannot be."""
        if self._mend is None:
            raise FaultError(f"fault {self.name} does not end")
        self._mend(outside)
        outside.tell("fault_over", self.name)

    def promise(self, phase: str, sensed: bool = True) -> Promise | Quiet:
        """The Promise or Quiet that holds in a phase."""
        tables = (self.promises,) if sensed else (self.unsensed, self.promises)
        for table in tables:
            for key in (phase, "*"):
                if key in table:
                    return table[key]
        raise FaultError(f"fault {self.name} promises nothing in phase {phase}")


def send(outside: AroundTheBoard, text: str) -> None:
    """Put a whole line on the board's serial port."""
    outside.rx += on_wire(text)


def rehearsal_of(outside: AroundTheBoard) -> Any:
    """The Rehearsal that this Outside belongs to."""
    for listener in outside.listeners:
        if hasattr(listener, "board"):
            return listener
    raise FaultError("this fault needs a whole rehearsal")


def board_of(outside: AroundTheBoard) -> Any:
    """The board, which must run in this process."""
    board = rehearsal_of(outside).board
    if not hasattr(board, "life"):
        raise FaultError("this fault acts inside the board: it needs the runtime cpython")
    return board


def app_of(outside: AroundTheBoard) -> Any:
    """The running application of the board, or None while there is none."""
    return board_of(outside).life.app
