"""`tizzone boards`: the pin maps that come with Tizzone, and a copy of one to edit."""

import argparse
import ast
import json
from pathlib import Path

from host.files.writing import NotWritten, write_bytes
from host.pins import pin_map
from tools import ToolError

HELP = "list the pin maps that come with Tizzone; hand out a copy of one to edit"
EXAMPLE = """\
examples:
  tizzone boards                          the maps: name, chip, what each is for
  tizzone boards --copy pico mine.py      a copy to edit; then: tizzone pins mine.py

Exit code: 0 done, 2 no such map, or the file is there already. boards/README.md defines the names in a map."""
NEXT = "edit the copy, then tizzone pins mine.py --table"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--copy", nargs=2, metavar=("NAME", "FILE.py"), help="write a copy of a map to edit")
    parser.add_argument("--force", action="store_true", help="write over a file that is there already")
    parser.add_argument("--json", action="store_true", help="print the list, or what was written, as JSON")


def run(options: argparse.Namespace) -> int:
    """List the maps or copy one; 0, ToolError for a map that does not exist or a file that does."""
    if options.copy:
        return copy(options.copy[0], Path(options.copy[1]), options)
    found = shipped()
    if options.json:
        print(json.dumps(found, indent=1))
        return 0
    for board in found:
        print(f"{board['name']:<12} {board['mcu']:<9} {board['about']}")
    print("\na copy to edit: tizzone boards --copy pico mine.py")
    return 0


def shipped() -> list[dict[str, str]]:
    """[{"name", "mcu", "about", "file"}] of the maps that come with Tizzone."""
    found = []
    for path in sorted(pin_map.BOARDS.glob("*.py")):
        about = (ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "").partition("\n")[0]
        mcu = getattr(pin_map.read(path), "MCU", "?")
        found.append({"name": path.stem, "mcu": mcu, "about": about, "file": str(path)})
    return found


def copy(name: str, target: Path, options: argparse.Namespace) -> int:
    """Write a copy of the map `name`; nothing is written over without --force."""
    try:
        source = pin_map.find(name)
    except pin_map.PinMapError as error:
        raise ToolError(str(error)) from None
    if target.is_dir():
        raise ToolError(f"{target}: is a folder; say the file's name, such as {target / 'mine.py'}")
    if target.exists() and not options.force:
        raise ToolError(f"{target}: is there already; choose another name, or say --force to write over it")
    if target.exists() and target.samefile(source):
        raise ToolError(f"{target}: is the map itself; choose another name")
    try:
        write_bytes(target, source.read_bytes())
    except NotWritten as error:
        raise ToolError(str(error)) from None
    if options.json:
        print(json.dumps({"written": str(target), "copy_of": str(source)}))
    else:
        print(f"{target}: written, a copy of {name}; edit it, then `tizzone pins {target}`")
    return 0
