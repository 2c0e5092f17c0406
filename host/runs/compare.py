"""Two runs beside each other: the same figures, the notes of both and one chart, for the terminal and one page."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from host.page import caution, document, scrolled
from host.runs import both, notes
from host.runs.recording import Run
from host.runs.summary import lines_of

NO_CHART = "No chart: matplotlib is missing, or a run holds no row."


def beside(one: dict[str, Any], other: dict[str, Any], unit: str = "C") -> list[tuple[str, str, str]]:
    """[(words, figure of one, figure of the other), ...] of two summaries; a figure that one lacks is "-"."""
    first = {words: text for words, text, _ in lines_of(one, unit)}
    second = {words: text for words, text, _ in lines_of(other, unit)}
    return [(words, first.get(words, "-"), second.get(words, "-")) for words in {**first, **second}]


def text(names: tuple[str, str], lines: list[tuple[str, str, str]]) -> str:
    """The table for a terminal."""
    rows = [("", *names), *lines]
    wide = [max(len(row[column]) for row in rows) for column in range(2)]
    return "\n".join(f"{words:{wide[0]}}  {one:{wide[1]}}  {other}".rstrip() for words, one, other in rows)


def page(
    names: tuple[str, str],
    lines: list[tuple[str, str, str]],
    runs: tuple[Run, Run],
    written: tuple[Sequence[notes.Note], Sequence[notes.Note]] = ((), ()),
    unit: str = "C",
) -> str:
    """One HTML document. `written`: the notes of each run."""
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in ("", *named(names)))
    rows = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td class="figure">{escape(one)}</td>'
        f'<td class="figure">{escape(other)}</td></tr>'
        for words, one, other in lines
    )
    title = f"{names[0]} and {names[1]}"
    table = scrolled(f"<table><tr>{head}</tr>{rows}</table>", "Figures of both runs")
    return document(
        title, [f"<h1>{escape(title)}</h1>", chart(names, runs, unit), table, told(names, written), caution()]
    )


def named(names: tuple[str, str]) -> tuple[str, str]:
    """The names with their letters in the chart."""
    return f"A: {names[0]}", f"B: {names[1]}"


def chart(names: tuple[str, str], runs: tuple[Run, Run], unit: str) -> str:
    """The chart in both shapes (the page shows the one that fits) and how to read it, or why there is none."""
    wide = both.draw(names, runs, "wide", unit)
    if wide is None:
        return f'<p class="word">{escape(NO_CHART)}</p>'
    return f"{wide}{both.draw(names, runs, 'narrow', unit)}<p><small>{escape(both.key(names))}</small></p>"


def told(names: tuple[str, str], written: tuple[Sequence[notes.Note], Sequence[notes.Note]]) -> str:
    """The notes of both runs, one list each."""
    made = ""
    for name, found in zip(named(names), written, strict=True):
        items = "".join(f"<li><b>{notes.when_words(one)}</b> {escape(one.text)}</li>" for one in found)
        made += f"<h2>Notes of {escape(name)}</h2><ul>{items}</ul>" if items else ""
    return made


def note_lines(names: tuple[str, str], written: tuple[Sequence[notes.Note], Sequence[notes.Note]]) -> list[str]:
    """The notes of both runs for a terminal."""
    return [
        f"note of {name}, {notes.when_words(one)}: {one.text}"
        for name, found in zip(names, written, strict=True) for one in found
    ]  # fmt: skip
