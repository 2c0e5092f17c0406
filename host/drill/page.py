"""What a drill found, as a table for the terminal and as one page that needs no network."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from host.deploy.plan import device_version
from host.drill.campaign import badness
from host.faults.library import FAULTS
from host.page import caution, document, scrolled
from host.page.style import REPORT

if TYPE_CHECKING:
    from host.drill.campaign import Result


HEADS = ("fault", "phase", "oven", "wiring", "seen after s", "heat off s", "dome at stop", "highest after", "reason")
LEAD = (
    "Each fault was made on a copy of a warm board and oven; its worst case is shown. Temperatures are those of the "
    "simulated air itself, not of the probe. Seen after: from the fault to the first reason."
)


def worst(results: Sequence[Result]) -> list[Result]:
    """The worst Result of each fault: a failed one, else the one nearest to its limit; in the library's order."""
    found = {}
    for result in results:
        kept = found.get(result.name)
        if kept is None or _rank(result) > _rank(kept):
            found[result.name] = result
    order = {name: index for index, name in enumerate(FAULTS)}
    return sorted(found.values(), key=lambda r: [order.get(name, 0) for name in r.case.faults])


def _rank(result):
    return (bool(result.failed), not result.quiet, badness(result))


def cells(result: Result) -> list[str]:
    """The texts of a table's line."""
    case = result.case
    seen = "-" if result.seen_s != result.seen_s else f"{result.seen_s:.1f}"
    numbers = [seen, f"{result.heat_off_s:.1f}", _degrees(result.stop_c), _degrees(result.peak_c)]
    return [result.name, case.phase, case.oven, case.wiring, *numbers, result.reason]


def _degrees(value):
    return "-" if value != value else f"{value:.0f}"


def remark(result: Result) -> str:
    """Why a line is not a plain success, or "" if it is."""
    if result.failed:
        return f"FAILED: {result.failed}"
    if result.excused:
        return f"excused: {result.excused}"
    return f"no harm: {result.quiet}" if result.quiet else ""


def text_table(results: Sequence[Result]) -> str:
    """The worst case of each fault and every failed case, as text."""
    lines = [[*HEADS, ""]]
    shown = worst(results)
    single = [r for r in shown if len(r.case.faults) == 1]
    lines += [[*cells(r), remark(r)] for r in single]
    pairs = [r for r in shown if len(r.case.faults) > 1]
    if pairs:
        hottest = max(pairs, key=lambda r: (bool(r.failed), badness(r)))
        lines.append([*cells(hottest), f"worst of {len(pairs)} pairs {remark(hottest)}"])
    widths = [max(len(line[i]) for line in lines) for i in range(len(HEADS))]
    text = "\n".join(
        "  ".join([*(cell.ljust(width) for cell, width in zip(line, widths, strict=False)), line[-1]]).rstrip()
        for line in lines
    )
    failed = [r for r in results if r.failed]
    for result in failed:
        case = result.case
        text += f"\nFAILED {result.name} {case.phase} {case.oven} {case.wiring}: {result.failed}"
    return text


def page(results: Sequence[Result], when: str) -> str:
    """One HTML document: when it was, the worst trace, the failed cases, the worst case of each fault."""
    failed = [r for r in results if r.failed]
    drawn = [r for r in results if r.rows is not None and len(r.rows)]
    hottest = max(drawn, key=lambda r: (bool(r.failed), badness(r)), default=None)
    count = f"{len(results)} cases, {len(failed)} failed."
    banner = f'<p class="trip">{escape(count)}</p>' if failed else f"<p>{escape(count)}</p>"
    parts = [
        "<h1>Fault drill</h1>",
        banner,
        f"<p>Drilled on {escape(when)} with program {escape(device_version())}.</p>",
        first(results),
        rows_of("Failed", failed, is_open=True) if failed else "",
        f"<p>{escape(LEAD)}</p>",
        trace(hottest),
        rows_of("Worst case of each fault", worst(results)),
        caution(),
    ]
    return document("Fault drill", parts, REPORT + " table { font-size: .85rem; }")


def first(results: Sequence[Result]) -> str:
    """What the campaign came to, in five figures."""
    known = [r for r in results if r.heat_off_s == r.heat_off_s and not r.quiet and not r.excused]
    hot = [r for r in results if r.peak_c == r.peak_c]
    slowest = max(known, key=lambda r: r.heat_off_s, default=None)
    hottest = max(hot, key=lambda r: r.peak_c, default=None)
    cells = (
        ("faults tried", str(len({r.name for r in results}))),
        ("cases", str(len(results))),
        ("failed", str(sum(bool(r.failed) for r in results))),
        ("longest until heat was off", "-" if slowest is None else f"{slowest.heat_off_s:.1f} s"),
        ("highest dome after a fault", "-" if hottest is None else f"{hottest.peak_c:.0f} °C"),
    )
    inside = "".join(f"<div><dt>{escape(words)}</dt><dd>{escape(text)}</dd></div>" for words, text in cells)
    return f'<dl class="first">{inside}</dl>'


def hottest(results: Sequence[Result]) -> str:
    """One line: the highest true air, wall and stone of all cases, and in which."""
    told = []
    for name in ("air", "wall", "stone"):
        known = [r for r in results if name in r.hottest]
        if known:
            worst = max(known, key=lambda r: r.hottest[name])
            case = worst.case
            told.append(f"{name} {worst.hottest[name]:.0f} °C ({worst.name} {case.phase} {case.oven} {case.wiring})")
    return "highest true " + ", ".join(told) if told else ""


def trace(result: Result | None) -> str:
    """The picture of the worst case with its words."""
    if result is None:
        return ""
    from host.runs.picture import draw

    words = f"Nearest to its limit: {result.name}, {result.case.phase}, oven {result.case.oven}, {result.case.wiring}"
    told = f"reason {result.reason}; high limit {result.limit_c:.0f} °C. {remark(result)}"
    wide = draw(result.rows, [], "wide")  # type: ignore[arg-type]  # a hottest result has its rows
    picture = "<p>No picture: matplotlib is missing.</p>" if wide is None else wide + draw(result.rows, [], "narrow")  # type: ignore[arg-type, operator]
    return f"<h2>{escape(words)}</h2><p>{escape(told)}</p>{picture}"


def rows_of(title: str, results: Sequence[Result], is_open: bool = False) -> str:
    """A table of cases, folded away unless `is_open`."""
    heads = "".join(f'<th scope="col">{escape(head)}</th>' for head in (*HEADS, ""))
    lines = ""
    for result in results:
        line = "".join(f"<td>{escape(cell)}</td>" for cell in cells(result))
        lines += f"<tr>{line}<td><small>{escape(remark(result))}</small></td></tr>"
    table = scrolled(f"<table><tr>{heads}</tr>{lines}</table>", title)
    return f"<details{' open' * is_open}><summary>{escape(title)}: {len(results)}</summary>{table}</details>"
