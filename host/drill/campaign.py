"""The fault campaign: every fault, in every phase of an evening, on many ovens; each must end with the heat off.

    cases = planned_cases(...)            what to do
    for result in run(cases):    Result, in the order in which they are done, on all cores
    passed(result)

A case starts from a copy of a warm board and oven (host/drill/warm.py), makes its faults, lets somebody ask for
heat where none is on, and goes on until the true dome has peaked after the heat ended.
"""

from __future__ import annotations

import copy
import dataclasses
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from host.drill import warm as drillwarm
from host.drill.judge import hold_to_promises
from host.drill.observe import watch_until_over
from host.faults.library import FAULTS

if TYPE_CHECKING:
    from host.faults.base import Fault
    from host.pins.pin_map import PinMap
    from host.simulator.rehearsal import Rehearsal


CHUNK = 6  # cases a task: short enough for an even end, long enough to use a warm state
KEEP_ROWS_S = 60.0  # of the trace before the fault
_warm: dict = {}  # of this process: (oven, wiring, ...) -> {phase: Rehearsal}
KEPT = 2


@dataclasses.dataclass(frozen=True)
class Case:
    """One thing to try: fault names (one or two), phase, oven and wiring."""

    faults: tuple
    phase: str
    oven: str
    wiring: str


@dataclasses.dataclass
class Result:
    """What came of a case. Times in s after the fault, temperatures of the true dome in °C; NaN = never."""

    case: Case
    reason: str = "none"  # first-out
    seen_s: float = float("nan")  # until that reason showed
    heat_off_s: float = 0.0  # until nothing conducted any more
    stop_c: float = float("nan")  # when heat stopped
    peak_c: float = float("nan")  # highest afterwards
    limit_c: float = float("nan")  # high limit in force
    quiet: str = ""  # why nothing need happen
    excused: str = ""  # the word of an allowed exception
    failed: str = ""  # the promise that was broken
    hottest: dict[str, float] = dataclasses.field(default_factory=dict)  # true air, wall and stone since the fault
    rows: np.ndarray | None = None  # the trace from a minute before the fault

    @property
    def name(self) -> str:
        """The faults' names."""
        return "+".join(self.case.faults)

    def plain(self) -> dict[str, Any]:
        """As a dict for JSON."""
        found = {key: value for key, value in dataclasses.asdict(self).items() if key not in ("rows", "case")}
        found = {key: None if value != value else value for key, value in found.items()}
        case = self.case
        return {"fault": self.name, "phase": case.phase, "oven": case.oven, "wiring": case.wiring, **found}


def is_possible(fault: Fault, wiring: str, pins: PinMap) -> bool:
    """Whether a fault can exist in a wiring of this pin map."""
    lacking = drillwarm.WIRINGS[wiring]
    have = {name for name in vars(pins) if getattr(pins, name) is not None} | set(getattr(pins, "PROBES", {}))
    return all(name in have and name not in lacking for name in fault.needs)


def subset(oven: str, wiring: str, pins: PinMap, names: Iterable[str] | None = None) -> list[Case]:
    """One case for each fault that acts from outside the board, in a phase in which it shows: for MicroPython."""
    cases = []
    for name in names or FAULTS:
        fault = FAULTS[name]
        if fault.inside or not is_possible(fault, wiring, pins):
            continue
        told = [phase for phase in ("setpoint", "cold") if not fault.promise(phase, wiring == "full").quiet]
        cases.append(Case((name,), (told or ["setpoint"])[0], oven, wiring))
    return cases


def planned_cases(
    ovens: Iterable[str],
    pins: PinMap,
    wirings: Sequence[str] = ("full",),
    phases: Sequence[str] = drillwarm.PHASES,
    names: Iterable[str] | None = None,
    pairs: Sequence[str] = (),
    inside: bool = True,
) -> list[Case]:
    """The cases, oven by oven: every fault alone, and in the phases `pairs` each sensor fault with each actuator's."""
    chosen = [FAULTS[name] for name in names or FAULTS]
    cases = []
    for oven in ovens:
        for wiring in wirings:
            fit = [f for f in chosen if is_possible(f, wiring, pins) and (inside or not f.inside)]
            for phase in phases:
                cases.extend(Case((fault.name,), phase, oven, wiring) for fault in fit)
            sensors = [f for f in fit if f.group == "sensor"]
            actuators = [f for f in fit if f.group == "actuator"]
            for phase in pairs:
                cases.extend(Case((s.name, a.name), phase, oven, wiring) for s in sensors for a in actuators)
    return cases


def run_case(case: Case, settings: Any = None, board: str = "boards/pico.py", device: Any = None) -> Result:
    """Carry out one case in this process: a Result. Unreached if the oven does not come to the phase."""
    states = warm(case.oven, case.wiring, settings, board, device)
    return drilled(copy.deepcopy(states[case.phase]), case)


