"""A synthetic evening of the village hall: an approach, a soak, breads, cooling; made by formulas with a seed."""

import numpy as np
import pytest

from host.runs.recording import COLUMNS, DTYPE


def evening(breads=3, setpoint_c=450.0, seconds=9000, seed=1):
    """-> (rows, events): heating to the setpoint in 2000 s, overshoot 4 K, ripple 2 K, breads every 300 s."""
    random = np.random.default_rng(seed)
    rows = np.zeros(seconds, DTYPE)
    t_s = np.arange(seconds, dtype=float)
    ready_s, first_load_s = 2000.0, 3600.0
    end_s = first_load_s + 300.0 * breads + 300.0
    pv_c = np.where(t_s < ready_s, 20 + (setpoint_c - 20) * t_s / ready_s, setpoint_c)
    after = (t_s >= ready_s) & (t_s < ready_s + 200)
    pv_c[after] += 4.0 * np.sin(np.pi * (t_s[after] - ready_s) / 200)
    steady = (t_s >= ready_s + 200) & (t_s < end_s)
    pv_c[steady] += np.sin(2 * np.pi * t_s[steady] / 10)
    events = [{"t_s": 0.0, "kind": "start", "setpoint_c": setpoint_c}]
    for number in range(breads):
        load_s = first_load_s + 300.0 * number
        events.append({"t_s": load_s, "kind": "load", "bake_s": 90, "text": f"bread {number + 1}"})
        since = t_s - load_s
        sunk = (since >= 0) & (since < 300)
        pv_c[sunk] -= 60 * np.minimum(since[sunk] / 20, 1) * np.exp(-np.maximum(since[sunk] - 20, 0) / 45)
    events.append({"t_s": end_s, "kind": "stop"})
    cooling = t_s >= end_s
    pv_c[cooling] = 40 + (setpoint_c - 40) * np.exp(-(t_s[cooling] - end_s) / 3500)
    on = (t_s < ready_s) | ((t_s < end_s) & (t_s % 10 < 5))
    rows["t_s"], rows["pv_c"], rows["dome_c"] = t_s, pv_c, pv_c + random.normal(0, 0.2, seconds)
    rows["stone_c"] = 20 + (pv_c - 20) * np.clip(t_s / 3000, 0, 1)
    rows["setpoint_c"] = np.where(cooling, 0, setpoint_c)
    rows["out_pct"] = np.where(t_s < ready_s, 100, np.where(cooling, 0, 48 + random.normal(0, 3, seconds)))
    rows["heat_top"], rows["heat_deck"] = on, on & (t_s % 10 < 4) | (t_s < ready_s)
    rows["permit"] = ~cooling
    rows["state"] = np.where(cooling, "complete", "running")
    rows["box_c"], rows["contactor"], rows["power_w"] = 31.5, ~cooling, on * 2000.0
    return rows, events


@pytest.fixture
def night():
    """(rows, events) with every column."""
    return evening()


@pytest.fixture
def plain_night():
    """(rows, events) with the eleven columns of every run."""
    rows, events = evening()
    return rows[list(COLUMNS)], events


@pytest.fixture
def make_evening():
    """The maker itself."""
    return evening
