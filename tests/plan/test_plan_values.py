"""Figures keep unit, source and mark; units are never mixed; doubt is shown."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host import findings
from host.mains import device_rules, finding, value
from host.mains.value import COMPUTED, GIVEN, MEMORY, ONCE, TWICE, Value, derived

UNITS = ("A", "V", "W", "degC", "ohm", "mm2", "s", "%", "K/W", "")


@given(st.sampled_from(UNITS), st.sampled_from(UNITS), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_value_comparison_needs_one_unit(one, other, a, b):
    left, right = Value(a, one), Value(b, other)
    if one == other:
        assert left.over(right) is (a > b) and left.under(right) is (a < b)
        return
    for compare in (left.over, left.under):
        with pytest.raises(value.UnitError):
            compare(right)
    with pytest.raises(value.UnitError):
        finding.Finding("x", "stop", "x", "x", "x", left, right)


@pytest.mark.parametrize(
    ("marks", "result"),
    [
        ((TWICE, TWICE), COMPUTED), ((TWICE, ONCE), ONCE), ((ONCE, MEMORY, TWICE), MEMORY),
        ((GIVEN,), COMPUTED), ((), COMPUTED),
    ],
)  # fmt: skip
def test_value_derived_is_as_weak_as_its_weakest_ingredient(marks, result):
    made = derived(1.0, "A", "x", *(Value(1.0, "A", mark) for mark in marks))
    assert made.mark == result
    assert made.to_verify == (result in (ONCE, MEMORY))
    assert ("(to be verified)" in str(made)) == made.to_verify


def test_value_unknown_mark_or_grade_is_refused():
    with pytest.raises(ValueError, match="mark"):
        Value(1, "A", "surely")
    with pytest.raises(ValueError, match="grade"):
        finding.Finding("x", "fine", "x", "x", "x")


def numbers_without_unit(node, path=()):
    """Paths of numbers in a JSON tree that have no unit beside them or in their key's name."""
    if isinstance(node, dict):
        if "number" in node and "unit" in node:
            return []
        return [p for key, sub in node.items() for p in numbers_without_unit(sub, (*path, key))]
    if isinstance(node, list):
        return [p for sub in node for p in numbers_without_unit(sub, path)]
    if isinstance(node, bool) or not isinstance(node, int | float):
        return []
    named = path[-1].endswith("_c") or path[-2] in ("counts", "hours_above_rating_h")
    return [] if named or path[-1] == "runs_counted" else [path]


def test_plan_json_has_a_unit_beside_every_number(plan_of):
    tree = json.loads(json.dumps(plan_of({"supply.breaker_a": "10"}).as_json()))
    assert numbers_without_unit(tree) == []
    assert numbers_without_unit({"a": {"b": 3}}) == [("a", "b")]


def test_plan_figures_from_memory_or_one_source_say_so(plan_of):
    plan = plan_of()
    for key in ("box_air", "pst", "junction_top", "time_to", "energy", "current_high", "soak_box"):
        assert plan.figures[key].to_verify, key
    for key in ("current", "drop", "cable_allowed", "power"):
        assert not plan.figures[key].to_verify, key


@given(st.floats(100, 3000), st.floats(100, 260))
def test_element_by_plate_and_by_ohms_is_the_same_element(power, volts):
    from host.mains.compute import element_power_w

    plate = {"power_w": power, "voltage_v": volts, "ohms": None}
    ohms = {"power_w": None, "voltage_v": None, "ohms": volts**2 / power}
    assert element_power_w(plate, 230) == pytest.approx(element_power_w(ohms, 230))
    assert element_power_w(plate, volts) == pytest.approx(power)


def test_high_limit_edges_just_below_at_and_just_above(plan_of):
    def codes(setting_c):
        plan = plan_of({"high_limit.setting_c": str(setting_c)})
        return {f.code for f in plan.findings if f.code.startswith("high-limit") and f.grade != "note"}

    least = 450 + device_rules.above_wanted().number
    assert codes(least - 0.1) == {"high-limit-low"}
    assert codes(least) == codes(least + 0.1) == codes(510) == set()
    assert codes(510.1) == {"high-limit-loose"}
    assert codes(550) == {"high-limit-loose"} and codes(550.1) == {"high-limit-high"}


def test_plan_never_says_that_something_is_safe(plan_of, hall):
    from host.mains import planpage, plantext
    from host.mains.example import EXAMPLE

    for changes in ({}, {"supply.residual_ma": "0"}):
        plan = plan_of(changes)
        words = planpage.page(plan) + "\n".join(plantext.lines(plan)) + json.dumps(plan.as_json())
        assert not re.search(r"\bsafe(ly)?\b", words + EXAMPLE, re.I)


def test_findings_of_plan_pins_and_history_have_one_scale_and_one_shape():
    from host.history.findings import NOTES, Finding, grade_of
    from host.pins.finding import Finding as OfPins

    for kind in (finding.Finding, OfPins, Finding):
        assert issubclass(kind, findings.Finding)
        made = kind("x", "change", "what", "why", "do")
        assert set(findings.Finding("x", "note", "", "", "").as_json()) <= set(made.as_json())
        with pytest.raises(ValueError, match="unknown grade"):
            kind("x", "warning", "what", "why", "do")
    assert {grade_of(code) for code in (*NOTES, "element_weak", "probe_low")} == set(findings.GRADES)
    assert findings.counts([finding.Finding("x", "stop", "", "", "")]) == {"stop": 1, "change": 0, "note": 0}


@pytest.mark.parametrize(("operations", "words"), [(60_000, "Evenings until"), (99_000_000, "more evenings than are")])
def test_contacts_that_outlast_every_cook_are_told_without_a_number_nobody_can_know(plan_of, operations, words):
    edits = {"relays.top.kind": f'"relay"\noperations = {operations}', "control.window_s": "120"}
    (found,) = [one for one in plan_of(edits).findings if one.code == "relay-life"]
    assert words in found.text and found.figure.number <= 1000
