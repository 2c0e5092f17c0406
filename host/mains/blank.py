"""The build sheet as `--new` writes it: the example's, with everything that is measured, agreed or dated unknown."""

import re

from host.mains.example import EXAMPLE
from host.mains.keys import LISTS, TABLES, TOP

MEASURED = ("held_at_c", "held_w", "seen_c", "seen_at_c", "insulation_mohm", "rcd_ma", "rcd_ms", "instrument")
_NEW_HEAD = """\
# Everything that is "unknown" is yours to find out; the plan stops before power until it is. All else is an example:
# every figure is to be replaced by your oven's.
"""


def blank() -> str:
    """The sheet as `--new` writes it: what is measured, agreed or dated is unknown."""
    table, lines = TOP, []
    for line in EXAMPLE.splitlines():
        head = re.match(r"\[+([a-z_.]+)\]+", line)
        if head:
            table = TABLES.get(head[1]) or LISTS[head[1]]
        name, found, rest = line.partition(" = ")
        if found and name in table and table[name].how:
            note = rest.partition("  #")[2]
            line = f'{name} = "unknown"'
            line = f"{line:<27} # {note.strip()}" if note else line
        elif found and name in MEASURED:
            line = f"# {line}"  # optional: without it a range or a guess is told, and said to be one
        lines.append(line)
    return _NEW_HEAD + "\n".join(lines) + "\n"
