"""The device code runs a simulated oven, on CPython or on real MicroPython; same rows and events on both.

    rehearsal = Rehearsal(plant=host.oven.preset("standard"), settings={"setpoint_c": 300})
    rehearsal.advance(10)
    rehearsal.send("start")
    rehearsal.advance(3600)
    rehearsal.rows["pv_c"], rehearsal.events, rehearsal.close()

A CPython rehearsal can be copied whole with `copy.deepcopy` at any moment between two calls.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from host.faults import library as fault_library
from host.faults.base import Fault
from host.link.frames import LineCutter, on_wire, unframed
from host.oven import preset
from host.oven.base import Plant
from host.pins import pin_map
from host.shim.loader import DEVICE, world
from host.shim.local import LocalBoard
from host.shim.remote import RemoteBoard
from host.simulator.assembly import assembled
from host.simulator.cook import AtTheOven, Cook
from host.simulator.first_files import COMMISSIONED_C, first_files
from host.simulator.trace import ROW, Trace

if TYPE_CHECKING:
    from host.shim.loader import World
    from host.simulator.outside import Outside


REPLY_TURNS = 16
WATCHED = ("state", "stage", "trip", "hold", "warn", "contactor", "breads", "locked_out")  # a change is an event
NO_REPORT = "none"  # state of a board whose program is not running


__all__ = ["COMMISSIONED_C", "ROW", "Rehearsal", "names_of"]


def pins_with_a_probe(board: Path | str) -> pin_map.PinMap:
    """The pin map; PinMapError also for one without a dome probe, with which the device's own code cannot begin."""
    pins = pin_map.read(board)
    if "dome" not in (getattr(pins, "PROBES", None) or ()):
        raise pin_map.PinMapError(f"{board}: names no dome probe; tizzone pins {board} says what a map needs")
    return pins


