"""The example sheet, edited line by line."""

import re

from host.mains.example import EXAMPLE


def edit(text, key, value):
    """`text` with the first `key` (dotted, table.key) set to the TOML text `value`; None = cut."""
    table, _, name = key.rpartition(".")
    start = re.search(rf"^\[\[?{re.escape(table)}\]\]?", text, re.M).end() if table else 0
    pattern = re.compile(rf"^{re.escape(name)} = .*\n", re.M)
    found = pattern.search(text, start)
    following = re.compile(r"^\[", re.M).search(text, start)
    if found is None or (following and found.start() > following.start()):
        raise KeyError(key)
    line = "" if value is None else f"{name} = {value}\n"
    return text[: found.start()] + line + text[found.end() :]


def edited(changes, text=EXAMPLE):
    """The example's text with every change of {dotted key: TOML text or None} made."""
    for key, value in changes.items():
        text = edit(text, key, value)
    return text
