"""What has changed since the run before: the figures of two evenings side by side."""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path
from typing import Any

from host.history.apart import REAL
from host.history.evening import FIGURES
from host.history.folders import read_evening, stamp
from host.runs.recording import ROWS, SUMMARY, RecordingError, read_summary
from host.runs.summary import clock

MOST = 20  # runs that are looked at for the one before
SAME_SETPOINT_K = 5.0
# figure: (words, unit, digits, change worth a word: share of the value; one evening scatters by about half of it)
COMPARED = {
    "setpoint_c": ("Setpoint", "°C", 0, None),
    "start_c": ("Reading at the start", "°C", 0, None),
    "to_setpoint_s": ("Time to setpoint", "time", 0, 0.15),
    "rise": (FIGURES["rise"][0], "s", 0, 0.12),
    "top": (FIGURES["top"][0], "s", 0, 0.15),
    "hold": (FIGURES["hold"][0], "%", 1, 0.10),
    "band_k": ("Steady band, peak to peak", "K", 1, 0.8),
    "breads": ("Breads laid", "", 0, None),
    "energy_kwh": ("Energy", "kWh", 2, None),
    "top_switchings": ("Top relay switched on", "×", 0, None),
    "deck_switchings": ("Deck relay switched on", "×", 0, None),
    "trips": ("Trips", "", 0, None),
}


def before(folder: Path | str, now: dict[str, Any]) -> tuple[str, dict[str, Any]] | None:
    """-> (name, evening) of the latest run beside `folder` that is older and of the same oven as `now`, or None.

    A rehearsal has no real evening before it, nor the other way round; an injected fault has nothing before or
    after."""
    folder = Path(folder).resolve()
    at = dated(folder)
    if at is None or now.get("faults"):
        return None
    paths = [path for path in folder.parent.iterdir() if path != folder and (path / ROWS).is_file()]
    older = [(date, path) for path in paths if (date := dated(path)) and date < at]
    for _, path in sorted(older, reverse=True)[:MOST]:
        try:
            evening = read_evening(path, path.name)
        except RecordingError:
            continue  # a damaged run is told of by its own report and by --history
        if evening is not None and not evening["faults"] and is_same_oven(now, evening):
            return path.name, evening
    return None


def is_same_oven(now: dict[str, Any], then: dict[str, Any]) -> bool:
    """Whether two evenings are of one kind and one oven; a real evening that names no board may be any board's."""
    names = {now.get("oven", ""), then.get("oven", "")}
    return now.get("kind") == then.get("kind") and (len(names) == 1 or (now.get("kind") == REAL and "" in names))


def dated(folder: Path) -> datetime | None:
    """When a run says that it began, by its summary or its folder's name; None: without a date there is no before."""
    stored = read_summary(folder / SUMMARY, []) or {}
    return stamp(str(stored.get("started", ""))) or stamp(folder.name)


def compare(now: dict[str, Any], then: dict[str, Any]) -> list[tuple[str, str, str, str]]:
    """-> list of (words, then, now, remark); figures that neither evening has are left out."""
    lines = []
    same = is_same_setpoint(now, then)
    for key, (words, unit, digits, worth) in COMPARED.items():
        a, b = then.get(key), now.get(key)
        if a is None and b is None:
            continue
        remark = ""
        if worth and a and b and a > 0 and b > 0 and (same or key == "rise"):
            change = math.log(b / a)
            remark = f"{100 * (b / a - 1):+.0f} %" + (
                ": more than one evening's scatter" if abs(change) > worth else ""
            )
        lines.append((words, shown(a, unit, digits), shown(b, unit, digits), remark))
    return lines


def is_same_setpoint(now: dict[str, Any], then: dict[str, Any]) -> bool:
    """Whether two evenings may be compared at their setpoint."""
    a, b = now.get("setpoint_c"), then.get("setpoint_c")
    return a is not None and b is not None and abs(a - b) <= SAME_SETPOINT_K


def shown(value: float | None, unit: str, digits: int) -> str:
    """A figure with its unit."""
    if value is None:
        return "no figure"
    return clock(value) if unit == "time" else f"{value:.{digits}f} {unit}".strip()
