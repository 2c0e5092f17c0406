"""A simulated board whose device code runs in this process, on CPython. See remote.py for its twin."""

from __future__ import annotations

import types
from collections.abc import Callable
from typing import Any

from host.shim.life import Life, finish, whole
from host.shim.loader import World
from host.shim.port import Port
from host.shim.simfs import PowerCut, SimFS
from host.shim.wired import Wired


class LocalBoard:
    """`turn()` lets the board live one piece; afterwards `report` (array or None), `mode` and `notes` tell.

    Can be deep-copied together with its Outside."""

    def __init__(self, world: World, outside: Wired, pins: types.SimpleNamespace, fs: SimFS | None = None) -> None:
        self.world = world
        self.outside = outside
        board = types.SimpleNamespace(**vars(pins))
        self.fs = fs or SimFS()
        self.port = Port(outside, getattr(pins, "MCU", "rp2040"), board, self.fs)
        self.life = Life(self.port, self._boot, self._make_app, (PowerCut,), self._end)
        self.report = None
        self._refused = 0

    @property
    def mode(self) -> str:
        """What the board does: boot, run, prompt, hung, off."""
        return self.life.mode

    def turn(self) -> None:
        """One piece of the board's life."""
        simboard = self.world.modules["simboard"]
        before, simboard.port = simboard.port, self.port
        try:
            self.life.turn()
        finally:
            simboard.port = before
        app = self.life.app
        self.report = app.report if app is not None and self.life.mode == "run" else None

    def take_notes(self) -> list[list[Any]] | tuple:
        """[[us, kind, text], ...] since the last call."""
        life, port = self.life, self.port
        if not life.notes and len(port.refusals) == self._refused:
            return ()
        notes, life.notes = life.notes, []
        notes.extend([us, "refused", text] for us, text in port.refusals[self._refused :])
        self._refused = len(port.refusals)
        return notes

    def close(self) -> None:
        """Nothing to let go."""

    def _boot(self):
        self.world.run_file("boot")

    def _make_app(self, console):
        return self.world.load("tizzone.app").App(console)

    def run_whole(self, after: Callable[[], None]) -> None:
        """From the next start on the device's run() runs as a whole, inside one turn; `after()` after each step.

        Such a board cannot be copied."""
        module = self.world.load("tizzone.app")

        def told():
            app = self.life.app
            self.report = app.report if app is not None and self.life.mode == "run" else None
            after()

        def make_app(stream):
            whole(self.life, module, stream, told)

        self.life.make_app = make_app

    def _end(self, app, error):
        finish(self.world.load("tizzone.app"), app, error)
