"""What a person has entered, held against the bounds of its field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host.commissioning.steps import YES

if TYPE_CHECKING:
    from host.commissioning.steps import Field


def fault_of(entry: Field, value: object) -> tuple[str, str] | None:
    """(kind of fault, words) of an entered value: ("unusable", ...), ("failed", ...) or None."""
    if entry.kind == "number":
        if isinstance(value, bool) or not isinstance(value, (int, float)) or value != value:
            return "unusable", f"{entry.text}: a number in {entry.unit} is needed, not {str(value)[:30]!r}"
        spans = entry.spans or ((entry.low, entry.high),)
        if not any(low <= value <= high for low, high in spans):
            bounds = " or ".join(f"{low:g} to {high:g}" for low, high in spans) + f" {entry.unit}"
            return "failed", f"{entry.text}: {value:g} {entry.unit} is outside {bounds}" + because(entry)
        return None
    text = str(value).strip()
    if not text:
        return "unusable", f"{entry.text}: must not be empty"
    if entry.kind == YES and text.lower() not in ("yes", "y", "true"):
        return "failed", f"{entry.text}: not confirmed" + because(entry)
    if entry.kind == "choice" and text not in entry.choices:
        return "unusable", f"{entry.text}: one of {', '.join(entry.choices)}"
    return None


def because(entry: Field) -> str:
    """The bound's reason, where there is one."""
    return f" ({entry.why})" if entry.why else ""
