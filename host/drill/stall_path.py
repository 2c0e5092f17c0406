"""Leads the whole program through the stages of an evening, one tick after the other, for host/drill/stalls.py."""

from __future__ import annotations

from collections.abc import Callable

from host import oven
from host.simulator.rehearsal import Rehearsal

SETPOINT_C = 180  # above the fan's 150 degrees, and soon reached
LONGEST_S = 9000.0


class Over(BaseException):
    """The path or the case is over; passes through the program's own run()."""


class Path:
    """`at(stage)` is called before the tick of each stage that is tried; `look()` after each step of the program."""

    STAGES = ("idle", "start-line", "prove", "preheat", "status-line", "soak", "load", "bake", "recover", "stop-line",
              "held", "cooling", "tripped")  # fmt: skip
    LEARNING = ("learn", "tuned")

    def __init__(self, at: Callable[[str], object], seed: int = 1, learn: bool = False) -> None:
        settings = {"setpoint_c": SETPOINT_C, "soak_min": 1, "bake_s": 20, "breads": 0}
        self.made = Rehearsal(plant=oven.preset("light", seed=seed), settings=settings, seed=seed)
        self.at = at
        self.ticks = 0
        self.look = self._lead
        self._todo = self._learning() if learn else self._evening()
        self._wait = next(self._todo)
        self.made.board.run_whole(self._stepped)  # type: ignore[union-attr]  # in this process

    def run(self) -> None:
        """Turn by turn until Over."""
        while True:
            self.made._turn()
            self.look()

    def _stepped(self):
        self.made.noted()
        self.look()

    def _lead(self):
        self.ticks += 1
        if self.made.now_s > LONGEST_S:
            raise TimeoutError(f"a stage was not reached: {self.made.state} {self.made.stage} {self.made.trip}")
        while self._wait():
            step = next(self._todo, None)
            if step is None:
                raise Over
            if not isinstance(step, str):
                self._wait = step
                continue
            self.at(step)
            if self.look != self._lead:
                return  # a copy that goes its own way from here

    def _ticks(self, count):
        end = self.ticks + count
        return lambda: self.ticks >= end

    def _stage(self, name):
        return lambda: self.made.stage == name

    def _lined(self, text, stage):
        """A line that the coming tick reads; the stage of that tick."""
        self.made.say(text, "user")
        self.made.outside.quiet_us = 0
        return stage

    def _evening(self):
        made = self.made
        yield self._ticks(16)
        yield "idle"
        yield self._lined("start", "start-line")
        yield self._stage("prove")
        yield self._ticks(2)
        yield "prove"
        yield self._stage("preheat")
        yield self._ticks(40)
        yield "preheat"
        yield self._lined("status", "status-line")
        yield self._stage("soak")
        yield self._ticks(20)
        yield "soak"
        yield self._stage("load")
        yield "load"
        yield self._stage("bake")
        yield self._ticks(8)
        yield "bake"
        yield self._stage("recover")
        yield self._ticks(12)
        yield "recover"
        yield self._lined("hold", "stop-line")
        yield lambda: made.state == "held"
        yield self._ticks(4)
        yield "held"
        made.say("stop", "user")
        yield lambda: made.state == "stopping"
        yield self._ticks(4)
        yield "cooling"
        made.outside.probe_chips["dome"].set_fault("open")
        yield lambda: made.trip != "none"
        yield "tripped"
        yield self._ticks(1)

    def _learning(self):
        made = self.made
        yield self._ticks(16)
        made.say("learn start", "user")
        yield self._stage("learn")
        yield self._ticks(400)
        yield "learn"
        yield lambda: made.stage != "learn"
        yield "tuned"
        yield self._ticks(1)
