"""`tizzone report --history`: reads, judges, writes the page, prints; the command's file only hands over."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.findings import by_grade
from host.history import apart, text
from host.history.findings import thermal
from host.history.folders import read_history
from host.history.page import page
from host.history.records import changes, drifted
from host.history.wear import counts, wear
from host.runs.recording import clean

if TYPE_CHECKING:
    from host.history.findings import Finding
    from host.history.folders import History


KEPT = (
    "name",
    "setpoint_c",
    "start_c",
    "to_setpoint_s",
    "overshoot_k",
    "band_k",
    "breads",
    "trips",
    "holds",
    "kind",
    "oven",
    "energy_kwh",
    "rise",
    "climb",
    "top",
    "hold",
    "cool",
    "stone",
    "mains_v",
    "current_a",
    "top_switchings",
    "deck_switchings",
    "contactor_switchings",
)


def findings_of(
    history: History, lives: Mapping[str, int] | None = None
) -> tuple[list[Finding], list[str], list[dict[str, Any]]]:
    """-> (findings, remarks, counts); what matters first, notes last."""
    found, remarks = thermal(history.evenings)
    found = found + wear(history.evenings, lives) + drifted(history.records)
    return by_grade(found), history.remarks + remarks, counts(history.evenings, lives)


def as_json(history: History, found: list[Finding], remarks: list, used: list[dict[str, Any]], out: Path | str) -> str:
    """Everything for machines."""
    evenings = [
        {**{key: evening.get(key) for key in KEPT}, "date": f"{evening['date']:%Y-%m-%dT%H:%M:%S}"}
        for evening in history.evenings
    ]
    moved = [
        {**one, "first": f"{one['first']:%Y-%m-%d}", "last": f"{one['last']:%Y-%m-%d}"}
        for one in changes(history.records)
    ]
    return json.dumps(
        clean(
            {
                "findings": [one.as_json() for one in found],
                "remarks": remarks,
                "skipped": history.skipped,
                "relays": used,
                "calibrations": moved,
                "evenings": evenings,
                "page": str(out),
            }
        ),
        indent=2,
        ensure_ascii=False,
    )


def run(
    folder: Path | str,
    since: datetime | None = None,
    lives: Mapping[str, int] | None = None,
    oven: str | None = None,
) -> tuple[History, list[Finding], list[str], list[dict[str, Any]]]:
    """-> (history, found, remarks, used) of one oven's evenings. RecordingError for an unusable folder or oven.

    lives: operations of the parts that are built, see `wear.lives_of`; oven: see `apart.chosen`."""
    history = read_history(folder, since)
    if not history.evenings:
        return history, [], [], []
    history.evenings, words = apart.chosen(history.evenings, oven)
    history.remarks = words + history.remarks + several_setpoints(history.evenings)
    return (history, *(findings_of(history, lives) if history.evenings else ([], [], [])))


def several_setpoints(evenings: list[dict[str, Any]]) -> list[str]:
    """A word where the evenings were at different setpoints."""
    setpoints = {round(one["setpoint_c"] / 10) * 10 for one in evenings if one["setpoint_c"]}
    if len(setpoints) < 2:
        return []
    return [f"{len(setpoints)} different setpoints: output, cooling and stone are compared at the usual one only"]


def printed(history: History, found: list[Finding], remarks: list[str], used: list[dict[str, Any]]) -> str:
    """The report for the terminal."""
    lines = [f"note: {line}" for line in [*history.skipped, *remarks]]
    lines += text.table(history.evenings) + ["", text.model_line(history.evenings), *text.wear_lines(used)]
    for one in changes(history.records):
        lines.append(
            f"Calibration of {one['probe']} at {one['point']}: {one['change_k']:+.2f} K since {one['first']:%Y-%m-%d} "
            f"(uncertainty {one['expanded_k']:.2f} K)"
        )
    lines.append("")
    for finding in found:
        lines += text.finding_lines(finding)
    return "\n".join(lines if found else [*lines, text.nothing(history.evenings)])


__all__ = ["as_json", "findings_of", "page", "printed", "run"]
