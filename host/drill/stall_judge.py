"""What must follow an exception, a stall or a power cut in the middle of a tick, for host/drill/stalls.py."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from host.drill.stalls import Injection
    from host.drill.stalls_micropython import Ordered
    from host.simulator.rehearsal import Rehearsal


KINDS = {  # name: the error raised, the seconds that a call comes back late, or None: no supply
    "value-error": ValueError, "os-error": OSError, "memory-error": MemoryError, "interrupt": KeyboardInterrupt,
    "late-0.3": 0.3, "late-0.6": 0.6, "late-2": 2.0, "late-10": 10.0, "power": None,
}  # fmt: skip
HEAT_S = 0.62  # heat after the call: two periods of the dead-man and the release of relay and contactor
WATCH_S = 3.0  # watched after the call
BITE_S = 14.0  # after one that the watchdog ends: 8 s, restart and grace window
RESTART_S = 7.0  # of a program that has ended: off, on, grace window
FAN_C = 155.0  # the fan runs above 150 degrees; the probe lags
# Stages whose tick begins or ends an evening: the mark on the flash is open or closed, either is right
BETWEEN = ("start-line", "tuned", "cooling")
# What a stall of half a second and more leads to, wherever it falls
STALLED = {"tick-late", "deadman", "watchdog-reset"}
FAULTED = {"program-fault"}
# The dead-man's own interrupt, from the hardware's call to its function: an error there ends that timer.
DEADMAN = ("heater._timer_ticked", "machine.call", "micropython.heap_lock", "micropython.heap_unlock")


@dataclass
class Outcome:
    """What came of one case; times in s."""

    stage: str
    kind: str
    call: int
    where: str = ""
    heat_s: float = 0.0  # for so long an element conducted after the call (in it, where the program went on)
    goes_on: bool = False  # the program bore it and runs on without a trip
    trip: str = ""  # first-out at the end, after a restart where there was one
    failed: str = ""  # the promise that was broken

    def plain(self) -> dict[str, Any]:
        """As a dict for JSON."""
        return asdict(self)


class Watch:
    """Looks on after each step of the program and after each piece of time without one."""

    def __init__(self, made: Rehearsal, injection: Injection | Ordered, outcome: Outcome) -> None:
        self.made = made
        self.injection = injection
        self.outcome = outcome
        self.in_session = made.state in ("running", "held")
        self.tripped = made.trip
        self.first_event = len(made.events)
        self.stalls = self._stalls()
        self.end_us = None
        self.restarted_us = None  # what the elements had conducted when the supply came back

    def look(self) -> None:
        """One piece of time is over."""
        from host.drill.stall_path import Over

        made, injection = self.made, self.injection
        if injection.at_us is None:
            injection.disarm()  # type: ignore[union-attr]  # an Ordered one has acted
            self.outcome.call = injection.count  # the tick is over and has no more calls than these
            raise Over
        now_us = made.outside.now_us
        stalled = self.end_us is None and self.in_session and injection.kind in ("late-0.6", "late-2")
        if stalled and any(relay.commanded for relay in made.outside.relays):
            self._fail("a heat pin rose again after the stall")  # what the dead-man has cut stays low for that tick
        if self.end_us is None:
            self.outcome.where = injection.where
            watch_s = BITE_S if injection.kind == "late-10" else WATCH_S + RESTART_S * (injection.kind == "power")
            self.end_us = injection.at_us + round(watch_s * 1e6)
        if made.outside.true_c("dome") >= FAN_C and made.outside.has_mains and not made.outside.fan_turns:
            self._fail("the fan stands while the oven is hot")
        if now_us < self.end_us:
            return
        if self.restarted_us is None:
            self._judge_heat()
            if made.board.mode == "prompt":
                self.restarted_us = self._conducted()
                self.end_us = now_us + round(RESTART_S * 1e6)
                made.outside.cut_power(1.0)
                return
        self._judge_trip()
        raise Over

    def _stalls(self):
        """How many late ticks the board has put down to a write of its own, with everything off."""
        app = getattr(getattr(self.made.board, "life", None), "app", None)
        return app.supervisor.own_writes.stalls if app is not None and app.supervisor is not None else 0

    def _conducted(self):
        from host.drill.stalls import conducted_us

        return conducted_us(self.made)

    def _fail(self, text):
        self.outcome.failed = self.outcome.failed or text

    def _since(self, before, after):
        return max((b - a for a, b in zip(before, after, strict=True)), default=0) / 1e6

    def _judge_heat(self):
        outcome, made, injection = self.outcome, self.made, self.injection
        ended = any(event["kind"] in ("reset", "crash") for event in made.events[self.first_event :])
        outcome.goes_on = made.board.mode == "run" and made.trip == self.tripped and not ended
        after = injection.during_us if outcome.goes_on else self._conducted()
        outcome.heat_s = round(self._since(injection.before_us, after), 3)
        if outcome.heat_s > HEAT_S:
            self._fail(f"heat for {outcome.heat_s:.2f} s, promised {HEAT_S:g} s")

    def _judge_trip(self):
        outcome, made = self.outcome, self.made
        outcome.trip = made.trip
        if self.restarted_us is not None and self._since(self.restarted_us, self._conducted()) > 0:
            self._fail("heat after the restart")
        if outcome.goes_on:
            excused = self._stalls() > self.stalls and outcome.heat_s == 0.0  # the tick before had written
            if self.in_session and not excused and outcome.kind in ("late-0.6", "late-2", "late-10"):
                self._fail("a stall in an evening went unseen")
            return
        wanted = self._wanted()
        if wanted and made.trip not in wanted:
            self._fail(f"at the end {made.trip or 'nothing'}, promised {' or '.join(sorted(wanted))}")
        elif not wanted and made.trip not in ("none", *STALLED, *(("power-cut",) if outcome.stage in BETWEEN else ())):
            self._fail(f"nothing was on, but {made.trip}")

    def _wanted(self):
        """The trips of which one must stand; empty where none is owed."""
        kind = self.outcome.kind
        if self.tripped != "none":
            return {self.tripped, "latch-doubt"}
        if kind in ("value-error", "os-error", "memory-error"):
            if self.outcome.where in DEADMAN:
                return {"deadman", *FAULTED}
            return FAULTED | ({"power-cut"} if self.in_session else set())
        if not self.in_session:
            return set()
        return {"power-cut"} if kind in ("power", "interrupt") else STALLED
