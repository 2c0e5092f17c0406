"""Everything that is from memory or was seen in one source only: to be looked up before relied on.

Two ways to it, so that nothing hides: figures that carry their mark, and words that say so in code, comments, board
maps, pages and steps of commissioning, also where they are broken over two lines.
"""

import dataclasses
import importlib
import io
import pkgutil
import tokenize
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

import host.mains
from host.mains import ampacity
from host.mains.value import MEMORY, Value

ROOT = Path(__file__).parents[2]
ROOMS = ("boards", "device", "host")
WORDS = "from memory"
MARKED_M = "(m)"  # in code
MARKED_IN_PAGES = ("(M)", "(M:")


class Row(NamedTuple):
    """`kind`: "figure" or "words"; `where`: module or file:line; `text`: figure with unit and source, or the words."""

    kind: str
    where: str
    mark: str
    text: str


def rows() -> list[Row]:
    """Every figure that is to be verified, then every place whose words say that they are from memory."""
    figures = {}
    for row in sorted(_figures()):
        figures.setdefault((row.mark, row.text), row)  # a module that imports a figure does not state it again
    return list(figures.values()) + list(_words())


def lines(found: list[Row]) -> list[str]:
    """The rows as text, with a count."""
    text = [f"{row.kind:6}  {row.mark:11}  {row.where}: {row.text}" for row in found]
    count = sum(row.kind == "figure" for row in found)
    memory = sum(row.mark == MEMORY for row in found)
    return [*text, f"{count} figures to be verified and {len(found) - count} places; {memory} of all from memory"]


def _figures():
    for name, module in _modules():
        for value in _values(vars(module).values(), set()):
            if value.to_verify:
                yield Row("figure", name, value.mark, f"{value.plain()}: {value.source}")
    for value in _looked_up():
        if value.to_verify:
            yield Row("figure", "host.mains.ampacity", value.mark, f"{value.plain()}: {value.source}")


def _modules():
    for found in pkgutil.walk_packages(host.mains.__path__, "host.mains."):
        yield found.name, importlib.import_module(found.name)


def _values(things: Iterable, seen: set):
    """Values in a module's names, however deep in tables and dataclasses."""
    for thing in things:
        if isinstance(thing, Value):
            yield thing
        elif id(thing) in seen or isinstance(thing, type | str):
            continue
        elif isinstance(thing, dict):
            seen.add(id(thing))
            yield from _values(thing.values(), seen)
        elif isinstance(thing, tuple | list):
            seen.add(id(thing))
            yield from _values(thing, seen)
        elif dataclasses.is_dataclass(thing):
            yield from _values([getattr(thing, field.name) for field in dataclasses.fields(thing)], seen)
            yield from _values([thing.breaker_max] if hasattr(thing, "breaker_max") else [], seen)


def _looked_up():
    """Figures that tables give on being asked."""
    for rules in ("iec", "nec"):
        for size in ampacity.sizes(rules, "cord"):
            yield ampacity.nec_base("cord", size) if rules == "nec" else ampacity.iec_base("cord", size)
        for circuits in range(2, 8):
            yield ampacity.group_factor(circuits, rules)
    yield from (ampacity.pvc_factor(air_c) for air_c in range(30, 65, 5))


def _words():
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*")):
            if path.suffix == ".md":
                lines_ = path.read_text(encoding="utf-8").splitlines()
                numbered = enumerate(zip(lines_, [*lines_[1:], ""], strict=True), 1)
                yield from (_row(path, number, text) for number, (text, after) in numbered if _says_so(text, after))
            elif path.suffix == ".py" and path != Path(__file__) and "__pycache__" not in path.parts:
                yield from _in_code(path)


def _in_code(path):
    """Comments and strings of a file that say so; docstrings too."""
    source = path.read_text(encoding="utf-8")
    lines_ = source.splitlines()
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type in (tokenize.COMMENT, tokenize.STRING) or token.type == getattr(tokenize, "FSTRING_MIDDLE", -1):
            said = token.string.splitlines()
            below = [*said[1:], lines_[token.end[0]] if token.end[0] < len(lines_) else ""]
            for offset, (text, after) in enumerate(zip(said, below, strict=False)):
                marked = MARKED_M in text and (token.type == tokenize.COMMENT or path.name == "chips.py")
                if _says_so(text, after) or marked:
                    yield _row(path, token.start[0] + offset, text)


def _says_so(text, after):
    """True where a line says that something is from memory, or begins to say it and the next one ends it."""
    first, second = WORDS.split()
    if any(mark in text for mark in MARKED_IN_PAGES):
        return True
    return WORDS in text or (text.rstrip(" \"'").endswith(first) and after.lstrip(" #f\"'").startswith(second))


def _row(path, number, text):
    return Row("words", f"{path.relative_to(ROOT).as_posix()}:{number}", MEMORY, " ".join(text.split())[:160])
