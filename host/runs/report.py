"""The report of a run: `summarise`, `table` for the terminal, `page` as one file that needs no network."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np

from host.page import caution, document, scrolled
from host.runs.notes import Note, section
from host.runs.picture import draw
from host.runs.summary import (
    FIGURES,
    bread_lines,
    clock,
    hold_lines,
    kind,
    lines_of,
    shown,
    summarise,
    table,
    trip_list,
    when,
)

__all__ = ["FIGURES", "page", "summarise", "table", "trip_list"]

FIRST = ("to_setpoint_s", "overshoot_k", "band_k", "recovery_s", "energy_kwh")
NO_PICTURE = (
    "No picture: matplotlib is missing. Install it (python -m pip install matplotlib), "
    "then run: tizzone report RUN_FOLDER"
)


def page(
    rows: np.ndarray,
    events: list[dict[str, Any]],
    summary: dict[str, Any],
    title: str = "An evening",
    about: list[str] | tuple = (),
    remarks: list[str] | tuple = (),
    since_last: tuple[str, list[tuple]] | None = None,
    notes: Sequence[Note] = (),
    unit: str = "C",
) -> str:
    """-> one HTML document as text: picture, figures with their definitions, trips, breads, events.

    `about`: lines on what was run; `remarks`: words about the record itself (a cut file, say);
    `since_last`: (name of the run before, [(words, then, now, remark), ...]) from `host.history.last`;
    `notes`: the cook's, from `host.runs.notes`; `unit` of temperatures: "C" or "F"."""
    parts = [
        f"<h1>{escape(title)}</h1>",
        *(f"<p>{escape(line)}</p>" for line in about),
        *(f'<p class="word">{escape(line)}</p>' for line in remarks),
        *trips(summary),
        *(f'<p class="word">{escape(words)}: {escape(text)}</p>' for words, text in hold_lines(summary)),
        first(summary, unit),
        picture(rows, events, notes, unit),
        section(list(notes)),
        figures(summary, unit),
        breads(summary, unit),
        changed(since_last),
        event_table(events),
        caution(),
    ]
    return document(title, parts)


def trips(summary: dict[str, Any]) -> list[str]:
    """The banner of every trip, or the one line that there was none."""
    if not summary["trip_list"]:
        return ["<p>No trip.</p>"]
    return [
        f'<p class="trip">TRIP at {clock(trip["t_s"])}: {escape(trip["text"])}</p>' for trip in summary["trip_list"]
    ]


def first(summary: dict[str, Any], unit: str = "C") -> str:
    """The figures that a cook asks for first, in large."""
    cells = (
        f"<div><dt>{escape(FIGURES[key][0])}</dt><dd>{escape(shown(key, summary.get(key), unit))}</dd></div>"
        for key in FIRST
    )
    return f'<dl class="first">{"".join(cells)}</dl>'


def picture(rows: np.ndarray, events: list[dict[str, Any]], notes: Sequence[Note] = (), unit: str = "C") -> str:
    """Both drawings (the page shows the one that fits), or how to get them."""
    if not len(rows):
        return '<p class="word">No picture: the record holds no row.</p>'
    wide = draw(rows, events, "wide", notes, unit)
    if wide is None:
        return f'<p class="word">{escape(NO_PICTURE)}</p>'
    return wide + (draw(rows, events, "narrow", notes, unit) or "")


def figures(summary: dict[str, Any], unit: str = "C") -> str:
    """What happened, figure by figure, each with its definition."""
    lines = (
        f'<tr><th scope="row">{escape(words)}</th><td class="figure">{escape(text)}</td>'
        f"<td><small>{escape(what)}</small></td></tr>"
        for words, text, what in lines_of(summary, unit)
    )
    return f'<h2>What happened</h2><table class="what">{"".join(lines)}</table>'


def breads(summary: dict[str, Any], unit: str = "C") -> str:
    """When each bread was laid, how far the reading sank and when it was back."""
    lines = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td>{escape(text)}</td></tr>'
        for words, text in bread_lines(summary, unit)
    )
    return "<h2>Breads</h2>" + scrolled(f"<table>{lines}</table>", "Breads") if lines else ""


def changed(since_last: tuple[str, list[tuple]] | None) -> str:
    """What changed since the run before, figure by figure; nothing where there was none."""
    if since_last is None:
        return ""
    name, lines = since_last
    cells = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td>{escape(then)}</td><td class="figure">{escape(now)}</td>'
        f"<td><small>{escape(remark)}</small></td></tr>"
        for words, then, now, remark in lines
    )
    head = "<tr><th></th><td>then</td><td>now</td><td></td></tr>"
    table = scrolled(f"<table>{head}{cells}</table>", "What changed")
    return f"<h2>What changed since the last: {escape(name)}</h2>{table}"


def event_table(events: list[dict[str, Any]]) -> str:
    """Every event with its time and values, in order; replies to the cook and empty ones are counted."""
    shown_events = [event for event in sorted(events, key=when) if not is_routine(event)]
    if not events:
        return "<h2>Events</h2><p>None recorded.</p>"
    lines = (
        f'<tr><td class="figure">{clock(when(event))}</td><td>{escape(kind(event).replace("_", " "))}</td>'
        f"<td>{escape(values(event))}</td></tr>"
        for event in shown_events
    )
    rest = len(events) - len(shown_events)
    word = f"<p><small>{rest} routine events are left out here; events.jsonl has them all.</small></p>" if rest else ""
    table = scrolled(f"<table>{''.join(lines)}</table>", "Events")
    return f"<details><summary>Events: {len(shown_events)}</summary>{table}{word}</details>"


def is_routine(event: dict[str, Any]) -> bool:
    """Replies that the cook got, and fields that were told to be empty at the start."""
    return (kind(event) == "cook" and str(event.get("text", "")).startswith("~ok")) or event.get("value") in (0, "none")


def values(event: dict[str, Any]) -> str:
    """An event's further values as words."""
    rest = {key: value for key, value in event.items() if key not in ("t_s", "kind", "event", "value", "text")}
    words = [event[key] for key in ("value", "text") if key in event]
    return " ".join(map(str, [*words, *(f"{key} {value}" for key, value in rest.items())]))
