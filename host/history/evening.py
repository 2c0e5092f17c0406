"""One evening in figures that can be laid beside those of another evening.

Every figure is taken where the controller leaves it no freedom: at full output (rise, climb, top), at the steady
setpoint (hold, stone) and with the heat off (cool). What an evening cannot give is None, never guessed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from host.history.directions import COOLER_PER_K
from host.runs.summary import NEAR_K, column, kind, summarise, when

FULL_PCT = 98.0
COLD_C = 45.0  # a start above it says nothing about the room, and the walls are warm
ROOM_C = 20.0  # figures are given for a room of this
WINDOW_S = (420.0, 840.0)  # after reaching the setpoint: the stated stretch of the hold
WINDOW_MIN_S = 240.0
HOT_SETPOINT_C = 430.0  # hold, cool and stone are compared between evenings of at least this,
SETPOINT_SPAN_K = 15.0  # and only within this of the history's usual setpoint
DISTURBING = ("load", "door", "hold", "stop", "trip", "fault", "power")
GAP_S = 30.0  # rows further apart than this hide a crossing

# name -> (words, unit, what it is); the order is that of every vector and table
FIGURES = {
    "rise": ("Preheat 100 to 200 °C", "s", "at full output all the way, cold start"),
    "climb": ("Climb 200 to 300 °C", "s", "at full output all the way"),
    "top": ("Climb 300 to 400 °C", "s", "at full output all the way"),
    "hold": ("Output that holds the setpoint", "%", "mean of the steady stretch 7 to 14 min after reaching it"),
    "cool": ("Cooling 400 to 300 °C", "s", "heat off, no door event"),
    "stone": ("Stone against dome", "", "rise of the stone's probe over that of the dome's in the steady stretch"),
}
NAMES = tuple(FIGURES)
METERS = {"mains_v": ("Mains voltage", "V"), "current_a": ("Current at full output", "A")}

KEPT = (
    "setpoint_c",
    "to_setpoint_s",
    "overshoot_k",
    "band_k",
    "breads",
    "trips",
    "holds",
    "duration_s",
    "energy_kwh",
    "top_switchings",
    "deck_switchings",
    "contactor_switchings",
)  # of the summary


def observe(
    rows: np.ndarray, events: list[dict[str, Any]], meters: Mapping[str, float | None] | None = None
) -> dict[str, Any]:
    """-> dict of the evening: a value or None for each of FIGURES (as measured) and of METERS; `start_c`, `room_c`,
    `setpoint_c`, `to_setpoint_s`, `band_k`, `overshoot_k`, `breads`, `trips`, `top_switchings`, ... of the summary.

    meters: {"mains_v": volts, "current_a": amperes at full output}, where somebody measured them.
    """
    figures = summarise(rows, events)
    evening: dict[str, Any] = {name: None for name in FIGURES}
    evening.update({name: (meters or {}).get(name) for name in METERS})
    evening.update({name: figures[name] for name in KEPT})
    events = with_interruptions(events, figures)
    evening["start_c"] = evening["room_c"] = evening["hot_s"] = None
    if len(rows) < 10:
        return evening
    t_s, pv_c, out_pct = (column(rows, name) for name in ("t_s", "pv_c", "out_pct"))
    evening["start_c"] = first_reading(pv_c, out_pct)
    if evening["start_c"] is not None and -10.0 < evening["start_c"] <= COLD_C:
        evening["room_c"] = evening["start_c"]
        for name, low_c in (("rise", 100.0), ("climb", 200.0), ("top", 300.0)):
            evening[name] = crossing_s(t_s, pv_c, low_c, low_c + 100.0, out_pct >= FULL_PCT)
        evening.update(steady(rows, events, evening))
    hot = (pv_c >= 400.0) & (out_pct > 0)
    evening["hot_s"] = float(np.ptp(t_s[hot])) if hot.any() else None
    evening["cool"] = cooling(t_s, pv_c, out_pct, events, figures["setpoint_c"])
    return evening


def with_interruptions(events: list[dict[str, Any]], figures: dict[str, Any]) -> list[dict[str, Any]]:
    """The events, and breads and holds that only the stages and states of a watched board tell."""
    more = [{"t_s": one["t_s"], "kind": "load"} for one in figures["bread_list"]]
    return [*events, *more, *({"t_s": one["t_s"], "kind": "hold"} for one in figures["hold_list"])]


def first_reading(pv_c: np.ndarray, out_pct: np.ndarray) -> float | None:
    """The reading before the first heat, or None."""
    heated = np.flatnonzero(out_pct > 0)
    before = pv_c[: heated[0] + 1] if len(heated) else pv_c[:1]
    before = before[np.isfinite(before)]
    return float(np.median(before[-5:])) if len(before) else None


def crossing_s(t_s: np.ndarray, pv_c: np.ndarray, low_c: float, high_c: float, allowed: np.ndarray) -> float | None:
    """Seconds from the last crossing of low_c to the first of high_c after it, `allowed` throughout; else None."""
    over = np.flatnonzero(pv_c >= high_c)
    if not len(over) or over[0] == 0:
        return None
    end = over[0]
    below = np.flatnonzero(pv_c[:end] < low_c)
    if not len(below):
        return None
    begin = below[-1]
    # the row of the crossing itself may already have its output reduced
    if not allowed[begin:end].all() or np.isnan(pv_c[begin : end + 1]).any():
        return None
    if np.diff(t_s[begin : end + 1]).max(initial=0.0) > GAP_S:
        return None
    return at(t_s, pv_c, end - 1, high_c) - at(t_s, pv_c, begin, low_c)


def at(t_s: np.ndarray, pv_c: np.ndarray, i: int, level_c: float) -> float:
    """When the line between row i and the next meets level_c."""
    return float(t_s[i] + (t_s[i + 1] - t_s[i]) * (level_c - pv_c[i]) / (pv_c[i + 1] - pv_c[i]))


def steady(rows: np.ndarray, events: list[dict[str, Any]], evening: dict[str, Any]) -> dict[str, float]:
    """hold and stone of the stated stretch, if nothing disturbed it."""
    t_s, pv_c, setpoint_c, out_pct = (column(rows, name) for name in ("t_s", "pv_c", "setpoint_c", "out_pct"))
    goal_c = evening["setpoint_c"]
    if not goal_c or goal_c < HOT_SETPOINT_C:
        return {}
    reached = np.flatnonzero(pv_c >= goal_c - NEAR_K)
    if not len(reached):
        return {}
    begin_s, end_s = (float(t_s[reached[0]]) + part for part in WINDOW_S)
    disturbing = [when(event) for event in events if kind(event) in DISTURBING]
    end_s = min([end_s, *(one for one in disturbing if one >= t_s[reached[0]])])
    end_s = min(end_s, *(t_s[(t_s > t_s[reached[0]]) & (np.abs(setpoint_c - goal_c) > 0.05)]), math.inf)
    use = (t_s >= begin_s) & (t_s < end_s) & np.isfinite(pv_c + out_pct)
    if not use.any() or np.ptp(t_s[use]) < WINDOW_MIN_S or np.abs(pv_c[use] - goal_c).max() > 15.0:
        return {}
    stone_c = column(rows, "stone_pv_c")[use]
    found = {"hold": float(np.mean(out_pct[use]))}
    if np.isfinite(stone_c).all():
        found["stone"] = float(np.mean(stone_c - evening["room_c"]) / np.mean(pv_c[use] - evening["room_c"]))
    return found


def cooling(t_s: np.ndarray, pv_c: np.ndarray, out_pct: np.ndarray, events: list, setpoint_c: float) -> float | None:
    """Seconds from 400 to 300 °C after the heat has ended for good, or None."""
    heated = np.flatnonzero(out_pct > 0)
    if not len(heated) or not setpoint_c or setpoint_c < HOT_SETPOINT_C:
        return None
    last = heated[-1]  # the stretch that counts begins with the last row that heats
    begin_s = t_s[last]
    rest_t, rest = t_s[last:], pv_c[last:]
    under = np.flatnonzero(rest < 300.0)
    if not len(under) or not len(rest) or not rest[0] >= 400.0:
        return None
    end_s = rest_t[under[0]]
    if any(begin_s - 120.0 <= when(event) <= end_s and kind(event) in ("door", "load", "hold") for event in events):
        return None
    return crossing_s(rest_t, -rest, -400.0, -300.0, np.ones(len(rest), bool))


def vector(evening: dict[str, Any], usual_setpoint_c: float) -> np.ndarray:
    """-> logarithms of the evening's figures for a room of ROOM_C, in the order of NAMES; NaN where none."""
    logs = np.full(len(NAMES), np.nan)
    room_c = evening.get("room_c")
    near = evening.get("setpoint_c") and abs(evening["setpoint_c"] - usual_setpoint_c) <= SETPOINT_SPAN_K
    for i, name in enumerate(NAMES):
        value = evening.get(name)
        if value is None or not value > 0.0 or (name in ("hold", "stone", "cool") and not near):
            continue
        if room_c is None and name != "cool":
            continue
        warmer_k = 0.0 if room_c is None else room_c - ROOM_C
        logs[i] = math.log(value) - COOLER_PER_K[i] * warmer_k
        if name == "hold":  # a loss that grows with about the 1.5th power of the rise: measured, see directions.py
            logs[i] -= 1.5 * math.log((evening["setpoint_c"] - ROOM_C) / (usual_setpoint_c - ROOM_C))
    return logs
