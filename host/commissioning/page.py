"""The record as one page to print, sign and keep with the oven; needs no network."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING, Any

from host.commissioning import bench
from host.commissioning.course import NAMES
from host.commissioning.steps import STEPS
from host.page import caution, document

if TYPE_CHECKING:
    from host.commissioning.steps import Step


CAUTION = (
    "This record says what was seen and measured on one day. It is no approval: local codes, the licensed person and "
    "the independent limiter come first. A changed board, pin map, probe or high limit makes it void, and the board "
    "falls back to 60 °C by itself. Whoever has the board's prompt can override everything."
)
STYLE = """
body { margin: 0 auto; max-width: 56rem; padding: 1rem; background: #fffefb; color: #1d2328;
  font: 1rem/1.45 "Trebuchet MS", Verdana, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.4rem; margin: 0; } h2 { font-size: 1.05rem; margin: 0; }
.facts, .step { border: 1px solid #6b675e; border-radius: .3rem; padding: .6rem .8rem; margin: .7rem 0; }
.outcome { font-weight: bold; } .fail, .open { border-left-width: 10px; }
.practice { border: 4px double #8c1717; color: #8c1717; padding: .5rem .8rem; font-weight: bold; }
table { border-collapse: collapse; width: 100%; } td, th { text-align: left; vertical-align: top; padding: .15rem .6rem
  .15rem 0; border-bottom: 1px solid #cbc5b8; font-weight: normal; } td { font-weight: bold; width: 34%; }
.sign { display: grid; grid-template-columns: 2fr 1fr 1fr; gap: 1rem; margin-top: .5rem; }
.sign span { border-bottom: 1px solid #1d2328; min-height: 1.8rem; }
small { color: #4c4a44; }
@media (max-width: 34rem) { .sign { grid-template-columns: 1fr; } th, td { display: block; width: auto; padding: 0; }
  th { border: 0; padding-top: .3rem; } }
@media print { body { max-width: none; padding: 0; background: #fff; } .step { break-inside: avoid; } }
"""


def page(data: dict[str, Any]) -> str:
    """-> one HTML document of a record's data (host.commissioning.record)."""
    done = passed(data["steps"])
    parts = ["<h1>Commissioning record</h1>"]
    if data.get("simulated"):
        parts.append('<p class="practice">PRACTICE: a simulated board and oven. Says nothing about a real one.</p>')
    parts.append(facts(data, done))
    for step in STEPS:
        parts.append(section(step, [entry for entry in data["steps"] if entry["name"] == step.name], done))
    return document("Commissioning record", [*parts, caution(CAUTION)], STYLE)


def passed(entries: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """{step name: its newest passed entry}."""
    return {entry["name"]: entry for entry in entries if entry.get("result") == "pass"}


def facts(data: dict[str, Any], done: dict[str, dict[str, Any]]) -> str:
    """What was commissioned and how far."""
    released = max((entry.get("released_c", 60) for entry in done.values()), default=60)
    rows = (
        ("Board", data.get("board", "")),
        ("Mark of board, pin map, probes and limit", data.get("mark", "")),
        ("Program", data.get("program", "")),
        ("Steps passed", f"{len(done)} of {len(NAMES)}"),
        ("Highest setpoint earned", f"{released} °C"),
        ("Board proven on the bench", bench.words(data)),
    )
    return f'<div class="facts"><table>{lines(rows)}</table></div>'


def section(step: Step, entries: list[dict[str, Any]], done: dict[str, dict[str, Any]]) -> str:
    """One step: outcome, entries, measurement, attempts that failed, a line to sign."""
    entry = done.get(step.name)
    outcome = "PASSED" if entry else "FAILED" if entries else "NOT DONE"
    kind = "pass" if entry else "fail" if entries else "open"
    parts = [
        f'<section class="step {kind}"><h2>{NAMES.index(step.name) + 1}. {escape(step.title)}: '
        f'<span class="outcome">{outcome}</span></h2>',
        f"<p><small>Caution: {escape(step.caution)}</small></p>",
    ]
    if entry:
        rows = [(label(step, name), value) for name, value in entry.get("entries", {}).items()]
        rows += [(f"tuning {name}", value) for name, value in entry.get("tuning", {}).items()]
        measured = entry.get("measured")
        if measured:
            seen = ", ".join(measured["seen_by_the_board"])
            rows.append(("seen by the board itself", seen))
            if measured.get("not_wired"):
                rows.append(("not seen: no sensor wired", ", ".join(measured["not_wired"])))
            if measured["figure"]:
                rows.append((figure_label(step.name), f"{measured['figure']:.1f}"))
        rows.append(("witnessed by", f"{entry['by']} ({entry['initials']}), {when(entry['date'])}"))
        parts.append(f"<table>{lines(rows)}</table>")
    for attempt in entries:
        if attempt.get("result") != "pass":
            word = "Void" if attempt.get("result") == "void" else "Failed"
            parts.append(f"<p>{word} {when(attempt['date'])}: {escape(str(attempt.get('reason', '')))}</p>")
    parts.append('<div class="sign"><span>name</span><span>date</span><span>signature</span></div></section>')
    return "\n".join(parts)


def label(step: Step, name: str) -> str:
    """A field's words with its unit."""
    for field in step.fields:
        if field.name == name:
            return f"{field.text}, {field.unit}" if field.unit else field.text
    return name


def figure_label(name: str) -> str:
    """What the board's figure is."""
    return "dome probe rose by, K" if name == "dead" else "dome as the board read it, °C"


def when(stamp: object) -> str:
    """20260105T1830 as 2026-01-05 18:30 UTC."""
    text = str(stamp)
    if len(text) != 13 or not (text[:8] + text[9:]).isdigit():
        return escape(text)
    return f"{text[:4]}-{text[4:6]}-{text[6:8]} {text[9:11]}:{text[11:]} UTC"


def lines(rows: Iterable[tuple[object, object]]) -> str:
    """Table rows of (words, value)."""
    return "".join(f"<tr><th>{escape(str(name))}</th><td>{escape(str(value))}</td></tr>" for name, value in rows)
