"""Plans and written sheets of the village hall, with changes."""

import tomllib

import pytest
from plan_sheets import edited

from host.mains import plan, sheet
from host.mains.example import EXAMPLE


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
