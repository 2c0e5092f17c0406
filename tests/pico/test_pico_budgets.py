"""The table of what a flash write costs (boards/README.md) against the emulated chip and the device's own code."""

from pathlib import Path

import pytest

from tests.pico.budgets import EVENING, VALUES, measure
from tests.pico.rig import FAST_FLASH

pytestmark = pytest.mark.slow
README = Path(__file__).parents[2] / "boards" / "README.md"


def told():
    """{value: (mean ms, worst ms)} of the table at typical flash."""
    found = {}
    for line in README.read_text(encoding="utf-8").splitlines():
        cells = [cell.strip() for cell in line.strip("| ").split(" | ")]
        if len(cells) == 5 and cells[0].strip("`") in VALUES:
            found[cells[0].strip("`")] = tuple(float(word) for word in cells[3].split(", "))
    return found


def test_budgets_name_every_value_that_the_board_stores():
    assert set(told()) == set(VALUES)


def test_no_write_of_an_evening_takes_longer_than_told_or_makes_a_tick_late():
    """350 ms: a period and two fifths; late, and so no heat, is a tick from 500 ms on."""
    table = told()
    for name, (mean_ms, worst_ms, _) in measure(FAST_FLASH, EVENING).items():
        assert mean_ms <= table[name][0] * 1.25, name
        assert worst_ms <= min(350, table[name][1] * 1.25), name
