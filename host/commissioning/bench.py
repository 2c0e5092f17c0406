"""Evidence that the board was proven on the bench: the file of `tizzone player drill`, taken into the record.

It releases nothing: the board's own witness steps do. It says that this board, with this pin map, ended its heat for
every fault that a harness at 3.3 V could make.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from host.commissioning.record import Record, RecordError
from host.files import kinds

VERSION = 1
KEPT = ("date", "board", "program", "mark", "faults", "slowest_late_ms", "slowest_off_ms", "measures")


def read(path: Path | str) -> dict[str, Any]:
    """The content of a proof; RecordError in one line for a file that is none, was missed in, or is of no silicon."""
    if kinds.kind_of(path) != kinds.BENCH_PROOF:
        raise RecordError(f"{path}: not a file of tizzone player drill (bench.json in its folder)")
    try:
        made = json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise RecordError(f"{path}: damaged; run tizzone player drill again") from None
    if made.get("version") != VERSION or not all(name in made for name in (*KEPT, "missed", "emulated")):
        raise RecordError(f"{path}: written by another version; run tizzone player drill again")
    if made["emulated"]:
        raise RecordError(f"{path}: of an emulated board; it says nothing of yours")
    if made["missed"] or not made["faults"]:
        missed = ", ".join(made["missed"]) or "no fault was drilled"
        raise RecordError(f"{path}: no evidence ({missed}): mend it and run tizzone player drill again")
    return made


def take(record: Record, path: Path | str) -> None:
    """Note it in a record that is bound to its board; RecordError where it is another board's."""
    made = read(path)
    if made["mark"] != record.data.get("mark"):
        raise RecordError(
            f"{path}: of another board, pin map, probe or high limit (mark {made['mark']}, now "
            f"{record.data.get('mark')}): run tizzone player drill on this one"
        )
    record.data["bench"] = {name: made[name] for name in KEPT}
    record.save()


def words(data: dict[str, Any]) -> str:
    """What the record's page says of it."""
    kept = data.get("bench")
    if not kept or kept.get("mark") != data.get("mark"):
        return "not taken: tizzone player drill, then --bench FILE"
    late = kept["slowest_late_ms"]
    slowest = "" if late is None else f", heat off within {late:.0f} ms of the moment from which each can show"
    return f"{kept['faults']} faults at 3.3 V on {kept['date'][:8]}{slowest}"
