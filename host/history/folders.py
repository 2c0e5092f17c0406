"""Every run folder and every calibration record below a folder, in order of time; what cannot be used, with a word.

When an evening was: `started` of its summary (ISO 8601), else the stamp in the folder's name (20260314-193000), else
the time of the file. Meters: `mains_v` and `current_a` (at full output) in the summary, in `measured.json` beside it,
or as columns of run.csv.
"""

from __future__ import annotations

import json
import math
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeGuard

import numpy as np

from host.history import apart
from host.history.evening import FULL_PCT, METERS, observe
from host.runs.disturbed import kind
from host.runs.recording import ROWS, RecordingError, fields_of, read_run, whole_lines

STAMP = re.compile(r"(20\d\d)-?(\d\d)-?(\d\d)(?:[-T_ ]?(\d\d):?(\d\d)(?::?(\d\d))?)?")
PLAUSIBLE = {"mains_v": (60.0, 300.0), "current_a": (0.5, 80.0)}
MEASURED = "measured.json"
COUNTED = ("top", "deck", "contactor")


class History:
    """`evenings` (of evening.observe, with name and date), `records` (calibration), `skipped` (words), `remarks`."""

    def __init__(
        self, evenings: list[dict[str, Any]], records: list[dict[str, Any]], skipped: list[str], remarks: list
    ) -> None:
        self.evenings, self.records, self.skipped, self.remarks = evenings, records, skipped, remarks


def read_history(folder: Path | str, since: datetime | None = None) -> History:
    """-> History of everything below `folder`. RecordingError if it is none. `since`: earlier evenings are out."""
    folder = Path(folder)
    if not folder.is_dir():
        raise RecordingError(f"{folder}: no such folder")
    evenings, skipped, guessed = [], foreign(folder), 0
    for path in sorted(folder.rglob(ROWS)):
        name = path.parent.relative_to(folder).as_posix()
        name = folder.resolve().name if name == "." else name
        try:
            evening = read_evening(path.parent, name)
        except RecordingError as error:
            skipped.append(f"{name}: skipped ({str(error).split(': ', 1)[-1]})")
            continue
        if evening is None:
            skipped.append(f"{name}: skipped (no row with a heat in it)")
        elif since is None or evening["date"] >= since:
            evenings.append(evening)
            guessed += evening["dated_by_file"]
    evenings.sort(key=lambda evening: (evening["date"], evening["name"]))
    remarks = [f"{guessed} evenings carry no date; the time of their file was taken"] if guessed else []
    return History(evenings, records_below(folder, skipped, since), skipped, remarks)


def foreign(folder: Path) -> list[str]:
    """Words about folders directly below that hold no run at all."""
    words = []
    for path in sorted(folder.iterdir()):
        if path.is_dir() and not any(path.rglob(ROWS)) and not any(path.rglob("*.json")):
            words.append(f"{path.name}: skipped (no {ROWS} in it)")
        elif path.is_file() and path.suffix == ".csv" and path.name != ROWS:
            words.append(f"{path.name}: skipped (not a run folder)")
    return words


def read_evening(folder: Path, name: str) -> dict[str, Any] | None:
    """-> the evening's dict, None where nothing was heated. RecordingError for what is damaged or foreign."""
    record = read_run(folder)
    if not len(record.rows) or not np.nanmax(np.nan_to_num(record.rows["out_pct"])) > 0:
        return None
    stored = record.summary or {}
    meters = meters_of(folder, stored, record.rows)
    evening = observe(record.rows, record.events, meters)
    for zone in COUNTED:
        value = stored.get(f"{zone}_switchings")
        if is_number(value):
            evening[f"{zone}_switchings"] = int(value)
    evening["counters"] = stored["counters"] if isinstance(stored.get("counters"), dict) else None
    if is_number(stored.get("energy_kwh")):
        evening["energy_kwh"] = stored["energy_kwh"]
    evening["kind"], evening["oven"] = apart.kind_of(stored)
    evening["faults"] = stored.get("faults") or any(kind(event) == "fault" for event in record.events)
    date = stamp(str(stored.get("started", ""))) or stamp(folder.name)
    evening["dated_by_file"] = date is None
    evening["date"] = date or datetime.fromtimestamp((folder / ROWS).stat().st_mtime, UTC).replace(tzinfo=None)
    evening["name"], evening["remarks"] = name, record.remarks
    return evening


