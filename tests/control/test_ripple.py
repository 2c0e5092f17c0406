"""Is the probe too near an element? The swing of the reading in step with the relay."""

import numpy as np
import pytest

from host import oven
from host.learning import loop
from host.runs import ripple
from tools.__main__ import main


def recorded(share, setpoint_c, window_s, seed=1):
    """Rows of a run file, one a second: preheat and a quarter of an hour of holding."""
    plant = oven.sample(seed)
    plant.dome_probe_near_element = share
    run = loop.Loop(plant, loop.pid(window_s=window_s, adapt=True), setpoint_c, window_ms=window_s * 1000, seed=seed)
    log = run.run(3900)
    names = ("t_s", "pv_c", "setpoint_c", "heat_top")
    rows = np.zeros(len(log) // 4, dtype=[(name, float) for name in names])
    rows["t_s"], rows["pv_c"], rows["setpoint_c"] = log[::4, 0], log[::4, 2], setpoint_c
    rows["heat_top"] = log[:, 4].reshape(-1, 4).mean(axis=1)
    return rows


@pytest.mark.slow
@pytest.mark.parametrize("share, is_near", [(0.0, False), (0.3, True)])
@pytest.mark.parametrize("setpoint_c, window_s", [(300.0, 10), (450.0, 20)])
def test_probe_near_an_element_shows_in_the_window_ripple(share, is_near, setpoint_c, window_s):
    rows = recorded(share, setpoint_c, window_s)
    swing_k, seen_s = ripple.of_run(rows)
    assert seen_s == pytest.approx(window_s, abs=1.0)
    assert (swing_k >= ripple.limit_k(seen_s)) is is_near
    text, told = ripple.line_of(rows)
    assert told is is_near and ("move it" in text) is is_near


def test_swing_in_step_with_the_relay_is_measured_and_one_out_of_step_is_not():
    t_s = np.arange(0.0, 900.0)
    top = (t_s % 10 < 5).astype(float)
    wave = 0.5 * np.sin(2 * np.pi * t_s / 10)
    assert ripple.near_element_k(450 + wave, top, 10.0, 1.0) == pytest.approx(1.0, rel=0.02)
    drifting = 0.5 * np.sin(2 * np.pi * t_s / 10.5)
    assert ripple.near_element_k(450 + drifting, top, 10.0, 1.0) < 0.1
    assert ripple.near_element_k(450 + wave, np.zeros(900), 10.0, 1.0) == 0.0
    assert ripple.near_element_k(450 + wave[:15], top[:15], 10.0, 1.0) == 0.0


@pytest.mark.slow
def test_run_without_a_calm_stretch_does_not_tell():
    rows = recorded(0.0, 300.0, 10)[:600]
    assert ripple.of_run(rows) is None and ripple.line_of(rows) is None
    assert ripple.of_run(rows[:1]) is None


@pytest.mark.slow
def test_long_window_is_said_not_to_tell():
    text, told = ripple.line_of(recorded(0.3, 300.0, 30))
    assert not told and "windows up to 22 s" in text


@pytest.mark.slow
@pytest.mark.parametrize("share, is_told", [(0.0, False), (0.3, True)])
def test_report_tells_a_probe_near_an_element(share, is_told, tmp_path, capsys):
    rows = recorded(share, 300.0, 10)
    columns = {"dome_c": rows["pv_c"], "stone_c": rows["pv_c"], "out_pct": 100 * rows["heat_top"],
               "heat_deck": rows["heat_top"]}  # fmt: skip
    names = [*rows.dtype.names, *columns]
    lines = [",".join(names + ["permit", "state", "trip"])]
    for i in range(len(rows)):
        values = [rows[name][i] for name in rows.dtype.names] + [column[i] for column in columns.values()]
        lines.append(",".join([f"{value:.3f}" for value in values] + ["1", "running", "none"]))
    (tmp_path / "run.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["report", str(tmp_path)]) == 0
    assert ("move it" in capsys.readouterr().out) is is_told
