"""`tizzone pins`: is this pin map one that its board, its boot and its probes allow?"""

import argparse
import json
import textwrap
from pathlib import Path

from host import findings
from host.files import kinds
from host.files.writing import NotWritten
from host.pins import drawing, pin_map, release, ticklist, usable_map
from host.pins.finding import plain
from tools import ToolError

HELP = "check a pin map before it goes onto a board; draw its wiring, list the wires to tick off"
EXAMPLE = """\
example:
  tizzone pins boards/pico.py                       every finding, worst first
  tizzone pins mine.py --wanted 350                 for a dome of 350 °C at most
  tizzone pins boards/esp32.py --draw wiring.svg    the wiring as a picture
  tizzone pins boards/pico.py --table               the wires as a list to tick off

Exit code: 0 no stop, 1 at least one stop, 2 the file is no pin map. The map is read, never run. The check sees no
solder, cable or resistor: tick the list off with a meter, mains unplugged."""
LOWEST_C, HIGHEST_C = 30, 530  # as the setpoint's bounds on the board
NEXT = "wire the low-voltage side on the bench, then tizzone deploy --board FILE"
NEXT_IF_NOT = "mend every stop in the map, then the same line again"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("map", metavar="FILE", help="a pin map, or the name of one in boards/")
    parser.add_argument("--wanted", type=int, default=480, metavar="C",
                        help="highest dome temperature wanted, °C (default: 480)")  # fmt: skip
    parser.add_argument("--draw", metavar="FILE.svg", help="write the wiring as a picture")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--table", action="store_true", help="print the wires as a list to tick off")
    parser.add_argument("--json", action="store_true", help="print findings and wires as JSON")


def run(options: argparse.Namespace) -> int:
    """Check the map; 0 no stop, 1 a stop; ToolError for a file that is no pin map."""
    if not LOWEST_C <= options.wanted <= HIGHEST_C:
        raise ToolError(f"--wanted {options.wanted}: say {LOWEST_C} to {HIGHEST_C} °C")
    try:
        board = usable_map(pin_map.read_source(options.map), options.wanted)
    except pin_map.PinMapError as error:
        raise ToolError(str(error)) from None
    if options.draw:
        _write(Path(options.draw), drawing.picture(board), options.force)
    counts = findings.counts(board.findings)
    if options.json:
        print(json.dumps(_as_json(board, options, counts), indent=1))
    else:
        print("\n".join(_lines(board, counts)))
        if options.table:
            print("\n" + ticklist.table(board))
        if options.draw:
            print(f"picture: {options.draw}")
    return 1 if counts["stop"] else 0


def _as_json(board, options, counts):
    return {
        "board": board.source.path.name,
        "name": plain(board.get("NAME")),
        "mcu": plain(board.get("MCU")),
        "wanted_c": options.wanted,
        "release_c": release.reach(board).release_c,
        "counts": counts,
        "findings": [found.as_json() for found in board.findings],
        "wires": [wire._asdict() for wire in ticklist.wires(board)],
        "picture": options.draw,
    }


def _lines(board, counts):
    file = board.source.path.name
    for found in board.findings:
        place = f"{file}:{found.line}" if found.line else file
        yield f"{found.grade:7}  {place}  {found.code}: {found.text}"
        yield textwrap.fill(f"why: {found.source}", 110, initial_indent=" " * 9, subsequent_indent=" " * 14)
        yield textwrap.fill(f"do:  {found.mend}", 110, initial_indent=" " * 9, subsequent_indent=" " * 14)
    chip = board.chip.title if board.chip else "unknown MCU"
    listed = ", ".join(f"{count} {grade}" for grade, count in counts.items())
    yield f"{file}, {chip}, for {board.wanted_c} °C: {listed}"
    yield _reach_words(release.reach(board))


def _reach_words(got):
    """What commissioning can release with this map, and what holds it there."""
    text = f"commissioning can release {got.release_c} °C with this map"
    if got.reason:
        return f"{text}: {got.reason}"
    if got.step and got.release_c < release.releases_c()[-1]:
        return f"{text}: the step {got.step!r} needs {', '.join(got.missing)}"
    return f"{text}, once every step has been witnessed"


def _write(path, text, force):
    try:
        kinds.write(path, text, kinds.WIRING_PICTURE, force)
    except NotWritten as error:
        raise ToolError(str(error)) from None
