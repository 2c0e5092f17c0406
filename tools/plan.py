"""`tizzone plan`: what this oven draws, what must carry it, what must cool the relay."""

import argparse
import json
import sys
from pathlib import Path

from host.files import kinds
from host.files.writing import NotWritten
from host.mains import blank, example, plan, planpage, plantext, reversal, sheet, unverified
from tools import ToolError

HELP = "the mains and parts plan: what the oven draws and what must carry it, before buying"
EXAMPLE = """\
example:
  tizzone plan --new hall.toml            write a commented build sheet to fill in
  tizzone plan --unverified               what is from memory here and must be looked up
  tizzone plan hall.toml --page hall.plan.html
                                          the plan, and a page for the electrician
  tizzone plan hall.toml --run runs/club  add a run's hours to hall.ledger.json

Exit code: 0 no finding says stop, 1 at least one does, 2 the sheet cannot be used.
The plan is a question to a licensed electrician; it never says that a build may be switched on."""
NEXT = "read every change, show the page to the electrician; then tizzone rehearse"
NEXT_IF_NOT = "mend every stop, then the same line again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `tizzone plan`."""
    parser.add_argument("sheet", metavar="BUILD.toml", nargs="?", help="the build sheet")
    parser.add_argument("--new", metavar="FILE", help="write a commented sheet to fill in and stop")
    parser.add_argument("--example", metavar="FILE", help="write a filled-in example sheet and stop")
    parser.add_argument("--unverified", action="store_true",
                        help="list every figure and rule from memory or from one source, and stop")  # fmt: skip
    parser.add_argument("--page", metavar="FILE", help="write the printable page (HTML)")
    parser.add_argument("--run", dest="run_files", metavar="RUN", nargs="+", default=[],
                        help="run folders or CSV files whose hours above rating go into the ledger")  # fmt: skip
    parser.add_argument("--ledger", metavar="FILE",
                        help="the ledger (default: beside the sheet, .ledger.json)")  # fmt: skip
    parser.add_argument("--quick", action="store_true",
                        help="energy by a plain thermostat, not by a rehearsal")  # fmt: skip
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print the plan as JSON")


def run(options: argparse.Namespace) -> int:
    """Run the command; 0 no stop, 1 a stop; ToolError for unusable input."""
    if options.unverified:
        options.following = "look up what your build rests on; then tizzone next"
        return _unverified(options.json)
    if options.new is not None:
        return _new(Path(options.new), blank.blank(), options)
    if options.example is not None:
        return _new(Path(options.example), example.EXAMPLE, options)
    if options.sheet is None:
        raise ToolError("give a build sheet, or --new FILE to write one")
    try:
        if options.page:
            kinds.check(options.page, kinds.PLAN_PAGE, options.force)
        checked = sheet.read(options.sheet)
        ledger, words = _ledger(options, checked)
    except sheet.SheetError as error:
        raise ToolError("\n".join(error.lines)) from None
    except (reversal.RunError, NotWritten) as error:
        raise ToolError(str(error)) from None
    if not options.quick:
        print("rehearsing an evening, some ten seconds (--quick leaves it out)", file=sys.stderr)
    made = plan.make(checked, ledger, words, rehearse=not options.quick)
    if options.page:
        _write(Path(options.page), planpage.page(made), kinds.PLAN_PAGE, options.force)
    if options.json:
        print(json.dumps(made.as_json(), indent=1))
    else:
        print("\n".join(plantext.lines(made)))
    return 1 if made.stopped else 0


def _ledger(options, checked):
    default = Path(options.sheet).with_suffix(".ledger.json")
    path = Path(options.ledger) if options.ledger else default
    ledger, words = reversal.load_ledger(path), []
    for run_file in options.run_files:
        words += reversal.add_run(ledger, checked, run_file)
    if options.run_files:
        reversal.save_ledger(path, ledger)
    return ledger, words


def _unverified(as_json):
    rows = unverified.rows()
    if as_json:
        print(json.dumps([row._asdict() for row in rows], indent=1))
    else:
        print("\n".join(unverified.lines(rows)))
    return 0


def _new(path, text, options):
    first = "its readings are invented: put yours in their place" if text is example.EXAMPLE else "fill it in"
    options.following = f"{first}, then tizzone plan {path} --page {path.stem}.plan.html"
    if path.exists():
        raise ToolError(f"{path}: is there already; choose another name")
    _write(path, text, kinds.BUILD_SHEET)
    print(f"{path}: written")
    return 0


def _write(path, text, kind, force=False):
    try:
        kinds.write(path, text, kind, force)
    except NotWritten as error:
        raise ToolError(str(error)) from None
