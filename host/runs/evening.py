"""The record of an evening that a cook keeps: its breads with times, the stone before and after, the cook's word,
photographs by name, notes. Made from a run folder, as Markdown to write in and as one page.

    made = of_run(folder, photos=["group.jpg", "3:torn.jpg"])
    markdown(made); page(made)

What the board has kept itself (`breads.json`, from `tizzone fetch`) is used where it lies in the run folder.
"""

from __future__ import annotations

import json
import math
import re
import zlib
from collections.abc import Sequence
from datetime import datetime, timedelta
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from host.errors import InputError
from host.files import kinds, writing
from host.page import MAINS, caution, document, scrolled
from host.runs import notes
from host.runs.recording import Run, read_run
from host.runs.summary import FIGURES, clock, column, kind, shown, summarise, when

HEAD = ("bread", "laid", "out", "baked", "stone before", "stone after", "the cook's word", "photographs")
FIRST = ("setpoint_c", "breads", "recovery_s", "energy_kwh", "highest_stone_c", "trips")
BOOK = "breads.json"
WORD = re.compile(r"verdict (pale|right|dark) (pale|right|dark): ok")
SEAL = re.compile(r"<!-- as written: ([0-9a-f]{8}) -->\s*$")


class Kept:
    """What is known of one evening; `rows`: one a bread, the cells of HEAD."""

    def __init__(self, title: str, began: str) -> None:
        self.title = title
        self.began = began
        self.figures: list[tuple[str, str]] = []  # (words, text)
        self.rows: list[tuple[str, ...]] = []
        self.trips: list[str] = []
        self.notes: list[notes.Note] = []
        self.photos: list[str] = []  # of the whole evening
        self.remarks: list[str] = []


def of_run(folder: Path | str, photos: Sequence[str] = (), unit: str = "C", title: str | None = None) -> Kept:
    """The evening in a run folder. RecordingError where no run is, InputError for a photograph of a bread that was not
    laid. `photos`: file names, `3:torn.jpg` for the third bread; `unit` of temperatures: "C" or "F"."""
    folder = Path(folder)
    record = read_run(folder)
    stored = record.summary or {}
    began = started(stored)
    kept = Kept(
        title or str(stored.get("title") or folder.resolve().name), began.strftime("%Y-%m-%d %H:%M") if began else ""
    )
    found = breads(record, book(folder / BOOK, record.remarks))
    named, kept.photos = sorted_photos(photos, len(found))
    for number, one in enumerate(found, 1):
        kept.rows.append((
            str(number), time_words(began, one["laid_s"]), time_words(began, one["out_s"]),
            "-" if one["baked_s"] is None else f"{one['baked_s']:.0f} s", degrees(one["before_c"], unit),
            degrees(one["after_c"], unit), one["word"], ", ".join(named.get(number, [])) or "-",
        ))  # fmt: skip
    energy_kwh = stored.get("energy_kwh")
    figures = summarise(record.rows, record.events, energy_kwh if isinstance(energy_kwh, float) else None)
    figures["breads"] = len(found)
    kept.figures = [(FIGURES[key][0], shown(key, figures[key], unit)) for key in FIRST]
    kept.trips = [f"trip at {clock(one['t_s'])}: {one['text']}" for one in figures["trip_list"]]
    kept.notes = notes.notes_of(folder, record.events, record.remarks)
    kept.remarks = record.remarks
    return kept


def started(stored: dict[str, Any]) -> datetime | None:
    """When the run began, if its runner has noted it."""
    try:
        return datetime.fromisoformat(str(stored.get("started")))
    except ValueError:
        return None


def time_words(began: datetime | None, t_s: float | None) -> str:
    """The clock's time, or the time since the start where no clock is known; "-" for what is not known."""
    if t_s is None:
        return "-"
    return (began + timedelta(seconds=t_s)).strftime("%H:%M") if began else clock(t_s)


