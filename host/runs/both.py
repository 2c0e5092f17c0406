"""One chart of two runs: dome and stone of both over the minutes since the first heat, and the output of each.

Told apart without colour: the first run's lines are solid and its breads filled, the second's broken and open; dome
lines are heavy, stone lines thin; every line has its name at its end.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from host.runs.picture import FAINT, INK, envelope, inline, named, plain, thin, written
from host.runs.recording import Run
from host.runs.summary import column, kind, when

# of the first and the second run: colour (contrast with the paper above 4.5 : 1), dash, fill of a bread's mark
LOOKS = (("#1b5272", "solid", "#1b5272"), ("#8a2f0b", (0, (5, 2)), "none"))
WIDTHS = {"dome": 2.0, "stone": 1.1}
MARGINS = {
    "wide": {"left": 0.065, "right": 0.88, "top": 0.9, "bottom": 0.085},
    "narrow": {"left": 0.13, "right": 0.76, "top": 0.88, "bottom": 0.085},
}


def draw(names: tuple[str, str], runs: tuple[Run, Run], shape: str = "wide", unit: str = "C") -> str | None:
    """-> SVG text for inlining; None if matplotlib is missing or a run has no row. `unit`: "C" or "F"."""
    if not all(len(run.rows) for run in runs):
        return None
    text = io.StringIO()
    is_made = written(text, "svg", shape, lambda figure: compose(figure, runs, shape, unit))
    return inline(text.getvalue(), shape, seen(names, runs, unit)) if is_made else None


def first_heat_s(rows: np.ndarray) -> float:
    """When heat first flowed; the record's start where it never did."""
    heating = (np.nan_to_num(column(rows, "heat_top")) > 0) | (np.nan_to_num(column(rows, "heat_deck")) > 0)
    return float(rows["t_s"][int(np.argmax(heating))]) if heating.any() else float(rows["t_s"][0])


def lines_of(run: Run, unit: str) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """(minutes since the first heat, {"dome": degrees, "stone": degrees})."""
    minutes = (column(run.rows, "t_s") - first_heat_s(run.rows)) / 60
    kept = {"dome": column(run.rows, "pv_c"), "stone": column(run.rows, "stone_c")}
    return minutes, {name: values * 1.8 + 32 if unit == "F" else values for name, values in kept.items()}


def compose(figure: Any, runs: tuple[Run, Run], shape: str, unit: str) -> None:
    """Lay the three panels into a matplotlib figure."""
    heat_axes, *out_axes = figure.subplots(
        3, 1, sharex=True, gridspec_kw={"height_ratios": [6, 1.4, 1.4], "hspace": 0.28}
    )
    figure.subplots_adjust(**MARGINS[shape])
    ends = []
    low, high = np.inf, -np.inf
    for letter, run, (colour, dash, fill), axes in zip("AB", runs, LOOKS, out_axes, strict=True):
        minutes, values = lines_of(run, unit)
        low, high = min(low, minutes[0]), max(high, minutes[-1])
        for name, degrees in values.items():
            known = np.flatnonzero(np.isfinite(degrees))
            if len(known):
                heat_axes.plot(*thin(minutes, degrees), color=colour, linestyle=dash, linewidth=WIDTHS[name])
                ends.append((degrees[known[-1]], f"{letter} {name}", colour))
        breads = [(when(event) - first_heat_s(run.rows)) / 60 for event in run.events if kind(event) == "load"]
        heat_axes.plot(
            breads, [1.06 if letter == "A" else 1.02] * len(breads), marker="v", markersize=5, linestyle="none",
            markeredgecolor=colour, markerfacecolor=fill, transform=heat_axes.get_xaxis_transform(), clip_on=False,
        )  # fmt: skip
        out_pct = np.nan_to_num(column(run.rows, "out_pct"))
        axes.fill_between(*envelope(minutes, out_pct), color=FAINT, linewidth=0)
        axes.plot(*thin(minutes, out_pct), color=colour, linewidth=0.8)
        axes.set_ylim(0, 105)
        axes.set_yticks([0, 50, 100])
        axes.set_title(f"output of {letter}, %", loc="left", fontsize=9, color=INK, pad=3)
    heat_axes.set_ylim(bottom=0)
    heat_axes.grid(axis="y", color=FAINT, linewidth=0.6)
    heat_axes.set_title(f"temperature, °{unit}", loc="left", fontsize=9, color=INK, pad=20)
    named(heat_axes, ends)
    for axes in (heat_axes, *out_axes):
        axes.set_xlim(low, max(high, low + 0.1))
        plain(axes)
    out_axes[-1].set_xlabel("minutes since the first heat", color=INK)


def seen(names: tuple[str, str], runs: tuple[Run, Run], unit: str) -> str:
    """The chart in words, for who listens to the page."""
    told = []
    for letter, name, run in zip("AB", names, runs, strict=True):
        minutes, values = lines_of(run, unit)
        highest = [
            f"{what} up to {np.nanmax(degrees):.0f} degrees {unit}"
            for what, degrees in values.items() if np.isfinite(degrees).any()
        ]  # fmt: skip
        breads = sum(kind(event) == "load" for event in run.events)
        told.append(f"{letter}, {name}: {minutes[-1]:.0f} minutes, {', '.join(highest)}, {breads} breads")
    return f"Dome, stone and output of two runs over the minutes since the first heat. {'. '.join(told)}."


def key(names: tuple[str, str]) -> str:
    """How to read it, in a line."""
    return (
        f"A, solid lines and filled triangles: {names[0]}. B, broken lines and open triangles: {names[1]}. "
        "Heavy lines: dome; thin lines: stone; triangles: a bread is laid."
    )
