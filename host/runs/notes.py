"""What a cook writes into a run: a line of words, at a moment of it or about the whole evening.

    add(folder, "dough 62 %", t_s=3790.0)      afterwards, into notes.jsonl beside the run
    notes_of(folder, events, remarks)          these and those that were typed while it was recorded

A note typed in the live view is an event of the run (`kind` "note"). Afterwards the run's own files stay as they are.
"""

from __future__ import annotations

import json
import math
import re
from html import escape
from pathlib import Path
from typing import Any, NamedTuple

from host.errors import InputError
from host.files import kinds, writing
from host.runs.recording import ROWS, RecordingError
from host.runs.summary import clock, kind, when

FILE = "notes.jsonl"
LONGEST = 200  # letters: a line on the page, not an essay
TIME = re.compile(r"(?:(\d+):)?(\d{1,3}):(\d\d)(?: *(?:h|min))?")


class Note(NamedTuple):
    """`t_s`: seconds since the start of the run, None for the whole evening; `letter`: its mark in the picture."""

    t_s: float | None
    text: str
    letter: str = ""


def cleaned(text: str) -> str:
    """One line of at most LONGEST printable letters; InputError for an empty or a longer one."""
    line = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    if not line:
        raise InputError('a note has words: tizzone note RUN_FOLDER "dough 62 %"')
    if len(line) > LONGEST:
        raise InputError(f"a note has at most {LONGEST} letters, this one {len(line)}; make two of it")
    return line


def seconds_of(text: str) -> float:
    """`1:03:10` or `47:57`, as the report says times, in seconds; InputError for anything else."""
    found = TIME.fullmatch(text.strip())
    if not found or int(found[3]) > 59 or (found[1] and int(found[2]) > 59):
        raise InputError(f"'{text}' is no time of a run: say 1:03:10 (hours) or 47:57 (minutes)")
    return 3600.0 * int(found[1] or 0) + 60.0 * int(found[2]) + float(found[3])


def add(folder: Path | str, text: str, t_s: float | None = None) -> None:
    """Append a note to the run in `folder`. InputError for words that are none, RecordingError where no run is,
    NotWritten where it cannot be; whatever stood in the file stays."""
    folder = Path(folder)
    line = cleaned(text)
    if not (folder / ROWS).is_file():
        raise RecordingError(f"{folder}: no run here ({ROWS} is missing)")
    path = folder / FILE
    kinds.check(path, kinds.NOTES)
    try:
        before = path.read_text(encoding="utf-8", errors="surrogateescape") if path.is_file() else ""
    except OSError as error:
        raise RecordingError(f"{path}: cannot be read ({error.strerror})") from None
    if not before.strip():
        before = json.dumps({"tizzone": kinds.NOTES}) + "\n"
    if not before.endswith("\n"):  # a line that was cut: it stays, and is left out by the reader
        before += "\n"
    made = json.dumps({"t_s": None if t_s is None else round(t_s, 3), "text": line}, ensure_ascii=False)
    writing.write_bytes(path, (before + made + "\n").encode("utf-8", "surrogateescape"))


def notes_of(folder: Path | str, events: list[dict[str, Any]], remarks: list[str]) -> list[Note]:
    """Every note of a run by time, those about the whole evening last; what is damaged goes to `remarks`."""
    found: list[tuple[float | None, str]] = [
        (when(event), str(event.get("text", ""))) for event in events if kind(event) == "note"
    ]
    path = Path(folder) / FILE
    if path.is_file():
        found += read(path, remarks)
    found = sorted((one for one in found if one[1].strip()), key=lambda one: math.inf if one[0] is None else one[0])
    return [Note(t_s, text, letter_of(number)) for number, (t_s, text) in enumerate(found)]


def read(path: Path, remarks: list[str]) -> list[tuple[float | None, str]]:
    """(t_s or None, text) of each line; a damaged one is left out, with a word."""
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError as error:
        remarks.append(f"{path.name}: cannot be read ({error.strerror})")
        return []
    found = []
    for number, line in enumerate(lines, 1):
        try:
            made = json.loads(line)
            if "tizzone" in made:
                continue
            t_s = None if made["t_s"] is None else float(made["t_s"])
            if t_s is not None and not math.isfinite(t_s):
                raise ValueError("t_s")
            found.append((t_s, cleaned(str(made["text"]))))
        except (ValueError, TypeError, KeyError, RecursionError):
            if line.strip():
                remarks.append(f"{path.name}: line {number} is damaged and left out")
    return found


def letter_of(number: int) -> str:
    """a, b ... z, aa, ab ...: bread has the numbers."""
    return (letter_of(number // 26 - 1) if number >= 26 else "") + chr(ord("a") + number % 26)


def when_words(note: Note) -> str:
    """`1:03:10 h`, or that it is about the whole evening."""
    return "evening" if note.t_s is None else clock(note.t_s)


def lines(notes: list[Note]) -> list[str]:
    """For a terminal: `note a at 1:03:10 h: dough 62 %`."""
    return [
        f"note {one.letter}{'' if one.t_s is None else ' at ' + clock(one.t_s)}: {one.text}" for one in notes
    ]  # fmt: skip


def section(notes: list[Note]) -> str:
    """The notes as a part of a page, each with its letter in the picture; "" where there is none."""
    if not notes:
        return ""
    rows = "".join(
        f'<tr><th scope="row"><b>{one.letter}</b></th><td class="figure">{when_words(one)}</td>'
        f"<td>{escape(one.text)}</td></tr>"
        for one in notes
    )
    return f"<h2>Notes</h2><table>{rows}</table>"
