"""`tizzone note`: a line of words into a recorded run, at a moment of it or about the whole evening."""

import argparse
import json
import time
from pathlib import Path

from host.runs import notes
from host.runs.recording import ROWS, SUMMARY, read_run
from host.runs.summary import clock

HELP = "write a note into a recorded run: 'dough 62 %'"
EXAMPLE = """\
examples:
  tizzone note runs/club-night "dough 62 %"                about the whole evening; of a run that is being recorded: now
  tizzone note runs/club-night "third one torn" --at 1:12:40
  tizzone note runs/club-night                             lists the notes

tizzone watch takes notes as well (key n). They stand in the report, in its picture and in the comparison of two runs.
Exit code: 0 written or listed, 2 wrong use."""
NEXT = "tizzone report on the same run folder"
FRESH_S = 60.0  # a run whose last row is younger is being recorded now


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("run_folder", metavar="RUN_FOLDER", help="folder with run.csv")
    parser.add_argument("text", nargs="?", metavar="TEXT", help="the note, in quotes; without: the notes are listed")
    parser.add_argument("--at", metavar="TIME", help="when, as the report says times: 1:03:10 or 47:57")
    parser.add_argument("--json", action="store_true", help="print the notes as JSON")


def run(options: argparse.Namespace) -> int:
    """0; one line for what cannot be."""
    folder = Path(options.run_folder)
    if options.text is not None:
        notes.add(folder, options.text, now_s(folder) if options.at is None else notes.seconds_of(options.at))
    record = read_run(folder)
    remarks: list[str] = []
    found = notes.notes_of(folder, record.events, remarks)
    if options.json:
        print(json.dumps({"notes": [one._asdict() for one in found], "remarks": remarks}, indent=2, ensure_ascii=False))
        return 0
    for line in [*(f"note: {remark}" for remark in remarks), *(notes.lines(found) or ["no notes yet"])]:
        print(line)
    length_s = record.rows["t_s"][-1] if len(record.rows) else 0.0
    for one in found:
        if one.t_s is not None and one.t_s > length_s:
            print(f"{one.letter} is later than the record, which ends at {clock(length_s)}: it is not in the picture")
    return 0


def now_s(folder: Path) -> float | None:
    """The newest row's time of a run that is being recorded; None for one that has ended."""
    path = folder / ROWS
    if (folder / SUMMARY).exists() or not path.is_file() or time.time() - path.stat().st_mtime > FRESH_S:
        return None
    rows = read_run(folder).rows
    return float(rows["t_s"][-1]) if len(rows) else None
