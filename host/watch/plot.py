"""A moving plot in text: process value in dots, setpoint as a broken line, temperature at the left."""

from __future__ import annotations

from collections.abc import Sequence

DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # braille cell: four rows, two columns
EMPTY = 0x2800
LABEL = 6  # columns for "450 | "


def span(values: list[float], least_k: float = 20.0) -> tuple[float, float]:
    """(low, high) that holds all values with some room, at least `least_k` apart, in whole tens."""
    low, high = min(values), max(values)
    if high - low < least_k:
        middle = (low + high) / 2
        low, high = middle - least_k / 2, middle + least_k / 2
    return 10.0 * (low // 10), 10.0 * -(-high // 10)


def lines(history: Sequence[tuple], width: int, height: int, seconds: float = 1800.0) -> list[str]:
    """`height` lines of `width` characters: the newest `seconds` of [(t_s, pv_c, setpoint_c, ...)]."""
    columns = width - LABEL
    if columns < 10 or height < 3 or not history:
        return ["(no data yet)"] if not history else ["(window too small for the plot)"]
    end_s = history[-1][0]
    seconds = min(seconds, max(60.0, end_s - history[0][0]))
    shown = [row for row in history if row[0] >= end_s - seconds]
    values = [value for row in shown for value in row[1:3] if value is not None]
    if not values:
        return ["(no reading)"]
    low, high = span(values)
    rows = height - 1
    cells = [[EMPTY] * columns for _ in range(rows)]
    dashes = [[False] * columns for _ in range(rows)]
    for t_s, pv_c, setpoint_c, *_ in shown:
        x = min(columns * 2 - 1, int((t_s - end_s + seconds) / seconds * columns * 2))
        if setpoint_c is not None:
            dashes[height_of(setpoint_c, low, high, rows)][x // 2] = True
        if pv_c is not None:
            y = height_of(pv_c, low, high, rows * 4)
            cells[y // 4][x // 2] |= DOTS[y % 4][x % 2]
    drawn = []
    for number, row in enumerate(cells):
        label = high - (high - low) * (number + 0.5) / rows
        body = "".join(
            chr(cell) if cell != EMPTY else "-" if dashes[number][at] and at % 2 == 0 else " "
            for at, cell in enumerate(row)
        )
        drawn.append(f"{label:4.0f} |{body}")
    left, right = f"-{seconds / 60:.0f} min", "now"
    drawn.append(" " * LABEL + left + " " * max(1, columns - len(left) - len(right)) + right)
    return drawn


def height_of(value: float, low: float, high: float, rows: int) -> int:
    """Row from the top, 0..rows-1."""
    return max(0, min(rows - 1, int((high - value) / (high - low) * rows)))
