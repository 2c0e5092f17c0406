"""Flawed sheets of every kind: found, graded right, the remedy applied and checked again by the tool; sound sheets of
several countries clean; an untouched new sheet never."""

import copy
import tomllib

import pytest
from further_sheets import FURTHER, REFUSED, SOUND_TOO
from graded_sheets import GRADED
from sixty_sheets import BRITAIN, CUT, FLAWS, HALL, SOUND

from host.mains import blank, plan, sheet
from host.mains.example import EXAMPLE

EVERY = {**FLAWS, **FURTHER}


def with_changes(raw, changes):
    """A copy of the parsed sheet with every {dotted path: value}."""
    raw = copy.deepcopy(raw)
    for path, value in changes.items():
        *steps, key = path.split(".")
        target = raw
        for step in steps:
            target = target[int(step)] if step.isdigit() else target.setdefault(step, {})
        if value is CUT:
            target.pop(key, None)
        else:
            target[key] = copy.deepcopy(value)
    return raw


def planned(*changes):
    """The Plan of the example with changes, one after the other."""
    raw = tomllib.loads(EXAMPLE)
    for change in changes:
        raw = with_changes(raw, change)
    return plan.make(sheet.check(raw, "sheet"))


def told(made, *grades):
    """Codes of findings of these grades."""
    return {finding.code for finding in made.findings if finding.grade in grades}


@pytest.mark.parametrize("name", SOUND)
def test_plan_sound_sheet_of_a_country_is_clean(name):
    made = planned(SOUND[name])
    assert [(f.code, f.text) for f in made.findings if f.grade != "note"] == []


def test_plan_flaws_are_sixty_and_more_of_many_kinds():
    assert len(EVERY) == len(FLAWS) + len(FURTHER) >= 120
    assert len({code for _, _, code, _, _ in EVERY.values()}) >= 70


@pytest.mark.parametrize("name", SOUND_TOO)
def test_plan_what_is_sound_is_called_no_flaw(name):
    made = planned(*SOUND_TOO[name])
    assert [(f.code, f.text) for f in made.findings if f.grade != "note"] == []


@pytest.mark.parametrize("name", GRADED)
def test_plan_flaw_of_any_kind_has_the_grade_that_was_written_down_before(name):
    base, changes, grade = GRADED[name]
    usual, made = planned(base), planned(base, changes)
    new = {f.grade for f in made.findings if f.code not in told(usual, "stop", "change")} - {"note"}
    assert next((each for each in ("stop", "change") if each in new), "clean") == grade


@pytest.mark.parametrize("name", REFUSED)
def test_plan_garbage_is_refused_with_a_line_that_names_the_entry(name):
    changes, words = REFUSED[name]
    with pytest.raises(sheet.SheetError) as refused:
        planned(changes)
    assert any(words in line for line in refused.value.lines)
    assert all(line.startswith("sheet: ") and "\n" not in line for line in refused.value.lines)


@pytest.mark.parametrize("name", EVERY)
def test_plan_flaw_is_found_with_its_grade(name):
    base, changes, code, grade, _ = EVERY[name]
    assert code not in told(planned(base), "stop", "change")
    made = planned(base, changes)
    found = [finding for finding in made.findings if finding.code == code]
    assert found and {finding.grade for finding in found} == {grade}
    assert all(finding.mend and finding.source for finding in found)
    assert made.stopped == (made.count("stop") > 0)


def mended(base, changes, code, how):
    """The changes that mend: as the table says, or the finding's own remedy put at its key."""
    if isinstance(how, dict):
        return how
    remedy = next(f.remedy for f in planned(base, changes).findings if f.code == code)
    if how == "power":
        return {f"elements.{zone}.power_w": remedy.number / 2 + 1 for zone in ("top", "deck")}
    number = remedy.number
    key = how.removeprefix("remedy:")
    whole = key.endswith(("poles", "residual_ma", "breaker_a", "awg")) or number == int(number)
    return {key: int(number) if whole else number}


@pytest.mark.parametrize("name", EVERY)
def test_plan_remedy_mends_the_flaw_and_breaks_nothing_else(name):
    base, changes, code, _, how = EVERY[name]
    before = told(planned(base, changes), "stop")
    after = planned(base, changes, mended(base, changes, code, how))
    assert code not in told(after, "stop", "change")
    grown = {"breaker-overload", "cable-overload", "plug-overload", "cord-overload", "relay-overload",
             "contactor-overload", "transfer-overload"}  # more power needs more of everything  # fmt: skip
    assert told(after, "stop") - before <= (grown if how == "power" else set())


