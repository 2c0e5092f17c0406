"""What happened in a run, in figures: from rows and events alone, each figure with its definition.

The rows are those of `host.runs.recording`; events are dicts with `t_s`, `kind` ("load", "door", "trip",
"state" ...) and `value` or `text`. Figures that the rows cannot give are None, never guessed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from host.runs import disturbed
from host.runs.breads import NEAR_K, bread_list
from host.runs.disturbed import kind, sentences

SETTLE_S = 300.0  # after first being near the setpoint, before the band is judged
BAND_MIN_S = 120.0  # less steady time than this shows no band
DISTURBING = ("load", "door", "mains", "power", "fault", "stop")
UNDISTURBED = ("running", "idle")  # states; a trip, a hold and a stop leave them

# key -> (words, unit, digits, definition). The order is that of the table.
FIGURES = {
    "duration_s": ("Length of the record", "time", 0, "last row minus first row"),
    "setpoint_c": (
        "Highest setpoint", "°C", 0,
        "highest setpoint while an evening ran or was held; what an idle board is set to does not count",
    ),
    "to_setpoint_s": (
        "Time to setpoint", "time", 0,
        f"from the first heat to the first reading within {NEAR_K:g} K below the highest setpoint",
    ),
    "overshoot_k": (
        "Overshoot", "K", 1,
        "highest reading above the setpoint, from reaching it to the first door, load, stop, trip, "
        "injected fault or change of setpoint",
    ),
    "band_k": (
        "Steady band, peak to peak", "K", 1,
        f"highest minus lowest reading in the same stretch, from {SETTLE_S:g} s after reaching it; "
        f"at least {BAND_MIN_S:g} s of it",
    ),
    "breads": ("Breads laid", "", 0, "number of load events; without them: how often the stage turned to bake"),
    "recovery_s": (
        "Recovery per bread, median", "time", 0,
        "from taking a bread out until the board says that the next can go in, as a cook counts; the last bread has "
        f"no figure. A record without stages: from laying until the reading is within {NEAR_K:g} K of the setpoint",
    ),
    "energy_kwh": ("Energy", "kWh", 2, "at the oven's mains terminals: the plant's own sum, or power over time"),
    "top_on_min": ("Top element on", "min", 0, "sum of the rows' shares of conduction"),
    "deck_on_min": ("Deck element on", "min", 0, "sum of the rows' shares of conduction"),
    "top_switchings": ("Top relay switched on", "×", 0, "from off to on; the rows alone miss short pulses"),
    "deck_switchings": ("Deck relay switched on", "×", 0, "from off to on; the rows alone miss short pulses"),
    "contactor_switchings": ("Contactor closed", "×", 0, "from open to closed"),
    "highest_reading_c": ("Highest reading", "°C", 0, "process value"),
    "highest_dome_c": ("Highest dome", "°C", 0, "the dome's air itself in a rehearsal, else its probe"),
    "highest_stone_c": ("Highest stone", "°C", 0, "the stone itself in a rehearsal, else its probe"),
    "highest_box_c": ("Highest electronics", "°C", 0, "the controller's box"),
    "end_reading_c": ("Reading at the end", "°C", 0, "last process value"),
    "holds": ("Holds", "", 0, "how often the heat was held; each is told with its reason and length"),
    "trips": ("Trips", "", 0, "number of trips; each is told with its reason"),
}  # fmt: skip


def summarise(
    rows: np.ndarray,
    events: list[dict[str, Any]],
    plant_energy_kwh: float | None = None,
    counts: Mapping[str, int] | None = None,
    faults: Sequence[str] = (),
) -> dict[str, Any]:
    """-> dict of what happened: a value (or None) for every key of FIGURES, and lists: `bread_list` of {t_s,
    recovery_s, sag_k}, `hold_list` of {t_s, seconds, reason, text}, `trip_list` of {t_s, reason, text}, and
    `faults_missed`, those of the injected `faults` ("name@seconds") whose time never came.

    `plant_energy_kwh` and `counts` ({"top": n, "deck": n, "contactor": n} switchings) are what the
    runner counted itself; without them the rows are all there is."""
    summary: dict[str, Any] = dict.fromkeys(FIGURES)
    trips = trip_list(rows, events)
    loads = disturbed.loads(rows, events)
    held = disturbed.holds(rows, events)
    summary.update(bread_list=[], trip_list=trips, trips=len(trips), breads=len(loads))
    summary.update(hold_list=held, holds=len(held), faults_missed=disturbed.missed(faults, end_s(rows)))
    if not len(rows):
        return summary
    t_s, pv_c, setpoint_c = (column(rows, name) for name in ("t_s", "pv_c", "setpoint_c"))
    summary["duration_s"] = float(t_s[-1] - t_s[0])
    heating = (column(rows, "heat_top") > 0) | (column(rows, "heat_deck") > 0)
    summary["setpoint_c"] = highest(setpoint_c[disturbed.evening_rows(rows, heating)])
    summary.update(approach(rows, events, loads))
    summary["bread_list"] = bread_list(rows, t_s, pv_c, setpoint_c, loads)
    recoveries = [b["recovery_s"] for b in summary["bread_list"] if b["recovery_s"] is not None]
    summary["recovery_s"] = float(np.median(recoveries)) if recoveries else None
    summary["energy_kwh"] = energy_kwh(rows) if plant_energy_kwh is None else float(plant_energy_kwh)
    summary.update(relays(rows, counts or {}))
    names = {"reading": "pv_c", "dome": "dome_c", "stone": "stone_c", "box": "box_c"}
    for name, source in names.items():
        summary[f"highest_{name}_c"] = highest(column(rows, source))
    readings = pv_c[np.isfinite(pv_c)]
    summary["end_reading_c"] = float(readings[-1]) if len(readings) else None
    return summary


def relays(rows: np.ndarray, counts: Mapping[str, int]) -> dict[str, Any]:
    """Minutes on and switchings of relays and contactor: by the rows, `counts` before them."""
    made: dict[str, Any] = {}
    for zone in ("top", "deck"):
        heat = np.nan_to_num(column(rows, f"heat_{zone}"))
        made[f"{zone}_on_min"] = float(np.sum(heat[:-1] * np.diff(column(rows, "t_s")))) / 60.0
        made[f"{zone}_switchings"] = switchings(heat)
    made["contactor_switchings"] = switchings(column(rows, "contactor"))
    return {**made, **{f"{name}_switchings": int(count) for name, count in counts.items()}}


def end_s(rows: np.ndarray) -> float | None:
    """Seconds of the last row, None without rows."""
    return float(rows["t_s"][-1]) if len(rows) else None


def approach(rows: np.ndarray, events: list[dict[str, Any]], loads: Sequence[float]) -> dict[str, float | None]:
    """Time to the setpoint, overshoot and steady band: the figures of an undisturbed approach."""
    t_s, pv_c, setpoint_c = (column(rows, name) for name in ("t_s", "pv_c", "setpoint_c"))
    figures: dict[str, float | None] = {"to_setpoint_s": None, "overshoot_k": None, "band_k": None}
    heating = (column(rows, "heat_top") > 0) | (column(rows, "heat_deck") > 0)
    goal_c = highest(setpoint_c[heating])
    if goal_c is None:
        return figures
    first = int(np.argmax(heating))
    near = (pv_c >= goal_c - NEAR_K) & (setpoint_c >= goal_c - 0.05) & (np.arange(len(t_s)) >= first)
    if not near.any():
        return figures
    reached = int(np.argmax(near))
    figures["to_setpoint_s"] = float(t_s[reached] - t_s[first])
    ends = [when(e) for e in events if is_disturbing(e) and when(e) >= t_s[reached]]
    ends += [load_s for load_s in loads if load_s >= t_s[reached]]
    moved = np.flatnonzero(np.abs(setpoint_c[reached:] - goal_c) > 0.05)
    if len(moved):
        ends.append(float(t_s[reached + moved[0]]))
    until_s = min(ends, default=math.inf)
    quiet = (t_s >= t_s[reached]) & (t_s < until_s) & np.isfinite(pv_c)
    if quiet.any():
        figures["overshoot_k"] = max(0.0, float(pv_c[quiet].max() - goal_c))
    steady = quiet & (t_s >= t_s[reached] + SETTLE_S)
    if steady.any() and np.ptp(t_s[steady]) >= BAND_MIN_S:
        figures["band_k"] = float(np.ptp(pv_c[steady]))
    return figures


def trip_list(rows: np.ndarray, events: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Trips: {t_s, reason (the condition's id), text (what it means, what to do)}; from the events,
    or from the rows where no event tells."""
    told = [trip(when(event), said_of(event)) for event in events if kind(event) == "trip"]
    trips = [one for one in told if one]  # a runner tells "none" at the start and after an acknowledge
    if trips or "trip" not in (rows.dtype.names or ()):
        return trips
    before = ""
    for row in rows:
        now = trip(float(row["t_s"]), row["trip"])
        if now and now["reason"] != before:
            trips.append(now)
        before = now["reason"] if now else ""
    return trips


