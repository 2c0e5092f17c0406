"""`tizzone report`: the figures and the page of a run folder, or what many evenings say together."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from host.files import kinds
from host.files.writing import NotWritten
from host.history import command, last, wear
from host.history.folders import read_evening, stamp
from host.mains import sheet
from host.runs import compare
from host.runs.notes import lines, notes_of
from host.runs.recording import RecordingError, clean, read_run
from host.runs.report import page, summarise, table
from host.runs.ripple import line_of
from tools import ToolError

HELP = "figures and a page from a run folder; --history: what many evenings say"
EXAMPLE = """example:
  tizzone report runs/club-night              figures here, page in runs/club-night/report.html
  tizzone report runs/club-night --json       the figures for machines
  tizzone report runs/may runs/june           the same figures of two runs, side by side; chart in may-and-june.html
  tizzone report --history runs               all evenings below runs: is an element, gasket, relay or probe failing?
  tizzone report --history runs --since 2026-03-01     begin anew after a repair or with another stone
  tizzone report --history runs --sheet hall.toml      count the life of the relays that are built

Rehearsals, evenings with an injected fault, practice boards and other boards' nights are kept apart (--oven picks).

--history ends with 0 (nothing to say), 1 (something found) or 2 (nothing usable). Measured the mains? A file
measured.json in the run folder, {"mains_v": 229, "current_a": 12.4} (at full output), makes small changes visible."""

# What the runner counts itself, better than one row a second can tell.
COUNTED = ("top", "deck", "contactor")
NEXT = "tizzone report --history runs, once a month"
NEXT_IF_NOT = "check what each finding names; after a repair begin anew with --since"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("run_folder", metavar="RUN_FOLDER", nargs="?", help="folder with run.csv")
    parser.add_argument("other", metavar="OTHER", nargs="?", help="a second run: the same figures side by side")
    parser.add_argument("--history", metavar="DIR", help="compare all runs below this folder")
    parser.add_argument("--since", metavar="DATE", help="of --history: leave out what was before, YYYY-MM-DD")
    parser.add_argument("--oven", metavar="NAME", help="of --history: this board's (or simulated oven's) evenings")
    parser.add_argument("--sheet", metavar="BUILD.toml", help="of --history: the build sheet, for the parts' lives")
    parser.add_argument("--relay-life", type=int, metavar="N", help="of --history: switchings it lasts; 0: solid state")
    parser.add_argument("--out", metavar="FILE", help="the page (default: report.html or history.html there; of two "
                        "runs A-and-B.html here)")  # fmt: skip
    parser.add_argument("--fahrenheit", action="store_true", help="temperatures in °F (default: as the board shows)")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")


def run(options: argparse.Namespace) -> int:
    """Read the run or the history, write the page, print the figures; ToolError for an unusable input."""
    if (options.run_folder is None) == (options.history is None):
        raise ToolError("say a RUN_FOLDER or --history DIR, one of them")
    if options.other is not None:
        return two_runs(options)
    return one_run(options) if options.history is None else many_runs(options)


def two_runs(options: argparse.Namespace) -> int:
    """Two run folders beside each other; 0. A page is written where --out says."""
    if options.history is not None or has_history_options(options):
        raise ToolError("two runs are compared without --history and what belongs to it")
    folders = [Path(options.run_folder), Path(options.other)]
    try:
        records = [read_run(folder) for folder in folders]
    except RecordingError as error:
        raise ToolError(str(error)) from None
    one, other = (summary_of(record) for record in records)
    names = (folders[0].resolve().name, folders[1].resolve().name)
    unit = "F" if options.fahrenheit or all(unit_of(record) == "F" for record in records) else "C"
    figures = compare.beside(one, other, unit)
    first, second = (notes_of(folder, record.events, record.remarks)
                     for folder, record in zip(folders, records, strict=True))  # fmt: skip
    out = Path(options.out or f"{names[0]}-and-{names[1]}.html")
    made = compare.page(names, figures, (records[0], records[1]), (first, second), unit)
    write(out, made, kinds.RUN_PAGE, options.force)
    if options.json:
        told = [[note._asdict() for note in found] for found in (first, second)]
        print(json.dumps({"runs": names, "lines": figures, "notes": told, "page": str(out)}, indent=2))
        return 0
    for folder, record in zip(folders, records, strict=True):
        for remark in record.remarks:
            print(f"note: {folder.name}: {remark}")
    print("\n".join([compare.text(names, figures), *compare.note_lines(names, (first, second)), f"page: {out}"]))
    return 0


def unit_of(record: Any) -> str:
    """The unit of temperatures that the board showed while it was recorded: "F", else "C"."""
    return "F" if (record.summary or {}).get("unit") == "F" else "C"


def summary_of(record: Any) -> dict[str, Any]:
    """Figures of a run, with what its runner counted itself."""
    stored = record.summary or {}
    counted = {name: stored[f"{name}_switchings"] for name in COUNTED if number(stored.get(f"{name}_switchings"))}
    return summarise(record.rows, record.events, number(stored.get("energy_kwh")), counted, faults_of(stored))


def faults_of(stored: dict[str, Any]) -> list[str]:
    """The faults that were injected into a rehearsal, "name@seconds"."""
    faults = stored.get("faults")
    return [text for text in faults if is_timed(text)] if isinstance(faults, list) else []


def is_timed(text: object) -> bool:
    """Whether a text of a summary is "name@seconds"."""
    return isinstance(text, str) and text.partition("@")[2].replace(".", "", 1).isdigit()


def many_runs(options: argparse.Namespace) -> int:
    """`--history`: 0 nothing to say, 1 something found."""
    since = stamp(options.since) if options.since else None
    if options.since and since is None:
        raise ToolError(f"--since {options.since}: say YYYY-MM-DD")
    if options.relay_life is not None and options.relay_life < 0:
        raise ToolError("--relay-life: 0 or more")
    try:
        history, found, remarks, used = command.run(options.history, since, lives(options), options.oven)
    except (RecordingError, OSError) as error:
        raise ToolError(str(error)) from None
    if not history.evenings:
        said = [*history.skipped, *history.remarks]
        why = f" ({said[0]})" if said else ""
        raise ToolError(f"{options.history}: no evening that can be used{why}")
    out = Path(options.out) if options.out else Path(options.history) / "history.html"
    title = f"Evenings in {Path(options.history).resolve().name}"
    write(out, command.page(history, found, remarks, used, title), kinds.HISTORY_PAGE, options.force)
    if options.json:
        print(command.as_json(history, found, remarks, used, out))
    else:
        print(command.printed(history, found, remarks, used))
        print(f"page: {out}")
    return 1 if any(not one.is_note for one in found) else 0


def has_history_options(options: argparse.Namespace) -> bool:
    """Whether something was said that --history alone takes."""
    return bool(options.since or options.oven or options.sheet) or options.relay_life is not None


def lives(options: argparse.Namespace) -> dict[str, int]:
    """Switchings that the parts last, as --sheet and --relay-life say; ToolError for an unusable sheet."""
    try:
        found = dict(wear.USUAL) if options.sheet is None else wear.lives_of(sheet.read(options.sheet))
    except sheet.SheetError as error:
        raise ToolError(error.lines[0]) from None
    if options.relay_life is not None:
        found.update(top=options.relay_life, deck=options.relay_life)
    return found


def one_run(options: argparse.Namespace) -> int:
    """One run folder; 0."""
    if has_history_options(options):
        raise ToolError("--since, --oven, --sheet and --relay-life belong to --history")
    folder = Path(options.run_folder)
    try:
        record = read_run(folder)
    except RecordingError as error:
        raise ToolError(str(error)) from None
    stored = record.summary or {}
    summary = summary_of(record)
    near = line_of(record.rows)
    if near and near[1]:
        record.remarks.append(near[0])
    out = Path(options.out) if options.out else folder / "report.html"
    title = str(stored.get("title") or f"Run {folder.resolve().name}")
    about = stored.get("about")
    about = [str(line) for line in about] if isinstance(about, list) else []
    began = stamp(str(stored.get("started", "")))
    about += [f"Began {began:%Y-%m-%d %H:%M} by the laptop's clock."] if began else []
    changed = since_last(folder)
    written = notes_of(folder, record.events, record.remarks)
    unit = "F" if options.fahrenheit else unit_of(record)
    made = page(record.rows, record.events, summary, title, about, record.remarks, changed, written, unit)
    write(out, made, kinds.RUN_PAGE, options.force)
    if options.json:
        compared = changed and {"run": changed[0], "lines": changed[1]}
        told = {**clean(summary), "remarks": record.remarks, "page": str(out), "since_last": compared}
        told["notes"] = [one._asdict() for one in written]
        print(json.dumps(told, indent=2))
        return 0
    for remark in record.remarks:
        print(f"note: {remark}")
    if began:
        print(f"began {began:%Y-%m-%d %H:%M}")
    print("\n".join([table(summary, unit), *lines(written)]))
    print(f"page: {out}")
    return 0


def since_last(folder: Path) -> tuple[str, list[tuple[str, str, str, str]]] | None:
    """(name of the run before, lines of the comparison), or None where there is none like this one beside it."""
    now = read_evening(folder, folder.name)
    found = None if now is None else last.before(folder, now)
    return None if now is None or found is None else (found[0], last.compare(now, found[1]))


def number(value: float | str | None) -> float | None:
    """`value` if it is a number, else None."""
    return value if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def write(out: Path, text: str, kind: str, force: bool) -> None:
    """Write the page; ToolError where it cannot be."""
    try:
        kinds.write(out, text, kind, force)
    except NotWritten as error:
        raise ToolError(str(error)) from None