class Rehearsal:
    """One evening. `faults`: texts "name@seconds" or (Fault, seconds). `cook`: a Cook, None for nobody.

    ValueError with one line for an unknown board, fault, runtime or setting."""

    cook: AtTheOven | None
    _seen: dict[str, Any]
    _report: Sequence[int] | None
    _key: tuple[int, ...] | None

    def __init__(
        self,
        plant: Plant | None = None,
        board: Path | str = "boards/pico.py",
        settings: Mapping[str, Any] | None = None,
        faults: Sequence[str | tuple[Fault, float]] = (),
        seed: int = 1,
        runtime: str = "cpython",
        commissioned: bool = True,
        cook: AtTheOven | Literal["default"] | None = "default",
        limiter_c: float = 520.0,
        device: Path = DEVICE,
        heap: str | None = None,
    ) -> None:
        if runtime not in ("cpython", "micropython"):
            raise ValueError(f"unknown runtime {runtime!r} (known: cpython, micropython)")
        planned = [fault_library.parse(f) if isinstance(f, str) else f for f in faults]
        self.plant, self.runtime = plant or preset("standard", seed=seed), runtime
        self.pins = pins_with_a_probe(board)
        self.world = world(device)
        self.outside = assembled(self.pins, self.plant, seed, limiter_c)
        self.outside.listeners.append(self)
        for fault, at_s in planned:
            self.outside.at(round(at_s * 1e6), fault, "start", self.outside)
        self.cook = Cook((settings or {}).get("bake_s", 90.0)) if isinstance(cook, str) else cook
        fs = first_files(self.world, self.pins, self.outside, settings, commissioned)
        if runtime == "cpython":
            self.board: LocalBoard | RemoteBoard = LocalBoard(self.world, self.outside, self.pins, fs)
        else:
            self.board = RemoteBoard(device, self.outside, self.pins, pin_map.find(board), fs.files, heap)
        self._fields, self._names = names_of(self.world)
        self._watched = [(name, self._fields[name]) for name in WATCHED if name in self._fields]
        self._keys = itemgetter(*(index for _, index in self._watched))
        self._seen, self._report, self._key = {}, None, None
        self.state = self.stage = self.trip = NO_REPORT
        self.events: list[dict[str, Any]] = []
        self.lines: list[tuple[float, str]] = []  # (t_s, text) of every line that the device sent
        self._told, self._cutter = 0, LineCutter()
        self._asked: deque[list[Any]] = deque()  # who waits for a reply: [who, when_us, reply]
        self._trace = Trace(self._fields)

    # --- what a user does ----------------------------------------------------------------------

    @property
    def now_s(self) -> float:
        """Simulated seconds since power-up."""
        return self.outside.now_us / 1e6

    @property
    def rows(self) -> np.ndarray:
        """The rows so far: one a simulated second, see ROW."""
        return self._trace.rows

    def advance(self, seconds: float) -> None:
        """Let simulated time pass, in whole steps of the device: up to one step longer than asked."""
        until_us = self.outside.now_us + round(seconds * 1e6)
        while self.outside.now_us < until_us:
            self._turn()

    def send(self, line: str) -> str:
        """Send one line (the checksum is added where it is missing); its reply without checksum, "" if none."""
        entry = self.say(line, "user")
        for _ in range(REPLY_TURNS):
            self._turn()
            if entry[2] is not None:
                return entry[2]
        self._asked = deque(other for other in self._asked if other is not entry)
        return ""

    def say(self, line: str, who: str = "cook") -> list[Any]:
        """Put a line on the wire without waiting."""
        self.outside.rx += on_wire(line)
        entry = [who, self.outside.now_us, None]
        self._asked.append(entry)
        return entry

    def close(self) -> None:
        """End the board's process, if it has one."""
        self.board.close()

    def __enter__(self) -> Rehearsal:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    # --- inside --------------------------------------------------------------------------------

    def second(self, outside: Outside) -> None:
        """Rows go on while the device does not step (no supply, hung, start-up)."""
        if not self._trace.count and self._report is None:
            return  # the evening's rows begin with the first report
        late_us = 500_000 if self.board.mode == "run" else 0
        if outside.now_us >= self._trace.next_us + late_us:
            self._add_row()

    def _turn(self):
        self.board.turn()
        self.noted()

    def noted(self) -> None:
        """Note what the turn of the board that is just over has brought."""
        board, outside = self.board, self.outside
        self._report = report = board.report
        for us, kind, text in board.take_notes():
            self._event(us / 1e6, kind, text=text)
        if len(outside.happened) > self._told:
            for us, kind, text in outside.happened[self._told :]:
                self._event(us / 1e6, kind, text=text)
            self._told = len(outside.happened)
        self._compare(report)
        if outside.sent:
            self._listen()
        if outside.now_us >= self._trace.next_us:
            self._add_row()
        if self.cook is not None and report is not None:
            self.cook.act(self)

    def _compare(self, report):
        key = None if report is None else self._keys(report)
        if key == self._key:
            return
        self._key = key
        if key is None:
            self.state = self.stage = self.trip = NO_REPORT
            self._seen = {}
            return
        for (name, _), value in zip(self._watched, key, strict=True):
            shown = self._name(name, value)
            if self._seen.get(name) != shown:
                self._event(self.now_s, name, value=shown)
                self._seen[name] = shown
        self.state, self.stage = self._seen.get("state", ""), self._seen.get("stage", "")
        self.trip = self._seen.get("trip", "")

    def _name(self, field, value):
        names = self._names.get(field)
        if names is None:
            return int(value)
        return names[value] if 0 <= value < len(names) else f"{field}-{value}"

    def _event(self, t_s, kind, **values):
        self.events.append({"t_s": t_s, "kind": kind, **values})

    def _listen(self):
        lines = self._cutter.lines(bytes(self.outside.sent))
        self.outside.sent = bytearray()
        for text in lines:
            self.lines.append((self.now_s, text))
            while self._asked and self._asked[0][1] < self.outside.now_us - 5_000_000:
                self._asked.popleft()
            if text.startswith("~") and self._asked:
                entry = self._asked.popleft()
                reply = unframed(text)
                entry[2] = (text.rpartition("|")[0] or text) if reply is None else "~" + reply
                if entry[0] == "cook":
                    self._event(self.now_s, "cook", text=entry[2])

    def _add_row(self):
        self._trace.add(self.outside, self._report, (self.state, self.trip, self.stage))


def names_of(device_world: World) -> tuple[dict[str, int], dict[str, tuple]]:
    """({report field: index}, {field: names of its values}) of a World's application."""
    app = device_world.load("tizzone.app")
    sequence = device_world.load("tizzone.evening.sequence")
    conditions = device_world.load("tizzone.safety.limits").CONDITION_NAMES
    names = dict.fromkeys(("trip", "hold", "warn"), conditions)
    names.update(state=sequence.STATES, stage=sequence.STAGES)
    return {name: index for index, name in enumerate(app.REPORT)}, names
