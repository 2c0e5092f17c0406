"""`tizzone evening`: the record of an evening to keep, as Markdown and as a page."""

import argparse
import json
from pathlib import Path

from host.files import kinds
from host.runs import evening
from host.runs.recording import read_run

HELP = "the record of an evening to keep: breads, stone, the cook's word, photographs, notes"
EXAMPLE = """\
examples:
  tizzone evening runs/club-night                                writes runs/club-night/evening.md
  tizzone evening runs/club-night --photo all.jpg --photo 3:torn.jpg --page club-night.html
  tizzone fetch breads --out runs/club-night                     first: the board's own book, with the cook's words

The Markdown is yours to write in; once you have, it is not written over without --force.
Exit code: 0 written, 2 wrong use."""
NEXT = "tizzone report --history runs, once a month"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("run_folder", metavar="RUN_FOLDER", help="folder with run.csv")
    parser.add_argument("--photo", action="append", default=[], metavar="[N:]FILE",
                        help="name of a photograph, 3:NAME for the third bread; may be said again")  # fmt: skip
    parser.add_argument("--title", metavar="WORDS", help="its title (default: the run's)")
    parser.add_argument("--out", metavar="FILE", help="the Markdown (default: evening.md in the run folder)")
    parser.add_argument("--page", metavar="FILE", help="write a page for the browser as well")
    parser.add_argument("--fahrenheit", action="store_true", help="temperatures in °F (default: as the board shows)")
    parser.add_argument("--force", action="store_true", help="write over a file that is there already")
    parser.add_argument("--json", action="store_true", help="print what is kept as JSON")


def run(options: argparse.Namespace) -> int:
    """0; one line for what cannot be."""
    folder = Path(options.run_folder)
    is_f = options.fahrenheit or (read_run(folder).summary or {}).get("unit") == "F"
    kept = evening.of_run(folder, options.photo, "F" if is_f else "C", options.title)
    out = Path(options.out) if options.out else folder / "evening.md"
    if options.page:
        kinds.check(options.page, kinds.EVENING_PAGE, options.force)  # both or none
    evening.write(out, evening.markdown(kept), options.force)
    if options.page:
        kinds.write(options.page, evening.page(kept), kinds.EVENING_PAGE, options.force)
    if options.json:
        rows = [dict(zip(evening.HEAD, row, strict=True)) for row in kept.rows]
        notes = [one._asdict() for one in kept.notes]
        told = {"title": kept.title, "began": kept.began, "figures": dict(kept.figures), "breads": rows, "notes": notes}
        print(
            json.dumps(
                {**told, "trips": kept.trips, "file": str(out), "page": options.page}, indent=2, ensure_ascii=False
            )
        )
        return 0
    for remark in kept.remarks:
        print(f"note: {remark}")
    wide = [max(len(row[n]) for row in [evening.HEAD, *kept.rows]) for n in range(len(evening.HEAD))]
    for row in [evening.HEAD, *kept.rows]:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip())
    print(f"file: {out}" + (f", page: {options.page}" if options.page else ""))
    return 0
