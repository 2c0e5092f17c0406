"""Sheets of the village hall, edited line by line, and an oven study that is run once."""

import re
import tomllib

import pytest

from host.mains import plan, sheet
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


@pytest.fixture
def plan_of():
    """Function: changes to the example -> Plan."""

    def make(changes=None, extra=""):
        raw = tomllib.loads(edited(changes or {}) + extra)
        return plan.make(sheet.check(raw, "hall.toml"))

    return make


@pytest.fixture
def hall(tmp_path):
    """Function: changes to the example -> path of a written sheet."""

    def write(changes=None, text=EXAMPLE):
        path = tmp_path / "hall.toml"
        path.write_text(edited(changes or {}, text), encoding="utf-8")
        return path

    return write


@pytest.fixture
def edited_text():
    """The `edited` function itself."""
    return edited