def degrees(value_c: float | None, unit: str) -> str:
    """Whole degrees with their unit, "-" where not known."""
    if value_c is None or not math.isfinite(value_c):
        return "-"
    return f"{value_c * 1.8 + 32:.0f} °F" if unit == "F" else f"{value_c:.0f} °C"


def breads(record: Run, kept: list[dict[str, str]]) -> list[dict[str, Any]]:
    """One dict a bread: laid_s, out_s, baked_s, before_c and after_c of the stone, word; None for what is not known.

    Laid and out are the ends of the stage `bake`, or the load events of a record without stages; `kept`: the board's
    own book, whose words and estimates of the stone stand first."""
    t_s, stone_c = column(record.rows, "t_s"), column(record.rows, "stone_c")
    found: list[dict[str, Any]] = [
        {"laid_s": laid_s, "out_s": out_s, "baked_s": None if out_s is None else out_s - laid_s,
         "before_c": at(t_s, stone_c, laid_s), "after_c": at(t_s, stone_c, out_s), "word": "-"}
        for laid_s, out_s in bakes(record, t_s)
    ]  # fmt: skip
    for event in record.events:
        said = WORD.match(str(event.get("text", ""))) if kind(event) == "person" else None
        laid = [one for one in found if one["laid_s"] <= when(event)]
        if said and laid:
            laid[-1]["word"] = f"top {said[1]}, base {said[2]}"
    if len(kept) == len(found):
        for one, told in zip(found, kept, strict=True):
            one["before_c"] = float(told["stone_c"])
            one["after_c"] = float(told["stone_c"]) - float(told["sag_k"])
            one["baked_s"] = float(told["bake_s"]) or one["baked_s"]
            if "none" not in (told["top"], told["base"]):
                one["word"] = f"top {told['top']}, base {told['base']}"
    elif kept:
        record.remarks.append(f"{BOOK}: {len(kept)} breads where the run has {len(found)}; it is not used")
    return found


def bakes(record: Run, t_s: np.ndarray) -> list[tuple[float, float | None]]:
    """[(laid_s, out_s or None where the record ends in it), ...]."""
    is_baking = record.rows["stage"] == "bake"
    if not is_baking.any():
        return [(when(event), None) for event in record.events if kind(event) == "load"]
    edges = np.flatnonzero(np.diff(is_baking.astype(int)))
    starts = [0] * bool(is_baking[0]) + [int(i) + 1 for i in edges if not is_baking[i]]
    ends = [int(i) + 1 for i in edges if is_baking[i]]
    return [
        (float(t_s[i]), float(t_s[ends[n]]) if n < len(ends) else None) for n, i in enumerate(starts)
    ]  # fmt: skip


def at(t_s: np.ndarray, values: np.ndarray, moment_s: float | None) -> float | None:
    """The value of the row at a moment, None where there is none."""
    if moment_s is None or not len(t_s):
        return None
    value = float(values[min(len(t_s) - 1, int(np.searchsorted(t_s, moment_s)))])
    return value if math.isfinite(value) else None


def book(path: Path, remarks: list[str]) -> list[dict[str, str]]:
    """The board's book of breads as `fetch` has written it, [] where there is none; a strange file is remarked on."""
    if not path.is_file():
        return []
    try:
        lines = json.loads(path.read_text(encoding="utf-8"))["breads"]
        found = [dict(word.split("=", 1) for word in line.split() if "=" in word) for line in lines]
        for one in found:
            float(one["stone_c"]), float(one["sag_k"]), float(one["bake_s"]), one["top"], one["base"]
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        remarks.append(f"{path.name}: not a book of breads of ours; it is not used")
        return []
    return found


