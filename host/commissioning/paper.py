"""What can be prepared on paper: an answers file with every question in it, and what the build sheet knows already."""

from __future__ import annotations

import json
import textwrap
from typing import Any

from host.commissioning.steps import STEPS, TAKES_MIN, Field

HEAD = """\
# Answers to the witness steps: fill in beforehand what can be known, print it, carry the readings over.
# Write between the quotes, or a number in their place. What is left empty is asked for at the terminal, when its step
# comes; what is done at a real oven, and presence, is always asked of a person there and then.

["who witnesses"]         # for every step; where another person does it, give the step its own name and initials
name = ""
initials = ""             # one to eight letters
"stays with the hot oven" = false
"""
GUARDS = ("cutout", "thermostat", "sensor", "lock", "fan")
BREAKS = {"elements": ", breaks the elements' common conductor", "chain": ", breaks the coil's chain"}
WHO, STAYS = "who witnesses", "stays with the hot oven"
PERSON = {"name": "name", "initials": "initials"}


def label(field: Field) -> str:
    """What an entry is called in the file: its words and its unit."""
    return f"{field.text}, {field.unit}" if field.unit else field.text


def template(known: dict[tuple[str, str], Any]) -> str:
    """The answers file (TOML) with each question in plain words; `known`: as `from_sheet` gives it."""
    lines = [HEAD]
    for step in STEPS:
        lines.append(f"\n[{json.dumps(step.title, ensure_ascii=False)}]  # about {TAKES_MIN[step.name]} min")
        for field in step.fields:
            lines += [f"# {line}" for line in textwrap.wrap(hint(field), 96)]
            value = known.get((step.name, field.name), "")
            shown = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else f"{value:g}"
            lines.append(f"{json.dumps(label(field), ensure_ascii=False)} = {shown}")
    return "\n".join(lines) + "\n"


def keyed(values: dict[str, Any]) -> tuple[dict[str, Any], str]:
    """-> (the file's tables under the short names of steps and entries, "" or what is no question, in words).

    A file may say the plain words of `template` or the short names; what is empty is left out."""
    steps = {step.title: step for step in STEPS} | {step.name: step for step in STEPS}
    made: dict[str, Any] = {}
    for title, table in values.items():
        if title != "tizzone" and not isinstance(table, dict):
            return {}, f"{title}: must be a table [{json.dumps(title)}]"
        if title in (WHO, "by"):
            names = PERSON | {STAYS: "stays", "stays": "stays"}
            made["by"], strange = renamed(table, names)
        elif title in steps:
            step = steps[title]
            names = PERSON | {label(field): field.name for field in step.fields}
            names |= {field.name: field.name for field in step.fields}
            made[step.name], strange = renamed(table, names)
        else:
            return {}, f"no step is called '{title}'; tizzone commission --new-answers FILE writes them all"
        if strange:
            return {}, f"'{strange}' is no question of '{title}'; tizzone commission --new-answers FILE writes them all"
    return made, ""


def renamed(table: dict[str, Any], names: dict[str, str]) -> tuple[dict[str, Any], str]:
    """({short name: value} without the empty ones, "" or the first name that is none)."""
    strange = next((name for name in table if name not in names), "")
    filled = {name: value for name, value in table.items() if not (isinstance(value, str) and not value.strip())}
    return {names[name]: value for name, value in filled.items() if name in names}, strange


def hint(field: Field) -> str:
    """What may be written, in which bounds, and why; "" where a few words will do."""
    words = ""
    if field.kind == "number":
        words = "good: " + " or ".join(
            f"{low:g} to {high:g}" for low, high in field.spans or ((field.low, field.high),)
        )
    elif field.choices:
        words = "one of: " + ", ".join(field.choices)
    elif field.kind == "yes":
        words = "only yes lets the step pass"
    return "; ".join(part for part in (words, field.why) if part)


def from_sheet(sheet: dict[str, Any]) -> dict[tuple[str, str], Any]:
    """{(step, entry): value} that a build sheet knows: plate, cut-outs, earth, insulation and RCD."""
    supply = sheet.get("supply") or {}
    known: dict[tuple[str, str], Any] = {**plate(sheet, supply), **survey(sheet)}
    for name in ("earth_ohm", "insulation_mohm", "rcd_ma", "rcd_ms"):
        known["electrical", name] = supply.get(name)
    known["electrical", "licence"] = supply.get("measured_by")
    known["electrical", "instrument"] = supply.get("instrument")
    return {key: value for key, value in known.items() if value is not None}


def plate(sheet: dict[str, Any], supply: dict[str, Any]) -> dict[tuple[str, str], Any]:
    """What the elements' plates say together; nothing where one of them gives its resistance."""
    powers: list[Any] = [
        part.get("power_w") for part in (sheet.get("elements") or {}).values() if isinstance(part, dict)
    ]
    if not powers or not all(isinstance(power, (int, float)) for power in powers):
        return {}
    made = (sheet.get("oven") or {}).get("made_year")
    of = f" of {made:g}" if isinstance(made, (int, float)) else ""
    words = f"oven{of}, {supply.get('voltage_v', '?')} V, {sum(powers):g} W by the build sheet"
    return {("papers", "plate"): words, ("papers", "rated_w"): float(sum(powers))}


def survey(sheet: dict[str, Any]) -> dict[tuple[str, str], Any]:
    """The oven's own cut-outs, and what of its protections was moved or taken out, in the survey's words."""
    entries = [entry for entry in sheet.get("survey") or [] if isinstance(entry, dict)]
    if not entries:
        return {}
    cutouts = [
        f"{one['name']} ({one['place']}){breaks(one)}"
        for one in entries if one["part"] == "cutout" and is_there(one)
    ]  # fmt: skip
    guards = [one for one in entries if one["part"] in GUARDS and one["decision"] in ("moved", "removed")]
    moved = [f"{one['name']}: {one['decision']}" + (f", {one['why']}" if one.get("why") else "") for one in guards]
    return {("papers", "cutouts"): "; ".join(cutouts) or None, ("papers", "bridged"): "; ".join(moved) or "none"}


def breaks(entry: dict[str, Any]) -> str:
    """What a cut-out breaks in OURS, where the survey says so."""
    return BREAKS.get(str(entry.get("acts_through")), "") if entry.get("acts_in_ours") is True else ""


def is_there(entry: dict[str, Any]) -> bool:
    """Whether a part of the survey is in the oven still."""
    return entry["decision"] in ("kept", "moved")
