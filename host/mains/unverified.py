"""Everything that is from memory or was seen in one source only: to be looked up before relied on.

Two ways to it, so that nothing hides: figures that carry their mark, and words that say "from "
                                                                                         "memory" in code, comments,
board maps and steps of commissioning.
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
MARKED_M = "(m)"


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
                numbered = enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
                yield from (_row(path, number, text) for number, text in numbered if WORDS in text)
            elif path.suffix == ".py" and path != Path(__file__) and "__pycache__" not in path.parts:
                yield from _in_code(path)


def _in_code(path):
    """Comments and strings of a file that say so; docstrings too."""
    source = path.read_text(encoding="utf-8")
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type in (tokenize.COMMENT, tokenize.STRING) or token.type == getattr(tokenize, "FSTRING_MIDDLE", -1):
            for offset, text in enumerate(token.string.splitlines()):
                marked = MARKED_M in text and (token.type == tokenize.COMMENT or path.name == "chips.py")
                if WORDS in text or marked:
                    yield _row(path, token.start[0] + offset, text)


def _row(path, number, text):
    return Row("words", f"{path.relative_to(ROOT).as_posix()}:{number}", MEMORY, " ".join(text.split())[:160])
