"""One evening's figures from rows that are worked out by hand."""

import math

import numpy as np
import pytest

from host.history.evening import observe, vector
from host.runs.recording import DTYPE


def evening_rows(per_k_s=4.0, setpoint_c=450.0, start_c=20.0, held_s=1200, hold_pct=55.0, cool_k_s=0.2):
    """Straight lines: a climb of per_k_s seconds a kelvin, a hold, a fall of cool_k_s."""
    climb_s, fall_s = (setpoint_c - start_c) * per_k_s, (setpoint_c - 250.0) / cool_k_s
    t_s = np.arange(0.0, climb_s + held_s + fall_s, 5.0)
    rows = np.zeros(len(t_s), DTYPE)
    climbing, held = t_s < climb_s, (t_s >= climb_s) & (t_s < climb_s + held_s)
    rows["t_s"], rows["state"] = t_s, "running"
    falling_c = setpoint_c - cool_k_s * (t_s - climb_s - held_s)
    rows["pv_c"] = np.where(climbing, start_c + t_s / per_k_s, np.where(held, setpoint_c, falling_c))
    rows["setpoint_c"] = np.where(climbing | held, setpoint_c, 0.0)
    rows["out_pct"] = np.where(climbing, 100.0, np.where(held, hold_pct, 0.0))
    rows["heat_top"] = rows["heat_deck"] = rows["out_pct"] / 100.0
    rows["stone_pv_c"] = np.where(held, 20.0 + 1.02 * (setpoint_c - 20.0), 100.0)
    return rows


def test_figures_of_straight_lines_are_exact():
    evening = observe(evening_rows(), [])
    assert [evening[name] for name in ("rise", "climb", "top")] == pytest.approx([400.0, 400.0, 400.0], abs=1e-6)
    assert evening["hold"] == pytest.approx(55.0) and evening["cool"] == pytest.approx(500.0)
    assert evening["stone"] == pytest.approx(1.02) and evening["room_c"] == pytest.approx(20.0, abs=0.1)
    assert evening["to_setpoint_s"] == pytest.approx(1700.0, abs=5.0)


def test_reduced_output_on_the_way_gives_no_preheat_figure():
    rows = evening_rows()
    rows["out_pct"][(rows["pv_c"] > 150) & (rows["pv_c"] < 155) & (rows["t_s"] < 1000)] = 90.0
    evening = observe(rows, [])
    assert evening["rise"] is None and evening["climb"] == pytest.approx(400.0)


def test_warm_start_at_and_above_the_limit():
    assert observe(evening_rows(start_c=45.0), [])["rise"] == pytest.approx(400.0)
    assert observe(evening_rows(start_c=46.0), [])["rise"] is None
    assert observe(evening_rows(start_c=46.0), [])["hold"] is None


@pytest.mark.parametrize("kind", ["door", "load"])
def test_disturbed_hold_and_cooling_have_no_figure(kind):
    rows = evening_rows()
    assert observe(rows, [{"t_s": 2200.0, "kind": kind}])["hold"] is None
    assert observe(rows, [{"t_s": 3200.0, "kind": kind}])["cool"] is None
    assert observe(rows, [{"t_s": 2600.0, "kind": kind}])["hold"] == pytest.approx(55.0)  # 7 to 14 min are done by then


def test_gap_in_the_record_hides_a_crossing():
    rows = evening_rows()
    gone = (rows["pv_c"] > 140) & (rows["pv_c"] < 160) & (rows["t_s"] < 1000)
    assert observe(rows[~gone], [])["rise"] is None


def test_lower_setpoint_gives_preheat_but_no_hold():
    evening = observe(evening_rows(setpoint_c=350.0), [])
    assert evening["rise"] == pytest.approx(400.0) and evening["hold"] is None and evening["top"] is None
    logs = vector(evening, 450.0)
    assert math.isclose(logs[0], math.log(evening["rise"]), abs_tol=0.01) and np.isnan(logs[2:]).all()


def test_empty_and_short_records_give_nothing():
    assert observe(np.zeros(0, DTYPE), [])["rise"] is None
    assert observe(evening_rows()[:5], [])["rise"] is None


def test_warmer_kitchen_is_allowed_for():
    cool, warm = ({"rise": 400.0, "room_c": room_c, "setpoint_c": 450.0} for room_c in (20.0, 28.0))
    assert vector(warm, 450.0)[0] - vector(cool, 450.0)[0] == pytest.approx(8 * 0.0020)  # a warm start is quicker