def trip(t_s: float, said: str) -> dict[str, Any] | None:
    """One trip, or None where `said` means that there is none."""
    text = str(said).strip()
    if text in ("", "0", "none", "None"):
        return None
    return {"t_s": t_s, "reason": text, "text": sentences().get(text, text.replace("_", " "))}


def said_of(event: dict[str, Any]) -> str:
    """What a trip event says, whichever field carries it."""
    return event.get("value") or event.get("reason") or event.get("text") or "no reason given"


def is_disturbing(event: dict[str, Any]) -> bool:
    """Whether an undisturbed approach or soak ends with this event."""
    return kind(event) in DISTURBING or (kind(event) == "state" and event.get("value") not in UNDISTURBED)


def when(event: dict[str, Any]) -> float:
    """When an event was, seconds since the start of the run."""
    return float(event["t_s"])


def column(rows: np.ndarray, name: str) -> np.ndarray:
    """A column as floats; not-a-number throughout where the rows do not have it."""
    if name not in (rows.dtype.names or ()):
        return np.full(len(rows), math.nan)
    return np.asarray(rows[name], dtype=float)


def highest(values: np.ndarray) -> float | None:
    """The highest finite value, or None."""
    values = values[np.isfinite(values)]
    return float(values.max()) if len(values) else None


