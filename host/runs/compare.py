"""Two runs beside each other: the same figures, in one table for the terminal and one page."""

from __future__ import annotations

from html import escape
from typing import Any

from host.page import caution, document, scrolled
from host.runs.summary import lines_of


def beside(one: dict[str, Any], other: dict[str, Any]) -> list[tuple[str, str, str]]:
    """[(words, figure of one, figure of the other), ...] of two summaries; a figure that one lacks is "-"."""
    first = {words: text for words, text, _ in lines_of(one)}
    second = {words: text for words, text, _ in lines_of(other)}
    return [(words, first.get(words, "-"), second.get(words, "-")) for words in {**first, **second}]


def text(names: tuple[str, str], lines: list[tuple[str, str, str]]) -> str:
    """The table for a terminal."""
    rows = [("", *names), *lines]
    wide = [max(len(row[column]) for row in rows) for column in range(2)]
    return "\n".join(f"{words:{wide[0]}}  {one:{wide[1]}}  {other}".rstrip() for words, one, other in rows)


def page(names: tuple[str, str], lines: list[tuple[str, str, str]]) -> str:
    """One HTML document."""
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in ("", *names))
    rows = "".join(
        f'<tr><th scope="row">{escape(words)}</th><td class="figure">{escape(one)}</td>'
        f'<td class="figure">{escape(other)}</td></tr>'
        for words, one, other in lines
    )
    title = f"{names[0]} and {names[1]}"
    table = scrolled(f"<table><tr>{head}</tr>{rows}</table>", "Figures of both runs")
    return document(title, [f"<h1>{escape(title)}</h1>", table, caution()])