def sorted_photos(photos: Sequence[str], count: int) -> tuple[dict[int, list[str]], list[str]]:
    """({bread: [names]}, names of the whole evening). InputError for a bread that was not laid."""
    named: dict[int, list[str]] = {}
    rest = []
    for photo in photos:
        number, colon, name = photo.partition(":")
        if colon and number.isdigit():
            if not name or not 1 <= int(number) <= count:
                raise InputError(f"'{photo}': breads 1 to {count} were laid; say 1:NAME, or NAME for the whole evening")
            named.setdefault(int(number), []).append(name)
        else:
            rest.append(photo)
    return named, rest


def columns(kept: Kept) -> list[tuple[str, ...]]:
    """HEAD and the rows; without the photographs where no bread has one."""
    most = len(HEAD) if any(row[-1] != "-" for row in kept.rows) else len(HEAD) - 1
    return [row[:most] for row in (HEAD, *kept.rows)]


def markdown(kept: Kept) -> str:
    """The record as Markdown, stamped and sealed: `write` tells by the seal whether a hand has been in it."""
    head, *cells = columns(kept)
    rows = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    rows += ["| " + " | ".join(cell.replace("|", "/") for cell in row) + " |" for row in cells]
    parts = [
        f"<!-- Tizzone: {kinds.EVENING} -->", f"# {kept.title}", *([kept.began] if kept.began else []),
        "\n".join(f"- {words}: {text}" for words, text in kept.figures),
        "## Breads", "\n".join(rows) if kept.rows else "None laid.",
        *(f"**{line}**" for line in kept.trips),
    ]  # fmt: skip
    if kept.notes:
        parts += ["## Notes", "\n".join(f"- {notes.when_words(one)}: {one.text}" for one in kept.notes)]
    if kept.photos:
        parts += ["## Photographs", "\n".join(f"- {name}" for name in kept.photos)]
    parts += [*(f"({remark})" for remark in kept.remarks), MAINS]
    text = "\n\n".join(parts) + "\n\n"
    return f"{text}<!-- as written: {zlib.crc32(text.encode()):08x} -->\n"


def page(kept: Kept) -> str:
    """The record as one HTML document."""
    first, *cells = columns(kept)
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in first)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f'<td class="figure">{escape(cell)}</td>' for cell in row[1:6])
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[6:]) + "</tr>"
        for row in cells
    )  # fmt: skip
    figures = "".join(f"<div><dt>{escape(words)}</dt><dd>{escape(text)}</dd></div>" for words, text in kept.figures)
    photos = "".join(f"<li>{escape(name)}</li>" for name in kept.photos)
    body = [
        f"<h1>{escape(kept.title)}</h1>", f"<p>{escape(kept.began)}</p>" if kept.began else "",
        *(f'<p class="word">{escape(remark)}</p>' for remark in kept.remarks),
        *(f'<p class="trip">{escape(line)}</p>' for line in kept.trips),
        f'<dl class="first">{figures}</dl>', "<h2>Breads</h2>",
        scrolled(f"<table><tr>{head}</tr>{rows}</table>", "Breads") if kept.rows else "<p>None laid.</p>",
        notes.section(kept.notes), f"<h2>Photographs</h2><ul>{photos}</ul>" if photos else "", caution(),
    ]  # fmt: skip
    return document(kept.title, body)


def write(path: Path | str, text: str, force: bool = False) -> None:
    """Write the Markdown; NotWritten for another file that is there, but for a record that no hand has been in."""
    path = Path(path)
    is_untouched = kinds.kind_of(path) == kinds.EVENING and untouched(path)
    if not is_untouched and kinds.kind_of(path) == kinds.EVENING and not force:
        raise writing.NotWritten(f"{path}: somebody has written in it; say --out another name, or --force to lose that")
    kinds.write(path, text, kinds.EVENING, force or is_untouched)


def untouched(path: Path) -> bool:
    """Is the file as `markdown` wrote it?"""
    text = path.read_text(encoding="utf-8", errors="replace")
    seal = SEAL.search(text)
    return seal is not None and int(seal[1], 16) == zlib.crc32(text[: seal.start()].encode())
