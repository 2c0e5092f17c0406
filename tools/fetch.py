"""`tizzone fetch`: what the board has kept, as files: event log, counters, book of breads, witness steps, settings."""

import argparse
import time
from pathlib import Path

from host.talk import kept
from tools import onboard

HELP = "fetch the board's log, counters, breads, witness steps and settings as files"
EXAMPLE = """\
examples:
  tizzone fetch                              everything, into a fresh folder fetched/<date-time>
  tizzone fetch log --out board              the event log alone, as board/board.log
  tizzone fetch counters breads --json

A file that is there already is kept (--force writes over it). Exit code: 0 done, 1 the board refuses, 2 no board."""
NEXT = "tizzone report --history runs, once a month"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("part", nargs="*", choices=(*kept.PARTS, []), metavar="PART", help=", ".join(kept.PARTS))
    parser.add_argument("--out", metavar="DIR", help="folder (default: fetched/<date-time>)")
    parser.add_argument("--force", action="store_true", help="write over files that are there already")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 done, 1 refused; ToolError for a file that is there or no board."""
    folder = Path(options.out or Path("fetched") / time.strftime("%Y%m%d-%H%M%S"))
    return onboard.answered("fetch", options, lambda: fetched(options, folder))


def fetched(options: argparse.Namespace, folder: Path) -> dict:
    """{file: entries}."""
    with onboard.board(options) as client:
        made = kept.fetch(client, list(dict.fromkeys(options.part)) or list(kept.PARTS), folder, options.force)
    tell = onboard.teller(options)
    for name, count in made.items():
        tell(f"{count:5d} entries  {name}")
    return made