def drilled(made: Rehearsal, case: Case) -> Result:
    """Carry out a case on a Rehearsal that stands in its phase (it is used up): a Result."""
    faults = [FAULTS[name] for name in case.faults]
    hot_c = made.outside.true_c("dome")
    if case.phase in ("cold", "preheat", "load", "recover"):  # the door has cooled the air for a moment
        hot_c = max(hot_c, float(made.rows["setpoint_c"][-1]))
    promises = [fault.promise(case.phase, sensed=case.wiring == "full").at(hot_c) for fault in faults]
    if any(fault.exception for fault in faults) and made.outside.limiter:
        made.outside.limiter.set_c = max(60.0, limit_of(made))
    seen = watch_until_over(made, faults, promises, case.phase)
    result = Result(case, seen.reason, seen.seen_s, seen.heat_off_s, seen.stop_c, seen.peak_c, limit_of(made))
    result.hottest = seen.hottest
    hold_to_promises(result, seen, faults, promises)
    first = np.searchsorted(made.rows["t_s"], seen.fault_s - KEEP_ROWS_S)
    result.rows = made.rows[first:].copy()
    return result


def limit_of(made: Rehearsal) -> float:
    """The high limit in force, °C, as the board told it while it stood idle."""
    return made.high_limit_c  # type: ignore[attr-defined]  # kept by ask_limit


def ask_limit(made: Rehearsal) -> None:
    """Ask the idle board for its high limit and keep it beside the Rehearsal."""
    reply = made.send("status")
    made.high_limit_c = int(reply.partition("limit_mc=")[2].split()[0]) / 1000 if "limit_mc=" in reply else 500.0  # type: ignore[attr-defined]


def on_micropython(
    case: Case,
    settings: Mapping[str, Any] | None = None,
    board: str = "boards/pico.py",
    device: Path | str | None = None,
) -> Result:
    """Carry out one case under real MicroPython: a fresh board at an oven as the warm state left it: a Result."""
    hot = None
    if case.phase != "cold":
        hot = copy.deepcopy(warm(case.oven, case.wiring, settings, board, device)[case.phase].plant)
    made = drillwarm.rehearsal(case.oven, case.wiring, settings, board, "micropython", hot, device)
    with made:
        made.advance(6.0)
        ask_limit(made)
        if case.phase != "cold":
            made.send("start")
            drillwarm.until(made, lambda r: r.stage == "soak", "setpoint")
            made.advance(20.0)
        return drilled(made, case)


def warm(
    oven: str, wiring: str, settings: Any = None, board: str = "boards/pico.py", device: Any = None
) -> dict[str, Rehearsal]:
    """{phase: Rehearsal} of an oven and a wiring, made once a process."""
    key = (oven, wiring, json.dumps(settings, sort_keys=True), str(board))
    if key not in _warm:
        while len(_warm) >= KEPT:
            del _warm[next(iter(_warm))]
        made = drillwarm.rehearsal(oven, wiring, settings, board, device=device)
        made.advance(6.0)
        ask_limit(made)
        _warm[key] = drillwarm.states(made)
    return _warm[key]


def run_cases(cases: list[Case], settings: Any, board: str, device: Any, runtime: str = "cpython") -> list[Result]:
    """Carry out some cases: [Result]; a broken case becomes a failed Result, never an exception."""
    results = []
    for case in cases:
        try:
            result = (run_case if runtime == "cpython" else on_micropython)(case, settings, board, device)
        except drillwarm.Unreached as error:
            result = Result(case, failed=f"phase not reached: {error}")
        results.append(result)
    worst = max(range(len(results)), key=lambda i: (bool(results[i].failed), badness(results[i])))
    for index, result in enumerate(results):
        if index != worst:
            result.rows = None  # only the worst trace of a task travels
    return results


def badness(result: Result) -> float:
    """How near a case came to its limit, K; excused ones last."""
    value = result.peak_c - result.limit_c
    return -1e6 if value != value else value - (1000.0 if result.excused else 0.0)


def run(
    cases: list[Case],
    settings: Any = None,
    board: str = "boards/pico.py",
    jobs: int = 2,
    device: Any = None,
    chunk: int = CHUNK,
    runtime: str = "cpython",
) -> Iterator[Result]:
    """Carry out cases on `jobs` processes (1: in this one); yields each Result."""
    groups = {}
    for case in cases:
        groups.setdefault((case.oven, case.wiring, case.phase), []).append(case)
    tasks = [group[at : at + chunk] for group in groups.values() for at in range(0, len(group), chunk)]
    if jobs <= 1:
        for part in tasks:
            yield from run_cases(part, settings, board, device, runtime)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        waiting = [pool.submit(run_cases, part, settings, board, device, runtime) for part in tasks]
        for future in as_completed(waiting):
            yield from future.result()
