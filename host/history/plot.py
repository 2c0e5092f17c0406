"""The picture of a history as SVG: every evening's figures against the first, and the trend of what was found."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from host.history.calibration_plot import picture_words
from host.history.evening import FIGURES
from host.history.findings import Finding
from host.history.shift import FIRST, evening_cov, matrix
from host.runs.picture import FAINT, INK, PAPER, inline

LAST = 5  # evenings of the running median
SHOWN = ("rise", "top", "hold", "cool", "stone")
SIZES = {"wide": (9.6, 6.4), "narrow": (4.3, 7.4)}
BAND = "#1b5272"
COVERAGE = 2.0  # of the band: expanded as the other uncertainties are


def draw(
    evenings: list[dict[str, Any]], findings: list[Finding], setpoint_c: float | None, shape: str = "wide"
) -> str | None:
    """-> SVG text for inlining, None without matplotlib or with fewer than two evenings."""
    if len(evenings) < 2 or setpoint_c is None:
        return None
    try:
        from matplotlib import rc_context
        from matplotlib.figure import Figure
    except ImportError:
        return None
    logs = matrix(evenings, setpoint_c)
    scatter = np.sqrt(np.diag(evening_cov(logs)))
    style = {"svg.fonttype": "none", "svg.hashsalt": shape, "font.size": 9, "font.family": "sans-serif"}
    with rc_context(style):  # type: ignore[arg-type]  # its keys are typed as literals
        figure = Figure(figsize=SIZES[shape], facecolor=PAPER)
        axes = figure.subplots(len(SHOWN), 1, sharex=True)
        left, bottom = (0.09, 0.07) if shape == "wide" else (0.16, 0.11)
        figure.subplots_adjust(left=left, right=0.97, top=0.95, bottom=bottom, hspace=0.55)
        for axis, name in zip(axes, SHOWN, strict=True):
            column = list(FIGURES).index(name)
            panel(axis, name, logs[:, column], scatter[column])
            for finding in findings:
                at = [k for k, evening in enumerate(evenings) if evening.get("name") == finding.since]
                if at and finding.trend is not None and not finding.is_note:
                    axis.axvline(at[0] + 1, color=INK, linewidth=1.6, linestyle=(0, (4, 2)))
        apart = "; " if shape == "wide" else "\n"
        words = ["evening", "hatched: where one evening scatters (k = 2)"] + ["dashed: a finding began"] * bool(
            findings
        )
        axes[-1].set_xlabel(apart.join(words), color=INK)
        text = io.StringIO()
        figure.savefig(text, format="svg", facecolor=PAPER, metadata={"Date": None, "Creator": None})
    from host.runs import picture

    return inline(text.getvalue(), shape).replace(picture.SEEN, picture_words(in_words(logs, scatter)))


def in_words(logs: np.ndarray, scatter: np.ndarray) -> str:
    """The picture for somebody who cannot see it: where the last evenings stand against the first."""
    said = []
    for name in SHOWN:
        column = list(FIGURES).index(name)
        values = logs[np.isfinite(logs[:, column]), column]
        if len(values):
            now_pct = 100 * np.exp(np.median(values[-LAST:]) - np.median(values[:FIRST]))
            said.append(f"{FIGURES[name][0]} {now_pct:.0f} %, one evening scatters by "
                        f"{100 * (np.exp(COVERAGE * scatter[column]) - 1):.0f} %")  # fmt: skip
    return (
        f"Figures of every evening in per cent of the first. The last {LAST}: "
        + ("; ".join(said) or "no figure")
        + ". The numbers are in the table below"
    )


def panel(axis: Any, name: str, logs: np.ndarray, scatter: float) -> None:
    """One figure: a dot an evening, the running median of five as a line, a hatched band where one evening scatters.

    scatter: standard deviation of one evening's logarithm."""
    at = np.arange(len(logs)) + 1
    known = np.isfinite(logs)
    axis.set_facecolor(PAPER)
    axis.set_title(f"{FIGURES[name][0]}, % of the first evenings", loc="left", fontsize=9, color=INK, pad=3)
    axis.axhline(100, color=FAINT, linewidth=1)
    low, high = (100 * np.exp(sign * COVERAGE * scatter) for sign in (-1, 1))
    if np.isfinite(logs).any():
        axis.axhspan(low, high, facecolor="none", edgecolor=BAND, hatch="////", linewidth=0.5, alpha=0.6)
    axis.tick_params(colors=INK, length=3)
    for side, spine in axis.spines.items():
        spine.set_visible(side in ("left", "bottom"))
    axis.set_xlim(0.5, len(logs) + 0.5)
    if not known.any():
        axis.set_yticks([])
        axis.text(0.5, 0.5, "no evening gives this figure", transform=axis.transAxes, ha="center", color=INK)
        return
    base = np.median(logs[known][:FIRST])
    pct = 100 * np.exp(logs - base)
    axis.plot(
        at[known], pct[known], "o", markersize=3, markerfacecolor="none", markeredgecolor=INK, markeredgewidth=0.8
    )
    smooth = [
        np.nanmedian(pct[max(0, k - 2) : k + 3]) if known[max(0, k - 2) : k + 3].any() else np.nan
        for k in range(len(pct))
    ]
    axis.plot(at, smooth, color="#8a2f0b", linewidth=1.6)
