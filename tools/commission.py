"""`tizzone commission`: witness steps in order; the board measures and holds the setpoint that they have earned."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from host.commissioning import bench, paper
from host.commissioning.course import NAMES, Course
from host.commissioning.hands import Hands, SimulatedHands
from host.commissioning.page import page
from host.commissioning.person import AnswerError, Answers, Terminal
from host.commissioning.procedures import Failed
from host.commissioning.record import Record, RecordError
from host.files import kinds
from host.files.writing import NotWritten
from host.link import LinkError
from host.link.client import SimulatedClient, open_board
from host.mains import sheet
from host.simulator.rehearsal import Rehearsal
from tools import ToolError
from tools.rehearse import plant_named

if TYPE_CHECKING:
    from host.link.client import LineClient


HELP = "witness steps from the papers to 450 °C, with a record"
EXAMPLE = (
    """examples:
  tizzone commission --record hall.record.json               the one board that is plugged in
  tizzone commission --port /dev/ttyACM0 --record hall.record.json
                                                             go on where the board stands
  tizzone commission --simulated --answers answers.toml      practise the whole course on a simulated board
  tizzone commission --status                                how far the board is, and why

Steps: """
    + ", ".join(NAMES)
    + """. Each is witnessed by name and initials. What the board can measure it
measures itself: no message can take its place (the board's prompt can, so keep it to yourself). The page beside
the record is for printing and keeping. Steps with mains are done by or under a licensed electrician."""
)
DEFAULT = "commissioning.json"
NEXT = "tizzone next"
NEXT_IF_NOT = "mend what failed; tizzone commission goes on where it was left"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--port", metavar="P", help="serial port (default: the one board that is plugged in)")
    parser.add_argument("--simulated", action="store_true", help="practise on a simulated board and oven")
    parser.add_argument("--oven", default="standard", help="simulated: preset or random:SEED (default: standard)")
    parser.add_argument("--board", default="boards/pico.py", help="simulated: pin map (default: pico)")
    parser.add_argument("--record", metavar="FILE", help=f"the record; its page lies beside it (default: {DEFAULT})")
    parser.add_argument(
        "--answers",
        metavar="FILE",
        help="TOML file with every entry, instead of questions; acts at a real oven are still asked for",
    )
    parser.add_argument("--sheet", metavar="BUILD.toml", help="offer what the build sheet knows (plate, earth reading)")
    parser.add_argument("--bench", metavar="FILE", help="take what tizzone player drill has shown as evidence")
    parser.add_argument("--new-answers", metavar="FILE", help="write an answers file to prepare on paper, and stop")
    parser.add_argument("--until", metavar="STEP", choices=NAMES, help="leave after this step")
    parser.add_argument("--restart", action="store_true", help="forget every step of the board and begin anew")
    parser.add_argument("--status", action="store_true", help="say how far the board is, and leave")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print the outcome as JSON")


def run(options: argparse.Namespace) -> int:
    """Carry out the steps; 0 all (or up to --until) passed, 1 one failed, ToolError for wrong use."""
    known = of_sheet(options.sheet)
    if options.new_answers:
        return new_answers(options, known)
    try:
        person = Answers.read(options.answers) if options.answers else Terminal(known=known)
        if isinstance(person, Answers) and sys.stdin.isatty():
            person.terminal = Terminal(known=known)
        if options.answers and not options.json:
            person.say = lambda text: print(text)  # type: ignore[method-assign]
        record = Record.open(options.record or DEFAULT)
        kinds.check(page_beside(record), kinds.COMMISSIONING_PAGE, options.force)
        client, hands = connected(options, person)
        with client:
            course = Course(client, person, hands, record)
            if options.status:
                return told(options, course.bench.witness())
            course.begin(options.simulated, options.restart)
            if options.bench:
                bench.take(record, options.bench)
            outcome = course.run(options.until)
    except (AnswerError, RecordError, LinkError, Failed, NotWritten) as error:
        raise ToolError(str(error)) from None
    except EOFError:
        raise ToolError("no one answers: run it in a terminal, or say --answers FILE") from None
    except KeyboardInterrupt:
        print("left; stop was sent, look at the oven. Steps done are kept: run it again to go on", file=sys.stderr)
        return 1
    return finished(options, record, outcome)


def of_sheet(path: str | None) -> dict:
    """What the build sheet knows of the answers; {} without one."""
    if path is None:
        return {}
    try:
        return paper.from_sheet(sheet.read(path))
    except sheet.SheetError as error:
        raise ToolError(error.lines[0]) from None


def new_answers(options: argparse.Namespace, known: dict) -> int:
    """An answers file to fill in; 0."""
    try:
        kinds.write(options.new_answers, paper.template(known), kinds.ANSWERS, options.force)
    except NotWritten as error:
        raise ToolError(str(error)) from None
    print(
        f"{options.new_answers}: written; print it, fill it in, then tizzone commission --answers {options.new_answers}"
    )
    return 0


def connected(
    options: argparse.Namespace, person: Answers | Terminal
) -> tuple[LineClient | SimulatedClient, Hands | SimulatedHands]:
    """(client, hands)."""
    if not options.simulated:
        # A file may hold the entries; what is done at a real oven, and presence, are asked of a person there and then.
        terminal = person if isinstance(person, Terminal) else Terminal()
        person.stays = terminal.stays  # type: ignore[method-assign]
        return open_board(options.port), Hands(terminal)
    if options.port:
        raise ToolError("--port or --simulated, not both")
    try:
        plant = plant_named(options.oven, 1)
        rehearsal = Rehearsal(plant=plant, board=options.board, commissioned=False, cook=None)
    except (ValueError, OSError) as error:
        raise ToolError(str(error)) from None
    rehearsal.advance(5.0)  # the board's start, with its grace window
    return SimulatedClient(rehearsal), SimulatedHands(rehearsal, plant)


def told(options: argparse.Namespace, got: dict[str, str]) -> int:
    """How far the board is."""
    options.following = NEXT if got["next"] == "none" else "tizzone commission"
    if options.json:
        print(json.dumps(got, indent=2))
    else:
        print(f"{got['done']} of {len(NAMES)} steps done, released to {got['release_c']} °C, next: {got['next']}")
        if got["reason"] != "none":
            print(f"because: {got['reason']}")
    return 0


def page_beside(record: Record) -> Path:
    """The page of a record lies beside it."""
    return Path(record.path).with_suffix(".html")


def finished(options: argparse.Namespace, record: Record, outcome: tuple[int, int, str]) -> int:
    """Page and last words."""
    done, release_c, reason = outcome
    options.following = "tizzone learn" if done == len(NAMES) else "tizzone commission, where it was left"
    path = page_beside(record)
    try:
        kinds.write(path, page(record.data), kinds.COMMISSIONING_PAGE, options.force)
    except NotWritten as error:
        raise ToolError(str(error)) from None
    if options.json:
        words = {"done": done, "release_c": release_c, "failed": reason, "record": str(record.path), "page": str(path)}
        print(json.dumps(words, indent=2))
    else:
        failed = f"; FAILED {reason}" if reason else ""
        print(f"{done} of {len(NAMES)} steps done; released to {release_c} °C{failed}")
        print(f"record: {record.path}   page to print: {path}")
    return 1 if reason else 0
