"""The map of rooms: every folder of device/tizzone and host/, its lines, and which rooms it imports.

    python -m tools.rooms                 the map; exit code 1 if an arrow runs upward or in a circle
    python -m tools.rooms --base v0.1.0   the figures of another revision before those of this folder
    python -m tools.rooms --json

A room is a folder, or a file that lies beside the folders. ORDER is the law: a room knows only rooms of
the rows below its own, and so there is no circle. Only files of the repository are read; nothing is imported.
"""

import argparse
import ast
import io
import json
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tools import ToolError

ROOT = Path(__file__).parents[1]
# side -> rows from the top: who stands in a row may know the rows below it
ORDER = {
    "device": (
        ("boot", "main"),
        ("app",),
        ("parts", "report"),
        ("panel",),
        ("link",),
        ("learning",),
        ("evening", "commissioning"),
        ("control",),
        ("memory", "board_io"),
        ("safety",),
        ("probes",),
        ("integers", "loading"),
    ),
    "host": (
        ("player",),
        ("drill",),
        ("board_pty", "commissioning", "panel"),
        ("deploy", "history", "watch"),
        ("talk",),
        ("mains",),
        ("calibration", "learning", "plans", "runs"),
        ("simulator",),
        ("chips", "faults", "oven", "pins"),
        ("link", "shim"),
        ("circuit", "files", "findings", "page"),
        ("errors",),
    ),
}
PACKAGES = {"device": ("device", "tizzone"), "host": ("", "host")}
# What only these rooms may know, whatever their row.
ONLY = {("device", "memory"): {"app", "parts", "link", "commissioning"}}
# Breaches that are known, each with its reason; one that is gone must go from here.
KNOWN: dict[tuple[str, str, str], str] = {}


@dataclass
class Side:
    """One side of the wire: lines of each room, and arrows (from, to) -> the files that make them."""

    name: str
    lines: dict[str, int] = field(default_factory=dict)
    arrows: dict[tuple[str, str], set[str]] = field(default_factory=dict)

    def known_to(self, room: str) -> list[str]:
        """Rooms that `room` imports."""
        return sorted(b for a, b in self.arrows if a == room)


def read_side(root: Path, name: str) -> Side:
    """The rooms and arrows of one side of the repository at `root`; ToolError where it has no such folder."""
    base, package = PACKAGES[name]
    folder = root / base
    if not (folder / package).is_dir():
        raise ToolError(f"{root}: no {base or '.'}/{package} here; run it in the repository")
    side = Side(name)
    found: list[tuple[str, str, str]] = []
    for path in sorted(folder.rglob("*.py") if base else (folder / package).rglob("*.py")):
        module = path.relative_to(folder).with_suffix("").parts
        room = module[0] if module[0] != package else module[1]
        if room == "__init__":
            continue
        text = path.read_text(encoding="utf-8")
        side.lines[room] = side.lines.get(room, 0) + len(text.splitlines())
        for target in imports(ast.parse(text), module):
            if target[0] == package and len(target) > 1:
                found.append((room, target[1], path.relative_to(folder).as_posix()))
    for room, known, file in found:
        if room != known and known in side.lines:
            side.arrows.setdefault((room, known), set()).add(file)
    return side


