"""Changes to a source text by line and column. It keeps its number of lines: a traceback tells the same ones."""

from __future__ import annotations

import ast
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Edit:
    """`text` in place of what stands from `start` to `end`: (line from 0, column in bytes)."""

    start: tuple[int, int]
    end: tuple[int, int]
    text: str

    @classmethod
    def of(cls, node: ast.expr | ast.stmt, text: str) -> Edit:
        """In place of a whole node."""
        assert node.end_lineno is not None and node.end_col_offset is not None
        return cls((node.lineno - 1, node.col_offset), (node.end_lineno - 1, node.end_col_offset), text)

    @classmethod
    def at(cls, line: int, column: int, old: str, text: str) -> Edit:
        """In place of a word; `line` counts from 1, as syntax trees do."""
        return cls((line - 1, column), (line - 1, column + len(old.encode())), text)

    def holds(self, other: Edit) -> bool:
        """Whether the other one lies within this one."""
        return other is not self and self.start <= other.start and other.end <= self.end


def edited(source: str, edits: Iterable[Edit]) -> str:
    """The source with every edit done; of two of which one holds the other, the outer one."""
    lines = [line.encode() for line in source.splitlines(keepends=True)]
    edits = list(edits)
    outer = [edit for edit in edits if not any(other.holds(edit) for other in edits)]
    for edit in sorted(outer, key=lambda edit: edit.start, reverse=True):
        (first, column), (last, end) = edit.start, edit.end
        tail = lines[last][end:] if first == last else b"\n"
        if last > first:
            lines[first + 1 : last + 1] = [b"\n"] * (last - first)
        lines[first] = lines[first][:column] + edit.text.encode() + tail
    return b"".join(lines).decode()