def meters_of(folder: Path, stored: dict[str, Any], rows: np.ndarray) -> dict[str, float | None]:
    """{"mains_v": ..., "current_a": ...} as far as somebody measured; implausible values are left out."""
    found = columns_of(folder / ROWS, rows)
    typed = {}
    try:
        typed = json.loads((folder / MEASURED).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        typed = {}
    for name, (low, high) in PLAUSIBLE.items():
        for source in (stored, typed if isinstance(typed, dict) else {}):
            if is_number(source.get(name)):
                found[name] = float(source[name])
        if not low <= (found.get(name) or 0.0) <= high:
            found[name] = None
    return found


def columns_of(path: Path, rows: np.ndarray) -> dict[str, float | None]:
    """Medians of meter columns over the rows at full output."""
    header, *lines = whole_lines(path, [])[: len(rows) + 1]
    names = fields_of(header)
    found = {}
    for name in METERS:
        if name in names:
            place = names.index(name)
            values = np.array([to_float(fields_of(line)[place]) for line in lines])
            values = values[(rows["out_pct"] >= FULL_PCT) & np.isfinite(values)]
            found[name] = float(np.median(values)) if len(values) else None
    return found


def records_below(folder: Path, skipped: list[str], since: datetime | None) -> list[dict[str, Any]]:
    """Calibration records: [{probe, date, points}], from calibration and settings files, in order of time."""
    found = {}
    for path in sorted(folder.rglob("*.json")):
        if path.name in (MEASURED, "summary.json"):
            continue
        name = path.relative_to(folder).as_posix()
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            skipped.append(f"{name}: skipped (not JSON that can be read)")
            continue
        kept = data.get("calibration_record") if isinstance(data, dict) else None
        if isinstance(data, dict) and isinstance(data.get("record"), dict):
            kept = {str(data.get("probe", "dome")): data["record"]}
        for probe, record in kept.items() if isinstance(kept, dict) else ():
            one = record_of(probe, record)
            if one is None:
                skipped.append(f"{name}: the calibration record of {probe} is damaged and left out")
            elif since is None or one["date"] >= since:
                found[(probe, one["date"], str(one["points"]))] = one
    return sorted(found.values(), key=lambda record: record["date"])


def record_of(probe: str, record: Any) -> dict[str, Any] | None:
    """One record as {probe, date, points: {name: (correction_k, expanded_k or None)}}, None if it is not one."""
    date = stamp(str(record.get("date", ""))) if isinstance(record, dict) else None
    if date is None or not isinstance(record.get("points"), list):
        return None
    spread = record.get("u_points_k")
    points = {}
    for point in record["points"]:
        if not (isinstance(point, list) and len(point) == 3 and all(map(is_number, point[1:]))):
            return None
        u_k = spread.get(point[0]) if isinstance(spread, dict) else None
        points[str(point[0])] = ((point[1] - point[2]) / 1000.0, float(u_k) if is_number(u_k) else None)
    return {"probe": str(probe), "date": date, "points": points, "identity": str(record.get("probe", ""))}


def stamp(text: str) -> datetime | None:
    """The date and time in a text, or None."""
    match = STAMP.search(text)
    if not match:
        return None
    try:
        year, month, day, *clock = (int(part or 0) for part in match.groups())
        return datetime(year, month, day, *clock)  # type: ignore[arg-type]  # at most hour, minute, second
    except ValueError:
        return None


def is_number(value: object) -> TypeGuard[float]:
    """Whether `value` is a finite number."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def to_float(text: str) -> float:
    """A field as a float, NaN where it is none."""
    try:
        return float(text)
    except ValueError:
        return math.nan