def switchings(level: np.ndarray) -> int | None:
    """How often a level went from off (0) to on, the first row included; None if not recorded."""
    level = level[np.isfinite(level)]
    if not len(level):
        return None
    on = level > 0
    return int(on[0]) + int(np.sum(on[1:] & ~on[:-1]))


def energy_kwh(rows: np.ndarray) -> float | None:
    """Energy from a power column, or None: trapezoids over the rows."""
    power_w = column(rows, "power_w")
    if not len(rows) or not np.isfinite(power_w).all():
        return None
    mean_w = (power_w[1:] + power_w[:-1]) / 2
    return float(np.sum(mean_w * np.diff(column(rows, "t_s")))) / 3.6e6


def shown(key: str, value: float | None, degrees: str = "C") -> str:
    """A figure as text with its unit, as in the table; `degrees`: of temperatures and their differences, "C" or "F"."""
    words, unit, digits, _ = FIGURES[key]
    if value is None:
        return "no figure"
    if unit == "time":
        return clock(value)
    if degrees == "F" and unit == "°C":
        return f"{value * 1.8 + 32:.{digits}f} °F"
    if unit == "K":
        return difference(value, degrees, digits)
    return f"{value:.{digits}f} {unit}".strip()


def difference(kelvin: float, degrees: str = "C", digits: int = 0) -> str:
    """A difference of temperatures as text: `5 K`, or `9 °F` where a cook thinks in Fahrenheit (NIST SP 811, B.8)."""
    return f"{kelvin * 1.8:.{digits}f} °F" if degrees == "F" else f"{kelvin:.{digits}f} K"


def clock(seconds: float) -> str:
    """Seconds as h:mm:ss or m:ss."""
    whole = int(round(seconds))
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    return f"{hours}:{minutes:02d}:{rest:02d} h" if hours else f"{minutes}:{rest:02d} min"


def lines_of(summary: dict[str, Any], degrees: str = "C") -> list[tuple[str, str, str]]:
    """(words, text, definition) of every figure."""
    return [(words, shown(key, summary.get(key), degrees), what) for key, (words, _, _, what) in FIGURES.items()]


def bread_lines(summary: dict[str, Any], degrees: str = "C") -> list[tuple[str, str]]:
    """(words, text) of every bread."""
    lines = []
    for number, one in enumerate(summary.get("bread_list") or [], 1):
        after_s = one["recovery_s"]
        ready = "" if after_s is None else f"ready for the next after {clock(after_s)}"
        back = ready or "not back before the next or the stop"
        sag = "" if one["sag_k"] is None else f", sank {difference(one['sag_k'], degrees)}"
        lines.append((f"Bread {number} at {clock(one['t_s'])}", back + sag))
    return lines


def hold_lines(summary: dict[str, Any]) -> list[tuple[str, str]]:
    """(words, text) of every hold, and of every injected fault that never came."""
    lines = [(f"Held at {clock(one['t_s'])}", f"for {clock(one['seconds'])}: {one['text']}")
             for one in summary.get("hold_list") or []]  # fmt: skip
    return lines + [("FAULT NEVER CAME", f"{text}: the record ends before its time")
                    for text in summary.get("faults_missed") or []]  # fmt: skip


def table(summary: dict[str, Any], degrees: str = "C") -> str:
    """The table of what happened as plain text for the terminal."""
    lines = [line[:2] for line in lines_of(summary, degrees)] + bread_lines(summary, degrees) + hold_lines(summary)
    lines += [(f"TRIP at {clock(one['t_s'])}", one["text"]) for one in summary.get("trip_list") or []]
    width = max(len(words) for words, _ in lines)
    return "\n".join(f"{words:<{width}}  {text}" for words, text in lines)
