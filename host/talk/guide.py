"""Where the job stands: what lies in a folder, what the board answers, and which step of the guide comes next.

`Found` is what was seen; `step(found)` is a pure function of it."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from host.files import kinds
from host.link import LinkError, OtherProgram, replies
from host.talk import Refused, asked, fields, learning, settings

RUNS = "runs"


@dataclass
class Found:
    """What is there: files by kind, rehearsals and real evenings, and the board (None: not plugged in)."""

    files: dict[str, list[str]] = field(default_factory=dict)
    maps: list[str] = field(default_factory=list)
    rehearsals: int = 0
    evenings: int = 0
    board: dict[str, Any] | None = None
    trouble: str = ""  # why the board could not be asked
    is_other: bool = False  # a board is there, and its program speaks other lines


def in_folder(folder: Path) -> Found:
    """What the folder and its runs hold; nothing is changed."""
    found = Found()
    for path in sorted(folder.glob("*")):
        if path.suffix in (".toml", ".json", ".html", ".svg") and path.is_file():
            kind = kinds.kind_of(path)
            if kind:
                found.files.setdefault(kind, []).append(path.name)
        elif path.suffix == ".py" and path.is_file() and "MCU" in path.read_text("utf-8", "replace")[:4000]:
            found.maps.append(path.name)
    for summary in sorted((folder / RUNS).glob("*/summary.json")):
        try:
            told = json.loads(summary.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if isinstance(told, dict) and ("runtime" in told or told.get("simulated")):
            found.rehearsals += 1
        else:
            found.evenings += 1
    return found


def of_board(client: Any) -> dict[str, Any]:
    """What the board says about itself: version, how far it is, what it was taught."""
    now = replies.status(client.ask("status"))
    told = fields(asked(client, "version"))
    witness = fields(asked(client, "witness"))
    return {
        "version": told.get("version", "?"),
        "name": told.get("board", "?"),
        "state": now["state"],
        "trip": now["trip"],
        "missing": now["missing"],
        "next_witness": witness.get("next", "none"),
        "release_c": int(witness.get("release_c", "0")),
        "is_calibrated": bool(settings.value_of(client, "calibration")),
        "has_learned": learning.tuning(client) != {name: settings.table()[name][0] for name in learning.TUNED},
        "plan": fields(asked(client, "plan")).get("plan", "settings"),
    }


def look(folder: Path, opened: Any) -> Found:
    """The folder, and the board behind `opened()` -> an open client; a board that is not there is told, not raised."""
    found = in_folder(folder)
    try:
        with opened() as client:
            found.board = of_board(client)
    except (LinkError, Refused) as error:
        found.trouble = str(error)
        found.is_other = isinstance(error, OtherProgram)
    return found


def step(found: Found, version: str) -> tuple[int, str, str]:
    """(step of the guide, the command to type, why)."""
    if found.board is not None:
        return with_board(found, found.board, version)
    if found.is_other:
        return 4, f"tizzone deploy --board {own_map(found)}", found.trouble
    sheets = found.files.get(kinds.BUILD_SHEET, [])
    if not sheets:
        return 1, "tizzone plan --new hall.toml", "there is no build sheet here: plan before anything is bought"
    if kinds.PLAN_PAGE not in found.files:
        page = Path(sheets[0]).stem + ".plan.html"
        return 1, f"tizzone plan {sheets[0]} --page {page}", "the sheet has no plan page yet; the electrician needs it"
    if not found.rehearsals:
        return 2, "tizzone rehearse", "no evening has been rehearsed here yet"
    if not found.maps:
        return 3, "tizzone boards --copy pico mine.py", "there is no pin map of your own here"
    why = f"no board answers ({found.trouble})" if found.trouble else "no board is plugged in"
    return 4, f"tizzone deploy --board {found.maps[0]}", f"{why}; plug it in and load it"


def own_map(found: Found) -> str:
    """The pin map to load: never silently that of another board."""
    return found.maps[0] if len(found.maps) == 1 else "YOUR_MAP.py"


def with_board(found: Found, board: dict[str, Any], version: str) -> tuple[int, str, str]:
    """The same where a board answers."""
    if board["trip"] != "none":
        return 8, f"tizzone explain {board['trip']}", f"the board has tripped ({board['trip']}); nothing goes on before"
    if board["state"] not in ("idle", "complete", "stopped"):
        return 8, "tizzone watch", f"an evening is on ({board['state']}): stay with the oven"
    if board["version"] != version:
        why = f"the board runs version {board['version']}, this laptop has {version}"
        return 4, f"tizzone deploy --board {own_map(found)}", why
    if not board["is_calibrated"]:
        return 5, "tizzone calibrate --live", "the board holds no correction of its probes"
    if board["next_witness"] != "none":
        return (
            6,
            "tizzone commission",
            (f"witness step '{board['next_witness']}' is open; released to {board['release_c']} °C until then"),
        )
    if not board["has_learned"]:
        return 7, "tizzone learn", "the board still has the tuning that it was delivered with"
    if found.evenings:
        return (
            9,
            "tizzone report --history runs",
            f"{found.evenings} evenings are recorded here: look at them once a month",
        )
    if board["plan"] == "settings":
        return 8, "tizzone bake list", "no bake plan is in force: choose one, then tizzone bake send NAME"
    return 8, "tizzone bake start", f"plan {board['plan']} is in force; then tizzone watch --record runs/first"
