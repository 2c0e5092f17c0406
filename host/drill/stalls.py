"""Exceptions, stalls and power cuts at each call of each tick: what goes wrong in the middle of the program itself.

    for outcome in campaign(20_000, jobs=2):    an Outcome each, stage by stage

The device's own run() takes a light oven through an evening (host/shim/life.py, `whole`). At one tick of each stage the
process is forked once for each case; the copy counts the calls of that tick (functions of the device and those of
MicroPython's modules alike) and at one of them raises, comes back late, or takes the supply away. Then it goes on: the
heat must end in time, the next start must tell the trip, and the fan must run while the oven is hot.
"""

from __future__ import annotations

import gc
import json
import os
import random
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from host.drill.stall_judge import KINDS, Outcome, Watch
from host.drill.stall_path import Over, Path
from host.shim.loader import DEVICE, SHIM
from host.shim.port import BoardReset

if TYPE_CHECKING:
    from host.simulator.rehearsal import Rehearsal


COUNTED = (str(DEVICE) + os.sep, str(SHIM) + os.sep)


class Injection:
    """Counts calls from arm() on and acts at the one with this number (from 0)."""

    def __init__(self, made: Rehearsal, kind: str, call: int) -> None:
        self.made = made
        self.kind = kind
        self.call = call
        self.count = 0
        self.where = ""
        self.at_us = None  # when it acted
        self.before_us = self.during_us = 0  # what the elements had conducted at the call, and when a late one was back

    def arm(self) -> None:
        """Count from here."""
        sys.setprofile(self._called)

    def disarm(self) -> None:
        """No more."""
        sys.setprofile(None)

    def _called(self, frame, event, argument):
        if event != "call" or not frame.f_code.co_filename.startswith(COUNTED):
            return
        self.count += 1
        if self.count <= self.call:
            return
        self.disarm()
        self.where = f"{os.path.basename(frame.f_code.co_filename)[:-3]}.{frame.f_code.co_name}"
        self.at_us = self.made.outside.now_us
        self.before_us = self.during_us = conducted_us(self.made)
        self._act(KINDS[self.kind])

    def _act(self, what):
        if what is None:
            self.made.outside.cut_power(1.0)
            self.made.outside.orders.clear()  # the board is told here, not at its next piece of time
            raise BoardReset("power", 1_000_000)
        if not isinstance(what, float):
            raise what("injected")
        try:
            self.made.board.port.pass_us(round(what * 1e6), True)
        finally:  # the watchdog may have bitten meanwhile
            self.during_us = conducted_us(self.made)


def conducted_us(made: Rehearsal) -> tuple[int, ...]:
    """How long each element has conducted so far, us; of both the longer one's share counts."""
    made.outside.account()
    return tuple(relay.total_us for relay in made.outside.relays)


class Forks:
    """Runs cases in forked copies of the evening as it stands, `jobs` at a time."""

    def __init__(
        self,
        jobs: int,
        chosen: Callable[[str, int], list[tuple[str, int]]],
        tell: Callable[[Outcome], object],
        last: str,
    ) -> None:
        self.jobs = jobs
        self.last = last  # the path ends behind this stage
        self.chosen = chosen  # (stage, calls of its tick) -> [(kind, call)]
        self.tell = tell  # called with each Outcome
        self.path: Any = None
        self.outcome: Any = None  # in a copy: of its case
        self.sink = None
        self.running = {}

    def at(self, stage: str) -> None:
        """Called by the path before the tick that is tried. Comes back in the parent, and in each copy."""
        calls = self._counted(stage)
        if self.sink is not None:
            return  # the copy that counts
        gc.collect()
        gc.freeze()
        for kind, call in self.chosen(stage, calls):
            while len(self.running) >= self.jobs:
                self._reap()
            if self._fork():
                continue
            self.outcome = Outcome(stage, kind, call)
            self._follow(Injection(self.path.made, kind, call))
            return
        while self.running:
            self._reap()
        if stage == self.last:
            raise Over

    def _counted(self, stage):
        """How many calls the coming tick makes: a copy tries it."""
        if not self._fork():
            self.outcome = Outcome(stage, "count", 1 << 30)
            self._follow(Injection(self.path.made, "power", 1 << 30))
            return 0
        return self._reap().call

    def _follow(self, injection):
        watch = Watch(self.path.made, injection, self.outcome)
        self.path.look = watch.look
        injection.arm()

    def _fork(self):
        source, sink = os.pipe()
        pid = os.fork()
        if pid:
            os.close(sink)
            self.running[pid] = source
            return True
        os.close(source)
        self.sink = sink
        self.running = {}
        gc.disable()
        sys.unraisablehook = lambda _: None  # injected while a generator is closed: nobody is there to take it
        return False

    def _reap(self):
        pid, status = os.wait()
        source = self.running.pop(pid)
        data = b""
        while piece := os.read(source, 65536):
            data += piece
        os.close(source)
        if status or not data:
            raise RuntimeError(f"a case ended without an outcome: {status}")
        outcome = Outcome(**json.loads(data))
        if outcome.kind != "count":
            self.tell(outcome)
        return outcome

    def run(self, path: Path) -> None:
        """Take the path to its end; a copy ends here, with its outcome told to the parent."""
        self.path = path
        try:
            path.run()
        except Over:
            pass
        except BaseException as error:
            if self.sink is None:
                raise
            self.outcome.failed = f"the rehearsal itself: {error!r}"
        if self.sink is not None:
            os.write(self.sink, json.dumps(self.outcome.plain()).encode())
            os._exit(0)


def drawn(
    count: int, seed: int, stages: int, kinds: Sequence[str] = tuple(KINDS)
) -> Callable[[str, int], list[tuple[str, int]]]:
    """A chooser of about `count` cases in all stages together: every one of them where there are fewer."""
    draw = random.Random(seed)
    share = count // stages

    def chosen(stage, calls):
        every = [(kind, call) for call in range(calls) for kind in kinds]
        return every if len(every) <= share else sorted(draw.sample(every, share), key=lambda case: case[1])

    return chosen


def campaign(
    count: int,
    seed: int = 1,
    jobs: int = 1,
    tell: Callable[[Outcome], object] = lambda outcome: None,
    kinds: Sequence[str] = tuple(KINDS),
    stages: Sequence[str] | None = None,
) -> None:
    """Carry out about `count` cases; `tell` gets each Outcome. Needs os.fork (not on Windows)."""
    wanted = stages or Path.STAGES + Path.LEARNING
    chosen = drawn(count, seed, len(wanted), kinds)
    for learn in (False, True):
        names = [stage for stage in (Path.LEARNING if learn else Path.STAGES) if stage in wanted]
        if names:
            forks = Forks(jobs, lambda stage, calls: chosen(stage, calls) if stage in wanted else [], tell, names[-1])
            forks.run(Path(forks.at, seed, learn))