def test_plan_untouched_new_sheet_does_not_come_out_clean():
    made = plan.make(sheet.check(tomllib.loads(blank.blank()), "new"))
    stops = told(made, "stop")
    assert {"unknown-loop-ohm", "unknown-earth-ohm", "unknown-owner-consents", "unknown-acts-in-ours"} <= stops
    assert "unknown-date" in told(made, "change")
    assert all(key not in str(made.figures) for key in ("nan", "inf"))


@pytest.mark.parametrize("volts", ["selv_24dc", "selv_24ac", "mains"])
def test_plan_diagram_and_parts_name_the_chain_as_the_sheet_has_it(volts):
    made = planned(HALL, {"chain.kind": volts, "chain.driver_rated_v": 300})
    text = " ".join(part.least for part in made.parts)
    assert ("230 V mains" in text) == (volts == "mains")


@pytest.mark.slow
def test_plan_ovens_of_three_kinds_come_out_different():
    """A table-top oven, a 90 cm oven and a well-insulated one: told apart by volume and by what a meter says at 200."""
    kinds = {
        "table-top": {
            "oven.volume_l": 25,
            "oven.held_w": 260,
            "elements.top.power_w": 700,
            "elements.deck.power_w": 700,
        },
        "90 cm": {
            "oven.volume_l": 110,
            "oven.held_w": 700,
            "elements.top.power_w": 1700,
            "elements.deck.power_w": 1500,
        },
        "well insulated": {"oven.held_w": 230},
        "minutes on an hour": {"oven.held_w": CUT, "oven.minutes_on_per_hour": 9},
    }
    held = {name: planned(changes).figures["holding"].number for name, changes in kinds.items()}
    assert held["well insulated"] < held["table-top"] < held["minutes on an hour"] < held["90 cm"]
    assert held["90 cm"] > 1.5 * held["well insulated"]
    times = {name: planned(changes).figures["time_to"].number for name, changes in kinds.items()}
    assert len({round(minutes) for minutes in times.values()}) == len(kinds)


def test_plan_ovens_of_which_nothing_was_measured_differ_by_their_cavity():
    held = {}
    for volume_l in (22, 60, 115):
        made = planned({"oven.held_w": CUT, "oven.held_at_c": CUT, "oven.volume_l": volume_l})
        held[volume_l] = made.figures["holding_low"].number, made.figures["holding_high"].number
    assert held[22][0] < 0.7 * held[60][0] and held[22][1] < 0.7 * held[60][1]
    assert held[115][0] > 1.3 * held[60][0] and held[115][1] > 1.3 * held[60][1]
    unsaid = planned({"oven.held_w": CUT, "oven.held_at_c": CUT, "oven.volume_l": CUT}).figures
    assert (unsaid["holding_low"].number, unsaid["holding_high"].number) == pytest.approx(held[60])


def test_plan_meter_in_tt_says_nothing_of_a_short_circuit():
    """The loop through two earth rods is not the way of a short circuit between the conductors."""
    assert "fault_i2t" in planned(HALL).figures
    assert "fault_i2t" not in planned(HALL, {"supply.system": "tt", "supply.loop_ohm": 40}).figures


def test_plan_without_a_meter_tells_the_range_and_what_narrows_it():
    made = planned({"oven.held_w": CUT, "oven.held_at_c": CUT})
    low, high = made.figures["holding_low"].number, made.figures["holding_high"].number
    assert 600 < low < 1.3 * low < high < 2600 and "holding" not in made.figures
    finding = next(f for f in made.findings if f.code == "reach-range")
    assert "held_w" in finding.mend and "minutes_on_per_hour" in finding.mend


def test_plan_transfer_switch_that_is_missing_is_named_with_a_rating_that_suits_the_breaker():
    missing = {"transfer.fitted": False, "transfer.rated_a": CUT, "transfer.poles": CUT}
    found = [f for f in planned(BRITAIN, missing).findings if f.code == "transfer-none"]
    assert [(f.remedy.number, "32 A" in f.mend) for f in found] == [(32, True)]
