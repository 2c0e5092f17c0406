"""`tizzone report`: the figures and the page of a run folder."""

import json
from pathlib import Path

from host.recording import RecordingError, clean, read_run
from host.report import page, summarise, table
from tools import ToolError

HELP = "figures and a page with a picture from a run folder"
EXAMPLE = """example:
  tizzone report runs/club-night              figures here, page in runs/club-night/report.html
  tizzone report runs/club-night --json       the figures for machines"""

# What the runner counts itself, better than one row a second can tell.
COUNTED = ("top", "deck", "contactor")


def add_arguments(parser):
    """Arguments of the command."""
    parser.add_argument("run_folder", metavar="RUN_FOLDER", help="folder with run.csv")
    parser.add_argument("--out", metavar="FILE", help="the page (default: report.html in the run folder)")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")


def run(options):
    """Read the run, write its page, print its figures; 0, or ToolError for an unusable input."""
    folder = Path(options.run_folder)
    try:
        record = read_run(folder)
    except RecordingError as error:
        raise ToolError(str(error)) from None
    stored = record.summary or {}
    summary = summarise(
        record.rows,
        record.events,
        number(stored.get("energy_kwh")),
        {name: stored[f"{name}_switchings"] for name in COUNTED if number(stored.get(f"{name}_switchings"))},
    )
    out = Path(options.out) if options.out else folder / "report.html"
    title = str(stored.get("title") or f"Run {folder.resolve().name}")
    about = stored.get("about")
    about = [str(line) for line in about] if isinstance(about, list) else []
    write(out, page(record.rows, record.events, summary, title, about, record.remarks))
    if options.json:
        print(json.dumps({**clean(summary), "remarks": record.remarks, "page": str(out)}, indent=2))
        return 0
    for remark in record.remarks:
        print(f"note: {remark}")
    print(table(summary))
    print(f"page: {out}")
    return 0


def number(value):
    """`value` if it is a number, else None."""
    return value if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def write(out, text):
    """Write the page; ToolError where it cannot be."""
    try:
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        raise ToolError(f"{out}: cannot be written ({error.strerror})") from None
