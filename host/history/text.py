"""The history as text: what is found, and a table of the evenings."""

from __future__ import annotations

from typing import Any

from host.history.evening import FIGURES
from host.history.findings import Finding, enough
from host.runs.summary import clock

COLUMNS = (
    "Evening",
    "to setpoint",
    "100-200",
    "200-300",
    "300-400",
    "hold",
    "band",
    "cool",
    "stone",
    "V",
    "A",
    "relays",
)


def confidence(share: float) -> str:
    """A weight among the causes in words."""
    return "clear" if share >= 0.95 else "likely" if share >= 0.8 else "one of several"


def finding_lines(finding: Finding) -> list[str]:
    """One finding as lines."""
    lines = [
        f"{finding.grade.upper()}: {finding.text}"
        + (f", by {finding.size_pct:+.0f} %" if finding.size_pct is not None else "")
        + f" (since {finding.since}; {confidence(finding.share)}, weight {finding.share:.2f})"
    ]
    lines += [f"    could also be: {other.replace('_', ' ')}" for other in finding.others]
    lines += [f"    {line}" for line in finding.evidence]
    return [*lines, f"    check: {finding.mend}"]


def cells(evening: dict[str, Any]) -> tuple:
    """One evening's row of the table."""

    def number(key, digits=0):
        value = evening.get(key)
        return "-" if value is None else f"{value:.{digits}f}"

    reached = evening.get("to_setpoint_s")
    relays = [
        str(evening[f"{zone}_switchings"]) for zone in ("top", "deck") if evening.get(f"{zone}_switchings") is not None
    ]
    return (
        str(evening.get("name", "")),
        "-" if reached is None else clock(reached),
        number("rise"),
        number("climb"),
        number("top"),
        number("hold", 1),
        number("band_k", 1),
        number("cool"),
        number("stone", 3),
        number("mains_v"),
        number("current_a", 1),
        "/".join(relays) or "-",
    )


def table(evenings: list[dict[str, Any]]) -> list[str]:
    """All evenings as lines."""
    rows = [COLUMNS, *(cells(evening) for evening in evenings)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(COLUMNS))]
    lines = [
        "  ".join(
            text.ljust(w) if i == 0 else text.rjust(w) for i, (text, w) in enumerate(zip(row, widths, strict=True))
        )
        for row in rows
    ]
    return [
        *lines,
        "seconds for 100-200, 200-300, 300-400 (full output) and cool (400-300 °C); hold: mean output %, band K",
    ]


def model_line(evenings: list[dict[str, Any]]) -> str:
    """The steady power model in one line: median output at each setpoint that was held."""
    by_level = {}
    for evening in evenings:
        if evening.get("hold") and evening.get("setpoint_c"):
            by_level.setdefault(round(evening["setpoint_c"] / 10) * 10, []).append(evening["hold"])
    parts = [
        f"{level} °C takes {sorted(values)[len(values) // 2]:.0f} % ({len(values)} evenings)"
        for level, values in sorted(by_level.items())
    ]
    return f"{FIGURES['hold'][0]}: " + ("; ".join(parts) if parts else "no figure (evenings too short or too cool)")


def nothing(evenings: list[dict[str, Any]]) -> str:
    """What may be said where nothing was found: that nothing has changed only where that could have been seen."""
    if enough(evenings):
        return "Nothing found: the last evenings are like the first, as far as their scatter lets that be seen."
    return "Nothing can be said yet: too few evenings to compare the last with the first."


def wear_lines(counts: list[dict[str, Any]]) -> list[str]:
    """Relay counts in words."""
    return [
        f"{one['words']}: {one['used']:,}{life_words(one)} switchings, {one['per_evening']:.0f} an evening"
        + left_words(one)
        + ("" if one["exact"] else " (counted in these records alone)")
        for one in counts
    ]


def life_words(one: dict[str, Any]) -> str:
    """Of how many, where switching wears the part."""
    return "" if one["life"] is None else f" of {one['life']:,}"


def left_words(one: dict[str, Any]) -> str:
    """What is left of a part, never more exactly than anybody can know."""
    if one["life"] is None:
        return "; solid state, no life by switching"
    if one["evenings_left"] is None:
        return ""
    return f", more than {one['evenings_left']:,} evenings left" if one["is_more"] else (
        f", about {one['evenings_left']} evenings left"
    )  # fmt: skip