def imports(tree: ast.AST, module: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Dotted names, split, of all that a module imports, wherever in it; relative ones made whole."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (tuple(alias.name.split(".")) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            package = module[: len(module) - node.level] if node.level else ()
            start = (*package, *(node.module.split(".") if node.module else ()))
            yield from ((*start, alias.name) for alias in node.names)


def upward(side: Side) -> list[tuple[str, str]]:
    """Arrows against ORDER or ONLY, and those of a room that has no place in ORDER."""
    row = {room: number for number, rooms in enumerate(ORDER[side.name]) for room in rooms}
    found = []
    for a, b in sorted(side.arrows):
        is_reserved = a not in ONLY.get((side.name, b), {a})
        if a not in row or b not in row or row[b] <= row[a] or is_reserved:
            found.append((a, b))
    return found


def circles(side: Side) -> list[list[str]]:
    """Groups of rooms that reach each other."""
    reach = {room: {b for a, b in side.arrows if a == room} for room in side.lines}
    for _ in reach:
        for room, known in reach.items():
            reach[room] = known.union(*(reach[b] for b in known))
    groups = {frozenset(b for b in reach[a] if a in reach[b]) for a in reach if a in reach[a]}
    return sorted(sorted(group) for group in groups)


def breaches(side: Side) -> list[str]:
    """One line for each thing that must not be: an arrow upward, a circle, a word in KNOWN that is out of date."""
    bad = upward(side)
    known = {(a, b) for name, a, b in KNOWN if name == side.name}
    lines = [
        f"{side.name}: {a} -> {b} runs upward ({', '.join(sorted(side.arrows[a, b]))})" for a, b in bad
        if (a, b) not in known
    ]  # fmt: skip
    lines += [f"{side.name}: {a} -> {b} is in KNOWN and is gone: take it out" for a, b in sorted(known - set(bad))]
    rest = Side(side.name, side.lines, {arrow: files for arrow, files in side.arrows.items() if arrow not in known})
    return lines + [f"{side.name}: a circle: {' - '.join(group)}" for group in circles(rest)]


def table(side: Side) -> list[str]:
    """The map of one side as lines."""
    rows = [room for rooms in ORDER[side.name] for room in rooms]
    order = sorted(side.lines, key=lambda room: (rows.index(room) if room in rows else -1, room))
    lines = [f"{side.name}: {len(side.lines)} rooms, {len(side.arrows)} arrows"]
    return lines + [f"  {room:<14}{side.lines[room]:>6}  {' '.join(side.known_to(room)) or '-'}" for room in order]


def sides_of(revision: str) -> list[Side]:
    """The same of another revision, unpacked into a temporary folder; ToolError if git does not know it."""
    git = subprocess.run(["git", "archive", revision, "device", "host"], cwd=ROOT, capture_output=True)
    if git.returncode:
        raise ToolError(f"--base {revision}: {git.stderr.decode(errors='replace').strip().splitlines()[0]}")
    with tempfile.TemporaryDirectory() as folder, tarfile.open(fileobj=io.BytesIO(git.stdout)) as archive:
        archive.extractall(folder, filter="data")
        return [read_side(Path(folder), name) for name in PACKAGES]


def as_json(side: Side) -> dict[str, object]:
    """A side for machines."""
    return {
        "side": side.name,
        "rooms": side.lines,
        "arrows": sorted(f"{a} -> {b}" for a, b in side.arrows),
        "upward": [f"{a} -> {b}" for a, b in upward(side)],
        "circles": circles(side),
    }


def main(argv: list[str] | None = None) -> int:
    """The command; 0 in order, 1 an arrow upward or a circle, 2 no such revision."""
    parser = argparse.ArgumentParser(prog="python -m tools.rooms", description=__doc__.splitlines()[0])
    parser.add_argument("--base", metavar="REV", help="the figures of this revision first, for comparison")
    parser.add_argument("--json", action="store_true", help="print the map as JSON")
    options = parser.parse_args(argv)
    try:
        now = [read_side(ROOT, name) for name in PACKAGES]
        before = sides_of(options.base) if options.base else []
    except ToolError as error:
        print(f"rooms: {error}", file=sys.stderr)
        return 2
    bad = [line for side in now for line in breaches(side)]
    if options.json:
        print(json.dumps({"before": [as_json(side) for side in before], "now": [as_json(side) for side in now]}))
        return 1 if bad else 0
    for side in now:
        print("\n".join(table(side)) + "\n")
    for old, new in zip(before, now, strict=bool(before)):
        print(f"{new.name}: rooms {len(old.lines)} -> {len(new.lines)}, arrows {len(old.arrows)} -> "
              f"{len(new.arrows)}, circles {len(circles(old))} -> {len(circles(new))}")  # fmt: skip
    for (name, a, b), why in KNOWN.items():
        print(f"known: {name}: {a} -> {b} ({why})")
    print("\n".join(bad) or "no arrow runs upward; no circle")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
