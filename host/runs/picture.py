"""The picture of a run as SVG text: temperatures, output and both relays over time.

Told apart without colour: every line has its own dash and its name at its end. Needs matplotlib (extra
`view`); `draw` returns None without it.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from host.runs.notes import Note
from host.runs.summary import column, difference, kind, trip_list, when

INK, PAPER, FAINT = "#24211c", "#fffdf8", "#d8d2c6"
# name -> (colour, dash, width); the contrast of each colour with the paper is above 4.5 : 1 (WCAG 2.1)
LINES = {
    "setpoint": ("#24211c", (0, (1, 1.6)), 1.5),
    "dome": ("#8a2f0b", "solid", 1.8),
    "stone": ("#1b5272", (0, (6, 2.2)), 1.8),
    "dome's air": ("#6a5b4e", (0, (5, 1.5, 1, 1.5)), 1.1),
}
APART_K = 10.0  # the dome's air itself is drawn as well where the reading is further from it than this
IN_FORCE = ("running", "held", "")  # states in which the setpoint asks for something
POINTS = 900  # per line: more than a page has pixels; extremes are kept
MARGINS = {
    "wide": {"left": 0.065, "right": 0.92, "top": 0.93, "bottom": 0.085},
    "narrow": {"left": 0.13, "right": 0.81, "top": 0.91, "bottom": 0.085},
}
RELAY_BINS = 160  # about a minute of an evening: several windows of the relays in each
SIZES = {"wide": (9.6, 5.6), "narrow": (4.3, 6.0)}  # inches


def draw(
    rows: np.ndarray,
    events: list[dict[str, Any]],
    shape: str = "wide",
    notes: Sequence[Note] = (),
    unit: str = "C",
) -> str | None:
    """-> SVG text without XML header, for inlining; None if matplotlib is missing or no rows.

    `notes`: their letters stand at their times; `unit` of every temperature: "C" or "F"."""
    text = io.StringIO()
    return inline(text.getvalue(), shape) if save(text, rows, events, shape, notes=notes, unit=unit) else None


def save(
    target: Path | str | io.StringIO,
    rows: np.ndarray,
    events: list[dict[str, Any]],
    shape: str = "wide",
    form: str = "svg",
    notes: Sequence[Note] = (),
    unit: str = "C",
) -> bool:
    """Write the picture to a path or file as `form` (svg, png, pdf); False where `draw` gives None."""
    if not len(rows):
        return False
    return written(target, form, shape, lambda figure: compose(figure, rows, events, shape, notes, unit))


def written(target: Path | str | io.StringIO, form: str, shape: str, composed: Callable[[Any], object]) -> bool:
    """Write what `composed` lays into a figure of this shape; False where matplotlib is missing."""
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError:
        return False
    # text stays text: searchable, and sharp in print; the salt makes the same run the same file
    style = {"svg.fonttype": "none", "svg.hashsalt": shape, "font.size": 9, "font.family": "sans-serif"}
    with rc_context(style):  # type: ignore[arg-type]  # its keys are typed as literals
        figure = Figure(figsize=SIZES[shape], facecolor=PAPER)
        composed(figure)
        metadata = {"Date": None, "Creator": None} if form == "svg" else None
        figure.savefig(target, format=form, facecolor=PAPER, metadata=metadata, dpi=110)
    return True


def compose(
    figure: Any,
    rows: np.ndarray,
    events: list[dict[str, Any]],
    shape: str,
    notes: Sequence[Note] = (),
    unit: str = "C",
) -> None:
    """Lay the three panels into a matplotlib figure."""
    heat_axes, out_axes, relay_axes = figure.subplots(
        3, 1, sharex=True, gridspec_kw={"height_ratios": [6, 1.6, 1.3], "hspace": 0.2}
    )
    figure.subplots_adjust(**MARGINS[shape])
    minutes = column(rows, "t_s") / 60.0
    temperatures(heat_axes, minutes, rows, unit)
    lettered(heat_axes, notes, minutes)
    apart = (0.02 if shape == "wide" else 0.05) * max(minutes[-1] - minutes[0], 1e-6)
    marks(heat_axes, events, trip_list(rows, events), apart)
    out_pct = np.nan_to_num(column(rows, "out_pct"))
    at, low, high = envelope(minutes, out_pct)
    out_axes.fill_between(at, low, high, color="#b9b0a0", linewidth=0)
    out_axes.plot(*thin(minutes, out_pct), color=INK, linewidth=0.7)
    out_axes.set_ylim(0, 105)
    out_axes.set_yticks([0, 50, 100])
    out_axes.set_title("output, %", loc="left", fontsize=9, color=INK, pad=3)
    relays(relay_axes, minutes, rows)
    for axes in (heat_axes, out_axes, relay_axes):
        axes.set_xlim(0.0 if 0 <= minutes[0] < 1 else minutes[0], max(minutes[-1], minutes[0] + 0.1))
        plain(axes)
    relay_axes.set_xlabel("minutes", color=INK)


def plain(axes: Any) -> None:
    """Paper, ink, and no frame but the two axes."""
    axes.set_facecolor(PAPER)
    axes.tick_params(colors=INK, length=3)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(INK)


def lettered(axes: Any, notes: Sequence[Note], minutes: np.ndarray) -> None:
    """The letter of each note low in the axes, at its time, if the record has that time."""
    for one in notes:
        if one.t_s is not None and minutes[0] <= one.t_s / 60 <= minutes[-1]:
            box = {"facecolor": PAPER, "edgecolor": INK, "linewidth": 0.8, "pad": 1.8}
            axes.text(
                one.t_s / 60, 0.2, one.letter, transform=axes.get_xaxis_transform(), ha="center", color=INK,
                fontsize=8, fontweight="bold", bbox=box,
            )  # fmt: skip


def temperatures(axes: Any, minutes: np.ndarray, rows: np.ndarray, unit: str = "C") -> None:
    """Dome, stone and setpoint with their names at the lines' ends."""
    reading, true_c, setpoint_c = (column(rows, name) for name in ("pv_c", "dome_c", "setpoint_c"))
    is_asked = (setpoint_c > 0) & np.isin(rows["state"], IN_FORCE)
    values = {
        "setpoint": np.where(is_asked, setpoint_c, np.nan),
        "dome": reading,
        "stone": column(rows, "stone_c"),
        "dome's air": np.where(np.abs(true_c - reading) > APART_K, true_c, np.nan),
    }
    ends = []
    for name, kept_c in values.items():
        celsius = kept_c * 1.8 + 32 if unit == "F" else kept_c
        known = np.flatnonzero(np.isfinite(celsius))
        if len(known):
            colour, dash, width = LINES[name]
            axes.plot(*thin(minutes, celsius), color=colour, linestyle=dash, linewidth=width)
            if name != "dome's air":
                ends.append((celsius[known[-1]], name, colour))
    words = f"temperature, °{unit}"
    if np.isfinite(values["dome's air"]).any():
        words += f"    (dash-dot: the dome's air, where the probe is over {difference(APART_K, unit)} away)"
    axes.set_title(words, loc="left", fontsize=9, color=INK, pad=14, wrap=True)
    axes.set_ylim(bottom=0)
    axes.grid(axis="y", color=FAINT, linewidth=0.6)
    named(axes, ends)


