"""The picture of calibrations over months: each point's correction with its uncertainty, by date."""

from __future__ import annotations

import io
import re
from typing import Any

from host.history.records import UNKNOWN_K, by_probe, changes
from host.runs import picture
from host.runs.picture import FAINT, INK, PAPER, inline

SIZES = {"wide": (9.6, 3.4), "narrow": (4.3, 4.2)}
# marker, dash and colour of one point after the other: told apart without colour
LOOKS = (("o", "solid", "#24211c"), ("s", (0, (6, 2)), "#8a2f0b"), ("^", (0, (2, 1.5)), "#1b5272"),
         ("D", (0, (6, 2, 1, 2)), "#5a5348"), ("v", (0, (1, 1)), "#24211c"))  # fmt: skip


def draw(records: list[dict[str, Any]], shape: str = "wide") -> str | None:
    """-> SVG text for inlining; None without matplotlib, or where no point was compared twice.

    records: of host.history.folders, in order of time; `shape`: "wide" or "narrow" as the page has room."""
    if not changes(records):
        return None
    try:
        from matplotlib import rc_context
        from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
        from matplotlib.figure import Figure
    except ImportError:
        return None
    style = {"svg.fonttype": "none", "svg.hashsalt": f"calibrations {shape}", "font.size": 9,
             "font.family": "sans-serif"}  # fmt: skip
    with rc_context(style):  # type: ignore[arg-type]  # its keys are typed as literals
        figure = Figure(figsize=SIZES[shape], facecolor=PAPER)
        figure.subplots_adjust(left=0.075 if shape == "wide" else 0.15, right=0.97, bottom=0.13, top=0.8)
        axes = figure.subplots()
        count = lines(axes, records)
        axes.set_ylabel("correction, K", color=INK)
        locator = AutoDateLocator(minticks=2, maxticks=8 if shape == "wide" else 4)
        axes.xaxis.set_major_locator(locator)
        axes.xaxis.set_major_formatter(ConciseDateFormatter(locator))
        axes.grid(axis="y", color=FAINT, linewidth=0.6)
        axes.set_facecolor(PAPER)
        axes.tick_params(colors=INK, length=3)
        axes.legend(loc="lower left", bbox_to_anchor=(-0.02, 1.01), ncols=min(count, 3 if shape == "wide" else 2),
                    frameon=False, labelcolor=INK, borderaxespad=0.2, columnspacing=1.2)  # fmt: skip
        text = io.StringIO()
        figure.savefig(text, format="svg", facecolor=PAPER, metadata={"Date": None, "Creator": None})
    made = inline(text.getvalue(), shape).replace(picture.SEEN, in_words(records))
    return re.sub(rf'(\bid="|href="#|url\(#){shape}-', rf"\g<1>{shape}-calibrations-", made)


def lines(axes: Any, records: list[dict[str, Any]]) -> int:
    """A line a point of a probe, bars of its expanded uncertainty; how many there are."""
    count = 0
    for (probe, identity), kept in by_probe(records).items():
        for name in sorted({name for record in kept for name in record["points"]}):
            having = [record for record in kept if name in record["points"]]
            mark, dash, colour = LOOKS[count % len(LOOKS)]
            axes.errorbar(
                [record["date"] for record in having],
                [record["points"][name][0] for record in having],
                [record["points"][name][1] or UNKNOWN_K for record in having],
                marker=mark, markerfacecolor=PAPER, markeredgecolor=colour, color=colour, linestyle=dash, linewidth=1.4,
                elinewidth=1.0, capsize=3, label=" ".join(part for part in (probe, identity, name) if part),
            )  # fmt: skip
            count += 1
    return count


def in_words(records: list[dict[str, Any]]) -> str:
    """The picture for somebody who cannot see it."""
    moved = "; ".join(
        f"{one['probe']} at {one['point']} {one['change_k']:+.1f} K from {one['first']:%Y-%m-%d} to "
        f"{one['last']:%Y-%m-%d}, uncertain by {one['expanded_k']:.1f} K"
        for one in changes(records)
    )
    return picture_words(f"Corrections over the months, with bars of their uncertainty (k = 2): {moved}")


def picture_words(text: str) -> str:
    """Text for an attribute of SVG."""
    return text.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
