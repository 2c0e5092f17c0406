"""The page of a history: findings first, then the picture, relays, calibrations, every evening; no network."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

from host.history import calibration_plot, records, text
from host.history.findings import usual_setpoint_c
from host.history.plot import draw
from host.page import caution, document, scrolled
from host.page.style import REPORT
from host.runs.report import NO_PICTURE

if TYPE_CHECKING:
    from host.history.findings import Finding
    from host.history.folders import History


LIMITS = (
    "What these figures cannot tell apart: a weak element and a lasting fall of the mains voltage, unless voltage or "
    "current is measured; "
    "a weak element and a dome probe that reads low, unless there is a stone probe or a measured current; "
    "a gasket and sagged insulation; two things that change at once. Names and strengths come from simulated ovens; "
    "nothing was checked against yours."
)
WIDE_TABLE = """.wide-table td, .wide-table th { white-space: nowrap; font-size: .85rem; }"""


def page(history: History, findings: list[Finding], remarks: list, counts: list[dict[str, Any]], title: str) -> str:
    """-> HTML text."""
    evenings = history.evenings
    body = [
        f"<h1>{escape(title)}</h1>",
        f"<p>{span(evenings)}</p>",
        *(f'<p class="word">{escape(line)}</p>' for line in [*remarks, *history.skipped]),
        *(block(finding) for finding in findings),
    ]
    if not findings:
        body.append(f"<p>{escape(text.nothing(evenings))}</p>")
    body += [drawing(evenings, findings), "<h2>Power, relays</h2>", f"<p>{escape(text.model_line(evenings))}</p>"]
    body += [f"<p>{escape(line)}</p>" for line in text.wear_lines(counts)]
    body += [calibrations(history.records), evening_table(evenings)]
    body += [f"<h2>Limits</h2><p>{escape(LIMITS)}</p>", caution()]
    return document(title, body, REPORT + WIDE_TABLE)


def span(evenings: list[dict[str, Any]]) -> str:
    """How many evenings from when to when."""
    first, last = (f"{evenings[place]['date']:%Y-%m-%d}" for place in (0, -1))
    return f"One evening, {first}." if len(evenings) == 1 else f"{len(evenings)} evenings, {first} to {last}."


def block(finding: Finding) -> str:
    """One finding with its evidence."""
    head, *rest = text.finding_lines(finding)
    items = "".join(f"<li>{escape(line.strip())}</li>" for line in rest)
    return f'<p class="{"word" if finding.is_note else "trip"}">{escape(head)}</p><ul>{items}</ul>'


def drawing(evenings: list[dict[str, Any]], findings: list[Finding]) -> str:
    """Both drawings, or how to get them."""
    setpoint_c = usual_setpoint_c(evenings)
    wide = draw(evenings, findings, setpoint_c, "wide")
    if wide is None:
        few = len(evenings) < 2 or setpoint_c is None
        return f'<p class="word">{"No picture: too few evenings." if few else escape(NO_PICTURE)}</p>'
    return wide + (draw(evenings, findings, setpoint_c, "narrow") or "")


def calibrations(kept: list) -> str:
    """Corrections over the months."""
    if not kept:
        return "<h2>Calibrations</h2><p>No calibration record below this folder.</p>"
    lines = "".join(
        f"<tr><td>{record['date']:%Y-%m-%d}</td><td>{escape(record['probe'])} {escape(record['identity'])}</td><td>"
        + escape(", ".join(f"{name} {k:+.2f} K" for name, (k, _) in record["points"].items()))
        + "</td></tr>"
        for record in kept
    )
    moved = "".join(
        f"<p>{escape(one['probe'])} at {escape(one['point'])}: {one['change_k']:+.2f} K "
        f"(uncertainty of the difference {one['expanded_k']:.2f} K)</p>"
        for one in records.changes(kept)
    )
    table = scrolled(f"<table>{lines}</table>", "Corrections")
    pictures = "".join(calibration_plot.draw(kept, shape) or "" for shape in ("wide", "narrow"))
    return f"<h2>Calibrations: corrections</h2>{pictures}{table}{moved}"


def evening_table(evenings: list[dict[str, Any]]) -> str:
    """Every evening's figures."""
    head = "".join(f"<th>{escape(word)}</th>" for word in text.COLUMNS)
    lines = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in text.cells(evening)) + "</tr>" for evening in evenings
    )
    note = escape(text.table([])[-1])
    body = scrolled(f'<table class="wide-table"><tr>{head}</tr>{lines}</table>', "Evenings")
    return f"<h2>Evenings</h2>{body}<p><small>{note}</small></p>"