def named(axes: Any, ends: list[tuple[float, str, str]]) -> None:
    """The names of lines at their ends, [(last value, name, colour), ...], a line's height apart."""
    low, top = axes.get_ylim()
    at = -1.0
    for value, name, colour in sorted(ends):
        at = max(at + 0.06, (value - low) / (top - low))
        axes.text(1.008, at, name, color=colour, transform=axes.transAxes, va="center", fontweight="bold")


def marks(axes: Any, events: list[dict[str, Any]], trips: list[dict[str, Any]], apart: float) -> None:
    """A number over each bread laid (`apart` minutes at least between two numbers); a heavy line
    with its word at each trip."""
    over = axes.get_xaxis_transform()
    loads = [when(event) / 60 for event in events if kind(event) == "load"]
    free = -np.inf
    for number, at in enumerate(loads, 1):
        axes.axvline(at, color=FAINT, linewidth=0.9, zorder=0)
        if at >= free:
            words, align = (f"bread {number}", "right") if number == 1 else (str(number), "center")
            axes.text(at, 1.015, words, transform=over, ha=align, color=INK, fontsize=8)
            free = at + apart
    for trip in trips:
        axes.axvline(trip["t_s"] / 60, color=INK, linewidth=2.6)
        box = {"facecolor": INK, "edgecolor": INK, "pad": 2.5}
        axes.text(
            trip["t_s"] / 60, 0.06, " TRIP ", transform=over, ha="center", color=PAPER, bbox=box,
            fontweight="bold",
        )  # fmt: skip


def relays(axes: Any, minutes: np.ndarray, rows: np.ndarray) -> None:
    """Two strips: the share of the time in which each relay conducts."""
    for base, zone in ((1.15, "top"), (0.0, "deck")):
        at, _, _, share = binned(minutes, np.nan_to_num(column(rows, f"heat_{zone}")), RELAY_BINS)
        at, share = np.append(at, minutes[-1]), np.append(share, share[-1])
        axes.fill_between(at, base, base + share, step="post", facecolor="#8f8574", linewidth=0)
        axes.axhline(base, color=INK, linewidth=0.5)
    axes.set_ylim(0, 2.2)
    axes.set_yticks([0.5, 1.65], ["deck", "top"])
    axes.set_title("relays: share of the time on", loc="left", fontsize=9, color=INK, pad=3)


def binned(
    at: np.ndarray, values: np.ndarray, bins: int = POINTS // 2
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """(at, lowest, highest, mean) of the values in at most `bins` stretches of equal count."""
    edges = np.unique(np.linspace(0, len(at), min(bins, len(at)) + 1).astype(int))[:-1]
    counts = np.diff(np.append(edges, len(at)))
    low, high = np.fmin.reduceat(values, edges), np.fmax.reduceat(values, edges)
    return at[edges], low, high, np.add.reduceat(values, edges) / counts


def envelope(at: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(at, lowest, highest) for a filled band."""
    return binned(at, values)[:3]


def thin(at: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The line with at most POINTS points; the extremes of every stretch are kept."""
    if len(at) <= POINTS:
        return at, values
    centre, low, high, _ = binned(at, values)
    rising = np.append(np.diff(np.nan_to_num(low)) > 0, False)
    pairs = np.where(rising, [low, high], [high, low]).T.ravel()
    middle = centre + np.diff(np.append(centre, at[-1])) / 2
    return np.column_stack([centre, middle]).ravel(), pairs


def inline(svg: str, shape: str, seen: str = "") -> str:
    """SVG for the inside of a page: no header, no links, ids of its own, as wide as its place.

    `seen`: the picture in words, for who listens."""
    words = escape(seen or SEEN)
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{shape}-", svg)
    return re.sub(
        r'<svg ([^>]*?)width="[^"]*"',
        rf'<svg class="{shape}" role="img" aria-label="{words}" \1',
        svg,
        count=1,
    ).replace(' height="', ' data-height="', 1)


SEEN = "Dome, stone, setpoint, output and relays over time; the figures are in the table below"
