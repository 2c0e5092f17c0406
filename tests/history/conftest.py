"""Evenings and histories made once: simulated ovens of two structures, see many.py."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from many import FAULTS, FULL, Evenings, histories, metered  # noqa: E402

from host.runs.recording import write_run  # noqa: E402


@pytest.fixture(scope="session")
def failing():
    """{(size, fault): evenings} of an oven of three lumps; the table of directions knows neither seed nor health."""
    found = {}
    for size, faults in ((0.15, [*FAULTS][:-1]), (0.05, ["element", "gasket", "probe low"])):
        for fault, evenings in histories("lumped", 3003, faults, size, FULL + 10).items():
            found[(size, fault)] = evenings
    return found


@pytest.fixture(scope="session")
def layered():
    """{fault: evenings} of an oven with layered walls."""
    return histories("layered", 3002, ["element", "healthy"], 0.15, FULL + 10)


@pytest.fixture(scope="session")
def short_evenings():
    """16 row arrays of a lumped oven whose elements lose 22 % for the last five evenings."""
    power = np.where(np.arange(16) < 11, 1.0, 0.78)
    return Evenings("lumped", 3001, 16, {"power": power}, np.ones(16), np.full(16, 20.0)).run(np.full(16, 1000.0))


@pytest.fixture(scope="session")
def folder(short_evenings, tmp_path_factory):
    """A folder of 16 runs, named by date."""
    root = tmp_path_factory.mktemp("runs")
    for k, rows in enumerate(short_evenings):
        events = [{"t_s": 0.0, "kind": "state", "value": "running"}]
        write_run(root / f"202603{k + 1:02d}-190000-hall", rows[list(KEPT)], events,
                  {"top_switchings": 500, "deck_switchings": 480, "contactor_switchings": 2})  # fmt: skip
    return root


@pytest.fixture
def with_meter():
    """Evenings with a meter's figures."""
    return metered


KEPT = ("t_s", "pv_c", "setpoint_c", "out_pct", "heat_top", "heat_deck", "state", "stone_pv_c")
