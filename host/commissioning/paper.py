"""What can be prepared on paper: an answers file with every question in it, and what the build sheet knows already."""

from __future__ import annotations

import textwrap
from typing import Any

from host.commissioning.steps import STEPS, TAKES_MIN, Field

HEAD = """\
# Answers to the witness steps: fill in beforehand what can be known, print it, carry the readings over.
# An entry without a value is asked for nowhere: fill in all of a step before running it with --answers.
# What is done at a real oven, and presence, is asked of a person there and then.

[by]
name = ""                 # who witnesses, for every step that does not name another person
initials = ""             # one to eight letters
stays = false             # true: somebody stays with the hot oven
"""


def template(known: dict[tuple[str, str], Any]) -> str:
    """The answers file (TOML) with each question as a comment above its entry; `known`: as `from_sheet` gives it."""
    lines = [HEAD]
    for step in STEPS:
        lines.append(f"\n[{step.name}]  # {step.title}, about {TAKES_MIN[step.name]} min")
        for field in step.fields:
            lines += [f"# {line}" for line in textwrap.wrap(question(field), 96)]
            value = known.get((step.name, field.name))
            shown = f'"{value}"' if isinstance(value, str) else "" if value is None else f"{value:g}"
            lines.append(f"{field.name} = {shown}" if shown else f"# {field.name} = ")
    return "\n".join(lines) + "\n"


def question(field: Field) -> str:
    """A field in words, with bounds and reason."""
    words = field.text
    if field.kind == "number":
        spans = field.spans or ((field.low, field.high),)
        words += f", {field.unit}, " + " or ".join(f"{low:g} to {high:g}" for low, high in spans)
    elif field.choices:
        words += ": " + " or ".join(field.choices)
    elif field.kind == "yes":
        words += ' ("yes")'
    return words + (f". {field.why}" if field.why else "")


def from_sheet(sheet: dict[str, Any]) -> dict[tuple[str, str], Any]:
    """{(step, entry): value} that a build sheet (host.mains.sheet) knows: plate, power, earth reading."""
    elements = sheet.get("elements")
    supply = sheet.get("supply") or {}
    powers: list[Any] = [part.get("power_w") for part in (elements or {}).values() if isinstance(part, dict)]
    known: dict[tuple[str, str], Any] = {}
    if powers and all(isinstance(power, (int, float)) for power in powers):
        known["papers", "rated_w"] = float(sum(powers))
        known["papers", "plate"] = f"{supply.get('voltage_v', '?')} V, {sum(powers):g} W by the build sheet"
    earth_ohm = supply.get("earth_ohm")
    if isinstance(earth_ohm, (int, float)):
        known["electrical", "earth_ohm"] = float(earth_ohm)
        known["electrical", "licence"] = str(supply.get("measured_by", "")) or None
    return {key: value for key, value in known.items() if value is not None}
