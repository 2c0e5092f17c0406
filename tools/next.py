"""`tizzone next`: looks at this folder and the board, and says which step of the guide comes next, and why."""

import argparse
import json
from pathlib import Path

from host.files import kinds
from host.link.client import open_board
from host.talk import guide
from tools import ToolError, version

HELP = "which step of the guide comes next, from this folder and the board, and why"
EXAMPLE = """\
examples:
  tizzone next                     this folder, and the board if one is plugged in
  tizzone next --port /dev/ttyACM0

Nothing is written and nothing is changed. Exit code: 0 told, 2 wrong use or a port that is named but does not open."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--folder", metavar="DIR", default=".", help="where your files lie (default: here)")
    parser.add_argument("--port", metavar="P", help="serial port (default: the one board that is plugged in, if any)")
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(options: argparse.Namespace) -> int:
    """0 told; ToolError for a folder or a named port that cannot be used."""
    folder = Path(options.folder)
    if not folder.is_dir():
        raise ToolError(f"{folder}: no such folder")
    found = guide.look(folder, lambda: open_board(options.port))
    if options.port and found.board is None and not found.is_other:
        raise ToolError(found.trouble)
    number, command, why = guide.step(found, version())
    if options.json:
        print(json.dumps({"step": number, "command": command, "why": why, "board": found.board, "files": found.files,
                          "rehearsals": found.rehearsals, "evenings": found.evenings}, indent=1))  # fmt: skip
        return 0
    for line in seen(found):
        print(line)
    print(f"step {number} of the guide comes next: {command}\nbecause: {why}")
    return 0


def seen(found: guide.Found) -> list[str]:
    """What was looked at, for a person."""
    names = [f"{kind}: {', '.join(files)}" for kind, files in found.files.items() if kind != kinds.RUN_PAGE]
    runs = f"{found.rehearsals} rehearsals, {found.evenings} recorded evenings"
    here = "; ".join([*names, *(["pin map: " + ", ".join(found.maps)] if found.maps else []), runs])
    if found.board is None:
        return [f"here: {here}", f"board: {found.trouble}"]
    board = found.board
    return [f"here: {here}", f"board: {board['name']}, version {board['version']}, {board['state']}, "
            f"released to {board['release_c']} °C, plan {board['plan']}"]  # fmt: skip
