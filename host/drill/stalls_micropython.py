"""The campaign of host/drill/stalls.py on real MicroPython: at each call of the hardware: pin, bus, clock, sleep.

Its process cannot be forked: each case begins with a board of its own on an oven as warm as the stage wants it, and one
of the stage's ticks is drawn by counting calls. The program is the whole run() here too (host/shim/child.py).
"""

from __future__ import annotations

import random
from collections.abc import Callable

from host import oven
from host.drill.stall_judge import KINDS, Outcome, Watch
from host.drill.stall_path import SETPOINT_C, Over
from host.drill.stalls import conducted_us
from host.simulator.rehearsal import Rehearsal

CALLS = 60  # one to two ticks' worth of the calls that are counted
WARM_C = {"idle": 20, "prove": 20, "preheat": 90, "soak": SETPOINT_C, "held": SETPOINT_C, "cooling": SETPOINT_C}


class Ordered:
    """What host/drill/stalls.py's Injection tells: acted when the board says so."""

    def __init__(self, made: Rehearsal, kind: str, call: int) -> None:
        self.made = made
        self.kind = kind
        self.call = self.count = call
        self.where = "hardware call"
        self.at_us = None
        self.before_us = self.during_us = None

    def order(self) -> None:
        """Ask the board for it."""
        what = KINDS[self.kind]
        made = self.made
        if isinstance(what, float):
            order = [self.call, "late", round(what * 1e6)]
        else:
            order = [self.call, self.kind, 1_000_000]
        made.outside.quiet_us = 0
        made.outside.orders.append(["fail", "call", order])
        send = made.outside.serial_out

        def listen(data):
            if b"!acted" in data:
                self.at_us = made.outside.now_us
                self.before_us = conducted_us(made)
            send(data)

        made.outside.serial_out = listen  # type: ignore[method-assign]


def stalled(stage: str, kind: str, call: int, seed: int = 1) -> Outcome:
    """Carry out one case: an Outcome."""
    plant = oven.preset("light", seed=seed)
    while plant.true_c("dome") < WARM_C[stage]:
        plant.step(1.0, {"top": 1.0, "deck": 1.0})
    settings = {"setpoint_c": SETPOINT_C, "soak_min": 1, "breads": 0}
    outcome = Outcome(stage, kind, call)
    with Rehearsal(plant=plant, settings=settings, seed=seed, runtime="micropython", cook=None) as made:
        made.advance(5.0)
        lead(made, stage)
        injection = Ordered(made, kind, call)
        watch = Watch(made, injection, outcome)
        injection.order()
        for _ in range(400):
            made._turn()
            if injection.before_us is not None and injection.during_us is None:
                injection.during_us = conducted_us(made)
            try:
                if injection.during_us is not None:
                    watch.look()
            except Over:
                return outcome
    outcome.failed = "the call was not reached"
    return outcome


def lead(made: Rehearsal, stage: str) -> None:
    """Bring a board that stands idle to the stage."""
    if stage == "idle":
        return
    made.send("start")
    wanted = {"prove": "prove", "preheat": "preheat"}.get(stage, "soak")
    for _ in range(4000):
        if made.stage == wanted:
            break
        made._turn()
    made.advance(0.5 if stage == "prove" else 12.0)
    if stage in ("held", "cooling"):
        made.send("hold" if stage == "held" else "stop")
        made.advance(2.0)


def campaign(count: int, seed: int = 1, tell: Callable[[Outcome], object] = lambda outcome: None) -> None:
    """Carry out `count` cases, drawn; `tell` gets each Outcome."""
    draw = random.Random(seed)
    for _ in range(count):
        tell(stalled(draw.choice(list(WARM_C)), draw.choice(list(KINDS)), draw.randrange(CALLS)))
