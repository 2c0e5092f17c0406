"""Run folders: `run.csv` (rows), `events.jsonl`, `summary.json`; written line by line, read with care.

Rows are UTF-8 CSV with units in the header. Every line is flushed as it is written, so a power cut of
the laptop costs at most the line being written; the reader takes whole lines only and says what it left
out. An empty field is "no value" (not a number). Columns that a reader does not know are ignored.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from host.errors import HostError
from host.files import kinds
from host.files.writing import NotWritten, write_json

# name -> type. The first eleven are every run's; the rest are kept where the runner has them.
TYPES = {
    "t_s": "f8",  # seconds since the start of the run
    "dome_c": "f8",  # the dome's air itself (simulated oven) or the same as pv_c
    "stone_c": "f8",
    "pv_c": "f8",  # process value: the dome as the controller reads it
    "setpoint_c": "f8",
    "out_pct": "f8",
    "heat_top": "f8",  # share of the row's time in which the relay conducts, or its level 0 / 1
    "heat_deck": "f8",
    "permit": "i1",
    "state": "U24",
    "trip": "U48",  # empty: none
    "box_c": "f8",  # electronics
    "contactor": "f8",  # 1 closed
    "power_w": "f8",
    "stage": "U24",
    "stone_pv_c": "f8",  # the stone's probe as the controller reads it
}
COLUMNS = tuple(TYPES)[:11]
REQUIRED = ("t_s", "pv_c", "setpoint_c", "out_pct", "heat_top", "heat_deck")
DTYPE = np.dtype(list(TYPES.items()))
ROWS, EVENTS, SUMMARY = "run.csv", "events.jsonl", "summary.json"


class RecordingError(HostError):
    """A run that cannot be written or read: one line, which file and what about it."""


class Run:
    """What was read: rows (structured array of DTYPE), events, summary (or None), remarks (words)."""

    def __init__(
        self, rows: np.ndarray, events: list[dict[str, Any]], summary: dict[str, Any] | None, remarks: list[str]
    ) -> None:
        self.rows, self.events, self.summary, self.remarks = rows, events, summary, remarks


class RunWriter:
    """Writes a run folder as the run goes on; every row and event is on its way to disk at once.

    `names`: the columns (default: the eleven of every run); t_s must be among them. A folder that
    holds a run already is refused, so that none is lost.
    """

    def __init__(self, folder: Path | str, names: Sequence[str] = COLUMNS) -> None:
        self.folder = Path(folder)
        self.names = tuple(names)
        if "t_s" not in self.names:
            raise RecordingError(f"{folder}: a run needs the column t_s")
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            if any((self.folder / name).exists() for name in (ROWS, EVENTS, SUMMARY)):
                raise FileExistsError
            # both stay open for the whole run
            self._rows = open(self.folder / ROWS, "x", encoding="utf-8", newline="")  # noqa: SIM115
            self._events = open(self.folder / EVENTS, "x", encoding="utf-8", newline="\n")  # noqa: SIM115
        except FileExistsError:
            raise RecordingError(f"{folder}: holds a run already; take another folder") from None
        except OSError as error:
            raise RecordingError(f"{folder}: cannot be written ({error.strerror})") from None
        self._csv = csv.writer(self._rows, lineterminator="\n")
        self._line(self.names)

    def _line(self, fields):
        self._csv.writerow(fields)
        self._rows.flush()

    def row(self, row: np.void | Mapping[str, Any]) -> None:
        """Append one row: a record of a structured array, or a dict; what it lacks stays empty."""
        has = row.dtype.names or () if isinstance(row, np.void) else row
        self._line([field(row[name]) if name in has else "" for name in self.names])

    def event(self, event: dict[str, Any]) -> None:
        """Append one event: a dict with `t_s`, `kind` and whatever else JSON carries."""
        self._events.write(json.dumps(clean(event), ensure_ascii=False) + "\n")
        self._events.flush()

    def begin(self, summary: dict[str, Any]) -> None:
        """What is known at the start, its date above all: a record that is cut off keeps it."""
        try:
            write_json(self.folder / SUMMARY, {"tizzone": kinds.RUN_FIGURES, **clean(summary)}, indent=2)
        except NotWritten as error:
            raise RecordingError(str(error)) from None

    def finish(self, summary: dict[str, Any] | None = None) -> None:
        """Close the run; the summary is written whole or not at all."""
        self.close()
        if summary is not None:
            self.begin(summary)

    def close(self) -> None:
        """Close the files; what was written stays."""
        self._rows.close()
        self._events.close()

    def __enter__(self) -> RunWriter:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()


def write_run(
    folder: Path | str, rows: np.ndarray, events: list[dict[str, Any]], summary: dict[str, Any] | None = None
) -> None:
    """Write a whole run at once from a structured array of rows and a list of events."""
    with RunWriter(folder, rows.dtype.names or ()) as writer:
        for row in rows:
            writer.row(row)
        for event in events:
            writer.event(event)
        writer.finish(summary)


def read_run(folder: Path | str) -> Run:
    """-> Run. Raises RecordingError for a folder or file that is missing, foreign or damaged."""
    folder = Path(folder)
    if not folder.is_dir():
        raise RecordingError(f"{folder}: no such folder")
    if not (folder / ROWS).is_file():
        raise RecordingError(f"{folder}: no run here ({ROWS} is missing)")
    remarks: list[str] = []
    rows = read_rows(folder / ROWS, remarks)
    events = read_events(folder / EVENTS, remarks)
    return Run(rows, events, read_summary(folder / SUMMARY, remarks), remarks)


def read_rows(path: Path, remarks: list[str]) -> np.ndarray:
    """The rows of a CSV as a structured array of DTYPE; words about a cut go to `remarks`."""
    lines = whole_lines(path, remarks)
    if not lines:
        raise RecordingError(f"{path}: empty, no header line")
    header, *records = map(fields_of, lines)
    missing = [name for name in REQUIRED if name not in header]
    if missing:
        raise RecordingError(f"{path}: not a run of ours (no column {missing[0]})")
    rows = np.zeros(len(records), DTYPE)
    for name, kind in TYPES.items():
        if kind == "f8" and name not in header:
            rows[name] = math.nan
    bad: dict[int, str] = {}
    for number, record in enumerate(records):
        problem = take(rows, number, header, record)
        if problem:
            bad[number] = problem
    return rows[: whole_until(path, bad, len(rows), remarks)]


def fields_of(line: str) -> list[str]:
    """The fields of one line; one odd field for what is no CSV. Our fields never hold line ends."""
    try:
        return next(csv.reader([line.replace("\0", "\ufffd")], strict=True), [""])
    except csv.Error:
        return ["\ufffd"]


def whole_until(path: Path, bad: dict[int, str], count: int, remarks: list[str]) -> int:
    """How many rows are good: bad ones at the very end are a cut, others are damage."""
    good = count
    while good - 1 in bad:
        good -= 1
    for number in sorted(bad):
        if number < good:
            raise RecordingError(f"{path}: line {number + 2}: {bad[number]}")
    if good < count:
        remarks.append(f"{path.name}: damaged from line {good + 2} on; read up to line {good + 1}")
    return good


def take(rows: np.ndarray, number: int, header: list[str], record: list[str]) -> str:
    """Fill one row; -> what is wrong with it, or ""."""
    if len(record) != len(header):
        return f"{len(record)} fields where the header has {len(header)}"
    for name, text in zip(header, record, strict=True):
        kind = TYPES.get(name)
        if kind is None:
            continue
        if kind[0] == "U":
            rows[name][number] = text
            continue
        try:
            value = float(text) if text or name == "permit" else math.nan
        except ValueError:
            return f"{name} is {text[:20]!r}, not a number"
        if math.isinf(value) or (name == "permit" and value not in (0, 1)):
            return f"{name} is {text[:20]!r}"
        rows[name][number] = value
    if not rows["t_s"][number] >= (rows["t_s"][number - 1] if number else -math.inf):
        return "t_s is missing or goes back"
    return ""


def read_events(path: Path, remarks: list[str]) -> list[dict[str, Any]]:
    """The events as a list of dicts; a file that is absent or cut is said in `remarks`."""
    if not path.is_file():
        remarks.append(f"{path.name}: missing; no events are shown")
        return []
    events = []
    lines = whole_lines(path, remarks)
    for number, line in enumerate(lines):
        try:
            event = json.loads(line)
            event["t_s"] = float(event["t_s"])
            if not math.isfinite(event["t_s"]):
                raise ValueError("t_s")
            events.append(event)
        except (ValueError, TypeError, KeyError, RecursionError):
            if number + 1 < len(lines):
                raise RecordingError(f"{path}: line {number + 1}: not an event of ours") from None
            remarks.append(f"{path.name}: line {number + 1} is damaged and left out")
    return events


def read_summary(path: Path, remarks: list[str]) -> dict[str, Any] | None:
    """The summary as it was written, or None."""
    try:
        summary = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, ValueError, RecursionError):
        remarks.append(f"{path.name}: damaged and left out; the figures are worked out anew")
        return None
    if not isinstance(summary, dict):
        return None
    summary.pop("tizzone", None)
    return summary


def whole_lines(path: Path, remarks: list[str]) -> list[str]:
    """The lines that end with a line end; a last one without is left out, with a word."""
    try:
        text = path.read_bytes().decode("utf-8-sig", errors="replace")
    except OSError as error:
        raise RecordingError(f"{path}: cannot be read ({error.strerror})") from None
    lines = text.replace("\r\n", "\n").split("\n")
    if lines.pop():
        remarks.append(f"{path.name}: cut in line {len(lines) + 1}; read up to line {len(lines)}")
    return lines


def field(value: Any) -> str | int:
    """A value as a CSV field: three decimals at most, empty for not-a-number."""
    if isinstance(value, (bool, np.bool_)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return "" if math.isnan(value) else f"{value:.3f}".rstrip("0").rstrip(".")
    return " ".join(str(value).split())


def clean(value: Any) -> Any:
    """A copy that JSON carries: numpy's numbers as Python's, not-a-number as null."""
    if isinstance(value, dict):
        return {str(key): clean(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean(item) for item in value]
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
