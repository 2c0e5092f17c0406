"""The heater's actual switching record through an independent flickermeter, at the windows our rule permits."""

import csv
from pathlib import Path

import numpy as np
import pytest

from host import oven
from host.learning import loop
from host.mains import flicker
from host.shim.loader import world
from tests.control import flickermeter

POINTS = Path(__file__).parents[1] / "data" / "control" / "flicker_pst1.csv"


def record(top_w, deck_w, window_s, together=False):
    """Ten minutes and a half of holding 450 degrees: (top, deck, band in K)."""
    plant = oven.preset("standard", top_w=top_w, deck_w=deck_w, turbulence_k=0.4)
    run = loop.Loop(plant, loop.pid(window_s=window_s), window_ms=window_s * 1000, together=together)
    run.run(4800)
    rows = run.run(630)
    return rows[:, 4], rows[:, 5], float(np.ptp(rows[:, 1]))


@pytest.mark.slow
@pytest.mark.parametrize("rate", [1, 7, 39])
def test_flickermeter_reads_one_at_published_points(rate):
    # IEC 61000-4-15 table 5 points, see tests/data/control/README.md; its own test band is 5 %
    with POINTS.open(encoding="utf-8") as file:
        rows = {float(row["changes_per_min"]): float(row["d_percent_from_memory"]) for row in csv.DictReader(file)}
    assert flickermeter.pst(flickermeter.rectangular(rows[rate], rate)) == pytest.approx(1.0, abs=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("top_w, deck_w", [(1300.0, 1200.0), (1800.0, 1700.0)])
def test_two_zone_oven_at_its_window_flickers_at_most_one(top_w, deck_w):
    steps = flicker.steps_pct(flicker.change_pct(top_w, 230.0), flicker.change_pct(deck_w, 230.0), True)
    # 5 % in hand: the steps of a record wander, and at 3.5 kW the 20 s that the bare rule permits gave up to 1.02
    window_s = flicker.window_needed_s(steps, limit=0.95)
    top, deck, band_k = record(top_w, deck_w, window_s)
    assert flickermeter.of_record(top, deck, top_w, deck_w) <= 1.0
    assert band_k <= 5.0  # promised for staggered zones at 20 s, worst case


@pytest.mark.slow
@pytest.mark.parametrize("top_w, deck_w", [(1300.0, 1200.0), (1800.0, 1700.0)])
def test_two_zone_oven_at_the_default_window_flickers_at_most_one(top_w, deck_w):
    window_s = world().load("tizzone.memory.settings").TABLE["window_ms"][0] // 1000
    top, deck, band_k = record(top_w, deck_w, window_s)
    assert flickermeter.of_record(top, deck, top_w, deck_w) <= 1.0
    assert band_k <= 3.5  # what is promised at 10 s


@pytest.mark.slow
def test_both_elements_together_at_that_window_flicker_more():
    top, deck, _ = record(1300.0, 1200.0, 5, together=True)
    assert flickermeter.of_record(top, deck, 1300.0, 1200.0) > 1.0
