"""The kitchen's own faults, each measured with the independent limiter at work and set aside; for one probe alone.

    for row in measured(("setpoint",)): ...     a Row each
    table(rows)                                 Markdown, for boards/CLASS_B.md

The wiring is the plainest that may be hot: one probe, the limiter, no current sense and no mirror contact (but for the
fault that only a mirror contact shows). Nobody opens the door meanwhile: in still air a fault heats most.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from host.drill import campaign, warm
from host.drill.observe import watch_until_over
from host.faults import kitchen
from host.faults.library import FAULTS

PHASES = ("cold", "preheat", "setpoint", "recover")
OVEN = "standard"
ASIDE_C, AT_WORK_C = warm.LIMITER_ASIDE_C, 520.0
NEAR_C = 500.0  # where the dome stays below this, the limiter has nothing to do
WATCH_S = 4 * 3600.0  # a probe that reads low from the cold start on takes more than an hour to show how hot it gets


@dataclass
class Row:
    """One fault in one phase: what showed first, after so many s (NaN: nothing did), and the hottest true dome, °C."""

    fault: str
    phase: str
    reason: str
    seen_s: float
    aside_c: float  # with the limiter set aside
    guarded_c: float  # with the limiter at work
    guarded_reason: str


def measured(phases: Sequence[str] = PHASES, names: Sequence[str] = ()) -> Iterator[Row]:
    """Each fault in each phase."""
    for phase in phases:
        for fault in kitchen.faults():
            if not names or fault.name in names:
                yield hottest_of(fault.name, phase)


def hottest_of(name: str, phase: str) -> Row:
    """One fault in one phase, with the limiter aside and, where that matters, at work."""
    aside = _watched(name, phase, ASIDE_C)
    hottest_c = max(aside.highest_c, aside.peak_c)
    guarded = aside if hottest_c < NEAR_C else _watched(name, phase, AT_WORK_C)
    guarded_c = max(guarded.highest_c, guarded.peak_c)
    return Row(name, phase, aside.reason, aside.seen_s, hottest_c, guarded_c, guarded.reason)


def _watched(name: str, phase: str, limiter_c: float) -> Any:
    fault = FAULTS[name]
    wiring = "full" if "CONTACTOR_OPEN" in fault.needs else "plain"
    made = copy.deepcopy(campaign.warm(OVEN, wiring)[phase])
    if made.outside.limiter is not None:  # the wirings of the drill have one
        made.outside.limiter.set_c = limiter_c
    promise: Any = copy.copy(fault.promise(phase, sensed=wiring == "full").at(450.0))
    promise.watch_s = WATCH_S
    return watch_until_over(made, [fault], [promise], phase)


def table(rows: Sequence[Row]) -> str:
    """A line for each fault: in which phase it got hottest, what showed there and when."""
    lines = ["| fault | phases | hottest in | seen first as | after | true dome, limiter aside | limiter at work |",
             "| --- | --- | --- | --- | --- | --- | --- |"]  # fmt: skip
    for name in dict.fromkeys(row.fault for row in rows):
        mine = [row for row in rows if row.fault == name]
        worst = max(mine, key=lambda row: row.aside_c)
        guarded_c = max(row.guarded_c for row in mine)
        seen = "nothing" if worst.reason == "none" else worst.reason
        after = "-" if worst.seen_s != worst.seen_s else f"{worst.seen_s:.0f} s"
        lines.append(
            f"| {FAULTS[name].description} | {len(mine)} | {worst.phase} | {seen} | {after} | {worst.aside_c:.0f} °C | "
            f"{guarded_c:.0f} °C |"
        )
    return "\n".join(lines)
