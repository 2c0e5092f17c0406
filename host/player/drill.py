"""The drill on the user's own board: each fault at the harness while it heats, and when its heat pins went low.

A case begins with both the contactor's and a heat pin high, and ends when every heat pin has been low for a while and
the board has said why, or when its time is over. Times are of the player's clock: from the turn that made the fault to
the last falling edge of a heat pin.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from host.link import LinkError, replies
from host.player import PlayerError
from host.player.bench import Bench
from host.player.faults import Case

HEAT = ("HEAT_TOP", "HEAT_DECK")
QUIET_S = 1.5  # pins low for so long: heat is off
GRAIN_S = 0.35  # a tick of 250 ms and a turn of 100 ms
READY_S = 120.0
LOWEST_C = 30  # setpoint that lets go of the relays of an oven that is warmer
BACK_S = 40.0  # a board that restarts


@dataclass
class Result:
    """What came of a case: `off_ms` from the fault to the last heat pin low (0: it was low), None = it never was;
    `late_ms` the same from the moment that the promise counts from; `reason` as the board said it."""

    name: str
    words: str
    reason: str = "none"
    off_ms: float | None = None
    late_ms: float | None = None
    promised_s: float = 0.0
    failed: str = ""

    def plain(self) -> dict[str, Any]:
        """For JSON."""
        return asdict(self)


class Drill:
    """`run(cases)` yields each Result; the bench must have begun. `say`: a line for a person."""

    def __init__(self, bench: Bench, say: Callable[[str], Any] = print) -> None:
        self.bench = bench
        self.say = say

    def run(self, cases: list[Case]) -> list[Result]:
        """Every case in its order."""
        results = []
        for case in cases:
            result = self.carry_out(case)
            results.append(result)
            off = "never" if result.off_ms is None else f"{result.off_ms:.0f} ms"
            self.say(f"  {case.name:24} heat pins low after {off:>8}, {result.reason:20} {result.failed and 'MISSED: '}"
                     f"{result.failed}")  # fmt: skip
        return results

    # --- to a heating board --------------------------------------------------------------------------

    def ready(self) -> None:
        """Heat flows: contactor and a heat pin are high. PlayerError with what stands against it."""
        bench = self.bench
        last = ""
        end = bench.now_s + READY_S
        while bench.now_s < end:
            self._towards_heat()
            if bench.until(self._heats, 12.0):
                return
            last = self._hindrance()
        raise PlayerError(f"the board does not heat: {last}")

    def _heats(self):
        levels = {name: level for _, name, level in self.bench.edges}
        return (
            levels.get("CONTACTOR", 1) == 1 and any(levels.get(name) for name in HEAT) and self.bench.stage != "prove"
        )

    def _towards_heat(self):
        bench = self.bench
        bench.refresh()
        if bench.trip != "none":
            bench.send("unlock")  # three trips lock it out; refused where nothing is locked
            bench.send("acknowledge")
            bench.refresh()
        if bench.state in ("stopping", "stopped", "complete", "aborted"):
            bench.send("reset")
            bench.refresh()
        if bench.state == "held":
            bench.send("resume")
        elif bench.state != "running":
            self._last = bench.send("start")
        bench.send("present")

    def _hindrance(self):
        missing = ", ".join(self.bench.status.get("missing", [])) or getattr(self, "_last", "")
        return f"state {self.bench.state}, trip {self.bench.trip}, missing {missing or 'nothing'}"

    # --- one case ------------------------------------------------------------------------------------

    def carry_out(self, case: Case) -> Result:
        """Make the fault on a heating board, watch, mend."""
        bench = self.bench
        result = Result(case.name, case.words, promised_s=case.promise.within_s)
        self.ready()
        first_edge = len(bench.edges)
        on_before = {name: level for _, name, level in bench.edges}
        begun_us = bench.outside.now_us
        bench.event("case", value=case.name)
        if case.needs_return:
            bench.set_aside()
        case.make(bench)
        bench.turn()
        shows_off = case.promise.since.startswith("off")  # it shows only once a relay is let go
        if shows_off:
            bench.send(f"setpoint {LOWEST_C}")
        self._watch(case, result, first_edge, on_before, begun_us)
        case.mend(bench)
        if shows_off:
            bench.send(f"setpoint {bench.setpoint_c:g}")
        if case.needs_return:
            bench.until(lambda: "armed" not in bench.status.get("missing", ["armed"]), BACK_S)
        bench.advance(1.0)
        return result

    def _watch(self, case, result, first_edge, on_before, begun_us):
        bench, promise = self.bench, case.promise
        deadline_s = bench.now_s + promise.within_s + (60.0 if promise.since != "fault" else 6.0)
        asked_s = bench.now_s
        while bench.now_s < deadline_s:
            bench.turn()
            if bench.now_s >= asked_s and not bench.board.is_waiting:
                asked_s = bench.now_s + 0.5
                bench.board.say("alarms", lambda reply: self._heard(reply, promise, result))
            seen = _Seen(bench.edges[first_edge:], on_before, begun_us, bench.outside.now_us)
            if result.reason in promise.reasons and seen.off_us is not None and seen.quiet_s >= QUIET_S:
                break
        self._judge(promise, result, _Seen(bench.edges[first_edge:], on_before, begun_us, bench.outside.now_us))

    def _heard(self, reply, promise, result):
        try:
            first, others = replies.alarms(reply)
        except LinkError:
            return
        named = [name for name in (first, *others) if name in promise.reasons]
        if named and result.reason not in promise.reasons:
            result.reason = named[0]
        elif first != "none" and result.reason == "none":
            result.reason = first

    def _judge(self, promise, result, seen):
        if seen.off_us is None:
            result.failed = "a heat pin is still high"
            return
        result.off_ms = seen.off_us / 1000
        counted_us = seen.counted_us(promise)
        result.late_ms = result.off_ms - counted_us / 1000
        allowed_s = promise.within_s if promise.inhibit_s is None else promise.inhibit_s
        if result.reason not in promise.reasons:
            result.failed = f"the board said {result.reason}, promised {' or '.join(sorted(promise.reasons))}"
        elif result.late_ms / 1000 > allowed_s + GRAIN_S:
            result.failed = f"{result.late_ms:.0f} ms, promised {allowed_s:g} s"


class _Seen:
    """Heat pins after a fault, times in us from it. `off_us`: the last fall of all, 0 if they were low, None while one
    is high; `quiet_s`: how long they have been low."""

    def __init__(self, edges, on_before, begun_us, now_us):
        self.levels = {name: on_before.get(name, 0) for name in HEAT}
        self.first = {f"{'on' if level else 'off'}_{name[5:].lower()}": 0 for name, level in self.levels.items()}
        self.on_us = dict.fromkeys(HEAT, 0)
        fell_us, last_us = 0, 0
        for at_us, name, level in edges:
            if name not in HEAT or at_us < begun_us:
                continue
            self._pass(at_us - begun_us - last_us)
            last_us = at_us - begun_us
            self.levels[name] = level
            self.first.setdefault(f"{'on' if level else 'off'}_{name[5:].lower()}", last_us)
            fell_us = fell_us if level else last_us
        self._pass(now_us - begun_us - last_us)
        self.off_us = None if any(self.levels.values()) else fell_us
        self.quiet_s = (now_us - begun_us - fell_us) / 1e6

    def _pass(self, span_us):
        for name, level in self.levels.items():
            self.on_us[name] += span_us * level

    def counted_us(self, promise):
        """From when a promise counts, us after the fault: as host.drill.observe has it, an off of one tick is too short
        to be seen and the second counts; time of a relay that was off does not count where `while_on`."""
        since = promise.since
        if since in ("fault", "heat"):
            return 0
        if promise.while_on:
            return max(0, (self.off_us or 0) - self.on_us["HEAT_" + since.rpartition("_")[2].upper()])
        moments = [at for name, at in self.first.items() if name == since or name.startswith(since + "_")]
        return min(moments, default=0) + 250_000
