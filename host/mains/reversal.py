"""The way back: moved wires, hours above rating from run files, retests before everyday use."""

import hashlib
import json
from pathlib import Path
from typing import Any

import numpy as np

from host.files import kinds
from host.files.writing import NotWritten
from host.mains.checks.places import part_seen
from host.mains.ratings import expected_c
from host.runs import recording

RETESTS = (
    "Every moved wire back on its original terminal, checked by a second person.",
    "Every moved or removed protection back in place and tested to act.",
    "Earth continuity plug to casing, door and element sheaths: figure written down.",
    "Insulation resistance, elements cold and after one heating: figure written down.",
    "Elements: cold resistance against the plate; no blisters, cracks or sagging.",
    "Door, gasket, glass and hinges: no crack, no gap, closes by itself.",
    "Wires, terminals and sleeves near the heat: no brittle, dark or loose one.",
    "Original thermostat: holds 200 degC within its band against a reference, for one hour.",
    "Original cut-out acts (by the oven's service instructions).",
    "Cooling fan starts and runs on; lamp and lock work.",
    "Parts with hours above their rating in the ledger are replaced, not judged by eye.",
    "A licensed person signs; modified ovens are not sold on.",
)


class RunError(Exception):
    """A run file or ledger cannot be used; the text is one line."""


def exposed(sheet: dict) -> list[tuple]:
    """[(name, place, rated_c, part)] of every part with a rating that stays in the oven."""
    found = [(p["name"], p["place"], p["rated_c"], p) for p in sheet["part"]]
    seen = {entry[0] for entry in found}
    found += [
        (e["name"], e["place"], e["rated_c"], e)
        for e in sheet["survey"]
        if e["decision"] == "kept" and e["rated_c"] is not None and e["name"] not in seen
    ]
    return found


def above_rating_at_limit(sheet: dict) -> list[tuple]:
    """[(name, expected Value, rated_c)] of parts that the high limit lets above their rating."""
    found = []
    for name, _, rated_c, part in exposed(sheet):
        expected = part_seen(sheet, part)
        if expected.number > rated_c:
            found.append((name, expected, rated_c))
    return found


def read_run(path: Path | str) -> tuple[list, list]:
    """([(t_s, dome_c)], words about what was left out) of a run folder or its CSV; RunError if
    unusable. A file cut anywhere is read up to its last whole line.

    The higher of the dome's air and the process value counts; a row with neither is left out.
    """
    words = []
    rows: Any
    try:
        rows = recording.read_rows(run_csv(path), words)
    except recording.RecordingError as error:
        raise RunError(str(error)) from None
    hotter = np.fmax(rows["dome_c"], rows["pv_c"])
    known = np.isfinite(hotter)
    if not known.all():
        words.append(f"{np.count_nonzero(~known)} lines without a temperature left out")
    times = rows["t_s"][known].tolist()
    return list(zip(times, hotter[known].tolist(), strict=True)), words


def run_csv(path: Path | str) -> Path:
    """The CSV of a run given as its folder or as the file itself."""
    path = Path(path)
    return path / recording.ROWS if path.is_dir() else path


def hours_above(points: list, rated_c: float, part: dict, sheet: dict) -> float:
    """Hours in which the part was above `rated_c`, degC, from (t_s, dome_c) samples.

    A part follows the dome with its place's share and without lag: hours are over- rather than
    under-counted while heating. Between samples the hotter end counts.
    """
    total_s = 0.0
    for (t0, dome0), (t1, dome1) in zip(points, points[1:], strict=False):
        dome = max(dome0, dome1)
        if _at(sheet, part, dome) > rated_c:
            total_s += t1 - t0
    return total_s / 3600


def _at(sheet, part, dome_c):
    return expected_c(part["place"], dome_c, sheet["oven"]["room_c"], part.get("seen_c"), part.get("seen_at_c")).number


def empty_ledger() -> dict:
    """A ledger without entries."""
    return {"runs": {}, "hours_above_rating": {}}


def load_ledger(path: Path | str) -> dict:
    """Ledger from its file; an empty one where there is none; RunError if it is damaged."""
    path = Path(path)
    if not path.exists():
        return empty_ledger()
    try:
        ledger = json.loads(path.read_text(encoding="utf-8"))
        ledger.pop("tizzone", None)
        hours = ledger["hours_above_rating"]
        whole = isinstance(ledger["runs"], dict) and isinstance(hours, dict)
        if not whole or not all(0 <= float(hours[name]) < 1e6 for name in hours):
            raise ValueError("wrong shape")
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise RunError(f"{path}: not a whole ledger; put a copy of it back or move it away") from None
    return ledger


def save_ledger(path: Path | str, ledger: dict) -> None:
    """Write the ledger whole or not at all."""
    try:
        kinds.write(path, json.dumps(ledger, indent=1, sort_keys=True) + "\n", kinds.LEDGER)
    except NotWritten as error:
        raise RunError(str(error)) from None


def add_run(ledger: dict, sheet: dict, path: Path | str) -> list[str]:
    """Words about the run file `path`, whose hours are added to `ledger` once (by its content)."""
    points, words = read_run(path)
    digest = hashlib.sha256(run_csv(path).read_bytes()).hexdigest()
    name = Path(path).name
    if digest in ledger["runs"]:
        return [f"{name}: already in the ledger, not counted again"]
    hottest = max((dome for _, dome in points), default=None)
    for part_name, _, rated_c, part in exposed(sheet):
        hours = hours_above(points, rated_c, part, sheet)
        before = ledger["hours_above_rating"].get(part_name, 0.0)
        ledger["hours_above_rating"][part_name] = round(before + hours, 6)
    ledger["runs"][digest] = {
        "file": name, "lines": len(points), "highest_dome_c": hottest,
    }  # fmt: skip
    return [f"{name}: {len(points)} lines" + "".join(f"; {word}" for word in words)]


def sheet_of(sheet: dict, ledger: dict) -> dict:
    """The reversal sheet as a dictionary: moved wires, protections, parts, hours, retests."""
    changed = [e for e in sheet["survey"] if e["decision"] in ("moved", "removed")]
    return {
        "moved_wires": [{key: wire[key] for key in ("wire", "from", "to", "by")} for wire in sheet["moved_wire"]],
        "changed_parts": [{key: e[key] for key in ("part", "name", "decision", "by", "why")} for e in changed],
        "above_rating_at_limit": [
            {"name": name, "expected": value.as_json(), "rated_c": rated_c}
            for name, value, rated_c in above_rating_at_limit(sheet)
        ],
        "hours_above_rating_h": dict(ledger["hours_above_rating"]),
        "runs_counted": len(ledger["runs"]),
        "retests": list(RETESTS),
    }
