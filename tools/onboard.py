"""What the commands that speak to a board share: --port, one open link, refusals, a question with yes or no."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Callable, Iterator
from typing import Any

from host.files.writing import NotWritten
from host.link import LinkError
from host.link.client import LineClient, open_board
from host.talk import Refused
from tools import ToolError


class NoAnswer(ToolError):
    """Nobody is at the keyboard to say yes."""


def add_port(parser: argparse.ArgumentParser) -> None:
    """--port and --json."""
    parser.add_argument("--port", metavar="P", help="serial port (default: the one board that is plugged in)")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


@contextlib.contextmanager
def board(options: argparse.Namespace) -> Iterator[LineClient]:
    """The open link; what goes wrong on it becomes one line."""
    try:
        with open_board(options.port) as client:
            yield client
    except (LinkError, NotWritten) as error:
        raise ToolError(str(error)) from None


def answered(command: str, options: argparse.Namespace, work: Callable[[], Any], prints: bool = True) -> int:
    """Run `work`; 0, or 1 with one line where the board or a person says no. Its result is printed as JSON if asked.

    `prints` False: `work` prints for itself and returns the exit code."""
    try:
        result = work()
    except Refused as error:
        if options.json:
            print(json.dumps({"done": False, "reason": str(error)}))
        print(f"tizzone {command}: {error}", file=sys.stderr)
        return 1
    if not prints:
        return int(result)
    if options.json:
        print(json.dumps(result, indent=1))
    return 0


def teller(options: argparse.Namespace) -> Callable[[str], None]:
    """Prints a line for a person; nothing where JSON was asked for."""
    return (lambda text: None) if options.json else (lambda text: print(text, flush=True))


def confirmed(question: str, says_yes: bool) -> bool:
    """Whether a person says yes; `says_yes`: it was said with --yes already. NoAnswer where nobody can be asked."""
    if says_yes:
        return True
    if not sys.stdin.isatty():
        raise NoAnswer(f"{question} Nobody can be asked here: say --yes if that is meant")
    try:
        return input(f"{question} (yes/no) ").strip().lower() in ("yes", "y")
    except EOFError:
        return False


def question(text: str) -> str:
    """What a person types, without the blanks around it; NoAnswer where nobody can be asked."""
    if not sys.stdin.isatty():
        raise NoAnswer(f"{text.rstrip(': ')}: nobody can be asked here; say it as an option (--help)")
    try:
        return input(text).strip()
    except EOFError:
        raise NoAnswer("nobody answers; nothing was done") from None
