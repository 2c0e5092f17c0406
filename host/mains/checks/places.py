"""Findings on hot parts, the survey of the oven as found, premises and clearances."""

from host.mains.finding import Finding
from host.mains.ratings import SURVEY_NEEDED, expected_c, wire_class
from host.mains.value import MEMORY, Value, derived, given

CLEARANCE = Value(150, "mm", MEMORY, "common practice, no source; the oven's manual comes first")
# A part that carries current or can shatter stops the build; a seal only has to be changed.
GRADE_OF_KIND = {"wire": "stop", "terminal": "stop", "glass": "stop"}


def cavity_c(sheet: dict) -> float:
    """What parts must bear, degC: where the high limit acts, else the wanted temperature + 20."""
    setting = sheet["high_limit"]["setting_c"]
    return setting if setting is not None else sheet["oven"]["wanted_c"] + 20


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on parts, survey and premises."""
    return [finding for part in (_parts, _survey, _wires, _premises) for finding in part(sheet, figures)]


def part_seen(sheet: dict, part: dict) -> Value:
    """Temperature of a part for hours with the cavity at the high limit, a Value in degC."""
    return expected_c(
        part["place"], cavity_c(sheet), sheet["oven"]["room_c"],
        part.get("seen_c"), part.get("seen_at_c"),
    )  # fmt: skip


def _parts(sheet, figures):
    for part in sheet["part"]:
        seen = part_seen(sheet, part)
        rated = given(part["rated_c"], "degC", f"part {part['name']}")
        if not seen.over(rated):
            continue
        better = wire_class(seen.number)
        wired = part["kind"] in ("wire", "terminal", "sleeve") and better is not None
        mend = (
            f"{better[1]} ({better[0]})." if wired
            else f"A part for {seen.number:.0f} degC or more, or measure the place."
        )  # fmt: skip
        remedy = better[0] if wired else derived(seen.number, "degC", seen.source, seen)
        yield Finding("part-too-hot", GRADE_OF_KIND.get(part["kind"], "change"),
                      f"{part['name']} ({part['kind']}, {part['place']}) gets hotter than it "
                      "bears.", seen.source, mend, seen, rated, remedy)  # fmt: skip


def _survey(sheet, figures):
    found = {entry["part"] for entry in sheet["survey"]}
    missing = [part for part in SURVEY_NEEDED if part not in found and part != "cutout"]  # that is told with cut-outs
    if missing:
        yield Finding("survey-gap", "change",
                      "The survey says nothing about: " + ", ".join(missing) + ".",
                      "everything in the oven was rated for its original temperature",
                      'Look, and add a [[survey]] entry each (decision "absent" if there is '
                      "none).")  # fmt: skip
    for entry in sheet["survey"]:
        if entry["decision"] in ("moved", "removed") and entry["by"] is None:
            yield Finding("survey-by-nobody", "change",
                          f"{entry['name']} is {entry['decision']}, but by whom is not written.",
                          "everything changed is written down with a name",
                          "Add by = \"...\" to the entry.")  # fmt: skip
        if entry["decision"] != "kept":
            continue
        if entry["rated_c"] is None:
            yield Finding(
                "survey-unrated",
                "change",
                f"{entry['name']} stays in the oven and its rating is not known.",
                "oven's or part's data",
                "Find its rating, move it or take it out.",
            )
            continue
        yield from _bears(sheet, entry)


def _bears(sheet, entry):
    """Whether a part that stays bears what its place reaches."""
    seen = part_seen(sheet, entry)
    rated = given(entry["rated_c"], "degC", f"survey {entry['name']}")
    if not seen.over(rated):
        return
    need = derived(seen.number, "degC", seen.source, seen)
    if entry["part"] in ("sensor", "thermostat"):
        yield Finding("no-hand-back", "change",
                      f"{entry['name']} does not survive: the oven cannot be handed back to "
                      "its original controller.", seen.source,
                      "Move it out for the high-heat evenings and put it back with the "
                      "retests, or give up hand-back.", seen, rated, need)  # fmt: skip
    else:
        grade = "stop" if entry["part"] in ("cutout", "electronics", "glass") else "change"
        yield Finding("survey-too-hot", grade,
                      f"{entry['name']} stays in the oven and gets hotter than it bears.",
                      seen.source, "Move it, take it out, or replace it by a part for "
                      f"{seen.number:.0f} degC.", seen, rated, need)  # fmt: skip


def _wires(sheet, figures):
    if sheet["transfer"]["fitted"] and not sheet["moved_wire"]:
        yield Finding("wires-none", "change", "No wire is said to be moved, and no transfer switch works without.",
                      "the way back is walked by this list", "A [[moved_wire]] entry for each: wire, from, to, "
                      "by.")  # fmt: skip
    for wire in sheet["moved_wire"]:
        if wire["by"] is None:
            yield Finding("wire-by-nobody", "change",
                          f"Wire {wire['wire']} is moved, but by whom is not written.",
                          "everything changed is written down with a name",
                          "Add by = \"...\" to the [[moved_wire]].")  # fmt: skip


def _premises(sheet, figures):
    premises = sheet["premises"]
    kind = premises["kind"]
    if premises["owner_consents"] is False:
        yield Finding("no-consent", "stop", f"Premises ({kind}): the owner has not consented.",
                      "not for rented premises without consent",
                      "The owner's consent in writing, or not here.")  # fmt: skip
    if premises["insurer_consents"] is False:
        grade = "change" if kind == "home" else "stop"
        yield Finding("no-insurer", grade, f"Premises ({kind}): the insurer has not consented.",
                      "a modified oven may void the cover",
                      "The insurer's consent in writing, or not here.")  # fmt: skip
    if premises["attended"] is False:
        yield Finding("unattended", "stop", "The oven would be left alone while hot.",
                      "an oven above its design temperature is watched",
                      "A named person in the room until it is below 150 degC.")  # fmt: skip
    if premises["extinguisher"] is False:
        yield Finding("no-extinguisher", "change", "No extinguisher within reach.",
                      "common practice, no source",
                      "An extinguisher for electrical fires and a fire blanket.")  # fmt: skip
    clearance = given(sheet["oven"]["clearance_mm"], "mm", "oven.clearance_mm")
    built_in = sheet["oven"]["mounting"] == "built_in"  # told with the mounting
    if 0 < clearance.number < CLEARANCE.number and not built_in:
        yield Finding("clearance", "change", "Little room between the oven and what burns.",
                      CLEARANCE.source, f"At least {CLEARANCE}, more above.", clearance,
                      CLEARANCE, CLEARANCE)  # fmt: skip
