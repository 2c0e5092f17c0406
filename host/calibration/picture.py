"""The picture of a calibration: the curve that the board will hold, what remains uncertain around it, and the points.

Told apart without colour: the curve is a heavy line, the band hatched, a point a ring with its own bar. As narrow as a
phone, so that its words stay legible there; on paper and desk it is drawn larger.
"""

from __future__ import annotations

import io
from html import escape
from typing import Any

import numpy as np

from host.calibration.curve import expanded_of

INK, PAPER, FAINT, CURVE, BAND = "#24211c", "#fffdf8", "#d8d2c6", "#8a2f0b", "#1b5272"  # each 4.5 : 1 and more on paper
SIZE_IN = (4.3, 3.9)  # at 390 px a point of type is 1.26 px
TOP_C = 500.0
BAND_AT_C = tuple(range(0, 501, 10))
SAID_C = 450
WATER_C = 110.0  # beyond it nothing was compared where water was all


def draw(result: dict[str, Any]) -> str | None:
    """SVG text of the curve with its uncertainty; None without matplotlib or without a curve.

    result: as tools/calibrate.py makes it: `probe`, `date`, `curve` [[reading_mc, correction_mc], ...], `points`,
    `band` [(°C, expanded uncertainty of the corrected reading in K, k = 2), ...], `water_only`."""
    if not result["curve"]:
        return None
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError:
        return None
    style = {"svg.fonttype": "none", "svg.hashsalt": "calibration", "font.size": 9, "hatch.linewidth": 0.5}
    with rc_context(style):  # type: ignore[arg-type]  # its keys are typed as literals
        figure = Figure(figsize=SIZE_IN, facecolor=PAPER)
        figure.subplots_adjust(left=0.13, right=0.96, top=0.8, bottom=0.13)
        axes = figure.subplots()
        compose(axes, result)
        axes.legend(loc="lower left", bbox_to_anchor=(-0.12, 1.0), frameon=False, labelcolor=INK, borderaxespad=0.2)
        out = io.StringIO()
        figure.savefig(out, format="svg", facecolor=PAPER, metadata={"Date": None, "Creator": None})
    return spoken(out.getvalue(), in_words(result))


def compose(axes: Any, result: dict[str, Any]) -> None:
    """Curve, band and points over the reading."""
    at_c, spread_k = (np.array(column, float) for column in zip(*result["band"], strict=True))
    middle_k = corrections(result["curve"], at_c)
    axes.fill_between(at_c, middle_k - spread_k, middle_k + spread_k, facecolor="none", edgecolor=BAND, hatch="///",
                      linewidth=0.8, label="what remains uncertain (k = 2)")  # fmt: skip
    line_c = np.unique(np.concatenate([np.linspace(0.0, TOP_C, 101), [r / 1000 for r, _ in result["curve"]]]))
    axes.plot(line_c, corrections(result["curve"], line_c), color=CURVE, linewidth=2.2, label="correction on the board")
    points = result["points"]
    axes.errorbar([p.reading_c for p in points], [p.correction_k for p in points], [expanded_of(p) for p in points],
                  fmt="o", markersize=6, markerfacecolor=PAPER, markeredgecolor=INK, ecolor=INK, elinewidth=1.2,
                  capsize=4, label="compared, with its uncertainty")  # fmt: skip
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.set_xlim(min(0.0, *(p.reading_c for p in points)) - 8.0, TOP_C)
    axes.set_xlabel("reading of the probe, °C", color=INK)
    axes.set_ylabel("correction, K", color=INK)
    axes.grid(color=FAINT, linewidth=0.6)
    axes.set_facecolor(PAPER)
    axes.tick_params(colors=INK, length=3)
    if result["water_only"]:
        axes.axvline(WATER_C, color=INK, linewidth=1.0, linestyle=(0, (4, 3)))
        axes.text(WATER_C + 6, axes.get_ylim()[0], "nothing was compared here", color=INK, va="bottom", fontsize=8)


def corrections(curve: list[list[int]], at_c: np.ndarray) -> np.ndarray:
    """K that the board adds at these readings: straight between the points of the curve, held beyond them."""
    return np.interp(at_c, [reading / 1000 for reading, _ in curve], [add / 1000 for _, add in curve])


def in_words(result: dict[str, Any]) -> str:
    """The picture for somebody who cannot see it."""
    t_c, u_k = next(entry for entry in result["band"] if entry[0] >= SAID_C)
    add_k = float(corrections(result["curve"], np.array([float(t_c)]))[0])
    compared = ", ".join(f"{p.correction_k:+.1f} K at {p.reading_c:.0f} °C" for p in result["points"])
    return (
        f"Calibration of the {result['probe']} probe, {result['date']}: correction over reading. Compared: {compared}. "
        f"At {t_c} °C the correction is {add_k:+.1f} K and stays uncertain by {u_k:.1f} K (k = 2)."
    )


def spoken(svg: str, words: str) -> str:
    """The SVG with its words for a screen reader: a label on the element and a title as its first child."""
    start = svg.index("<svg ")
    end = svg.index(">", start) + 1
    opening = svg[start:end].replace("<svg ", f'<svg role="img" aria-label="{escape(words)}" ', 1)
    return svg[:start] + opening + f"\n <title>{escape(words)}</title>" + svg[end:]
