"""Findings on the oven's own cut-outs: they act in OURS as well, or something named does their job."""

from host.mains.checks.chain import ONE_CONTACT
from host.mains.finding import Finding
from host.mains.ratings import expected_c
from host.mains.value import Value, derived, given

IN_HAND_K = 15  # between what a place reaches and where its cut-out opens; house
RULE = "a cut-out that is out of circuit in OURS counts as bridged"


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on every cut-out of the survey."""
    found = list(_not_looked_at(sheet))
    for entry in sheet["survey"]:
        if entry["part"] == "cutout":
            found += [*_absent(entry), *_in_circuit(entry), *_through(sheet, entry), *_opens(sheet, entry)]
    return found


def _not_looked_at(sheet):
    if not any(entry["part"] == "cutout" for entry in sheet["survey"]):
        yield Finding("cutout-not-surveyed", "stop", "The survey says nothing about the oven's own cut-outs.",
                      "unknown is not a pass; every domestic oven has one as a rule (common practice, no source)",
                      'Look behind the rear wall and in the cabinet, and add a [[survey]] entry with part = "cutout" '
                      "for each.")  # fmt: skip


def _through(sheet, entry):
    """One contact, one voltage: in ORIGINAL a cut-out has mains, so in OURS it cannot stand in a 24 V chain."""
    if entry["decision"] not in ("kept", "moved") or entry["acts_through"] != "chain":
        return
    if sheet["chain"]["kind"] != "mains":
        yield Finding("cutout-two-voltages", "stop",
                      f"{entry['name']} has mains in ORIGINAL and the coil's chain in OURS: two voltages on one "
                      "contact.", ONE_CONTACT,
                      'The elements\' common conductor through it in OURS as in ORIGINAL (acts_through = "elements"), '
                      "behind the transfer switch.")  # fmt: skip


def reaches(sheet: dict, entry: dict) -> Value:
    """What the cut-out's place reaches in use, degC: with the cavity at the wanted temperature."""
    return expected_c(
        entry["place"], sheet["oven"]["wanted_c"], sheet["oven"]["room_c"], entry["seen_c"], entry["seen_at_c"]
    )


def _absent(entry):
    if entry["decision"] != "absent":
        return
    grade = "change" if entry["job_done_by"] is None else "note"
    yield Finding("cutout-absent", grade, f"{entry['name']}: no cut-out of the oven's own is said to be there.",
                  "every domestic oven has one as a rule (common practice, no source)",
                  "Look again behind the rear wall and in the cabinet, or name what cuts there instead "
                  "(job_done_by).")  # fmt: skip


def _in_circuit(entry):
    out = entry["decision"] == "removed" or entry["acts_in_ours"] is False
    if entry["decision"] == "absent" or not out:
        return
    if entry["decision"] != "kept" and (entry["by"] is None or entry["why"] is None):
        yield Finding("protection-bypassed", "stop",
                      f"{entry['name']}, a protection, is {entry['decision']} without name and reason.",
                      "never bypass a protection unrecorded",
                      "Write by and why; put it back at reversal.")  # fmt: skip
    back = 'decision = "kept", ' if entry["decision"] == "removed" else ""
    if entry["job_done_by"] is None:
        yield Finding("cutout-out-of-circuit", "stop",
                      f"{entry['name']} does not act while OURS heats, and nothing named does its job.", RULE,
                      "The elements' common conductor through this cut-out in OURS as well, behind the transfer switch "
                      f'({back}acts_in_ours = true, acts_through = "elements"); or job_done_by = "..." with what cuts '
                      "at this place instead.")  # fmt: skip
    else:
        yield Finding("protection-changed", "note",
                      f"{entry['name']} does not act in OURS; its job is done by: {entry['job_done_by']}.",
                      "recorded in the survey", "On the reversal sheet: back and tested.")  # fmt: skip


def _opens(sheet, entry):
    if entry["decision"] not in ("kept", "moved") or entry["opens_c"] is None or entry["acts_in_ours"] is False:
        return
    opens = given(entry["opens_c"], "degC", f"survey {entry['name']}, opens_c")
    seen = reaches(sheet, entry)
    need = derived(seen.number + IN_HAND_K, "degC", f"{seen.source}; {IN_HAND_K} K in hand", seen)
    measured = "" if entry["seen_c"] is not None else " Measure the place first (seen_c at seen_at_c): this is a guess."
    mend = (
        f"Where the place itself bears that: one that opens at {need.number:.0f} degC or more. Else cool the "
        f"place, move it "
        f"where the oven's maker would have it and this heat does not come, or a lower wanted temperature.{measured}"
    )
    if seen.over(opens):
        yield Finding("cutout-opens", "stop",
                      f"{entry['name']} opens below what its place ({entry['place']}) reaches: it would cut "
                      f"every evening, "
                      "and a cut-out that is in the way gets "
                      "bridged.", seen.source, mend, seen, opens, need)  # fmt: skip
    elif need.over(opens):
        yield Finding("cutout-near", "change", f"{entry['name']} opens close to what its place reaches.",
                      need.source, mend, need, opens, need)  # fmt: skip
