"""A slowly failing element, gasket, insulation or probe is named; a healthy oven is left in peace.

Two ovens here; tests/bench/history.py does many. The evenings come from `host.oven` plants whose seeds
the table of directions has not seen; each evening has its own mains, room and length.
"""

import numpy as np
import pytest
from many import FULL

from host.history.findings import thermal

pytestmark = pytest.mark.slow

NAMED = {"element": "element_weak", "one element": "element_weak", "gasket": "loss_more", "insulation": "loss_more",
         "probe low": "probe_low"}  # fmt: skip


def said(evenings):
    """The id of what is said, or None; at most one thing is."""
    found, _ = thermal(evenings)
    assert len(found) <= 1
    return found[0].code if found else None


@pytest.mark.parametrize("fault", NAMED)
def test_fault_of_15_pct_without_meter_is_named_within_10_evenings(failing, with_meter, fault):
    assert said(with_meter(failing[(0.15, fault)])[: FULL + 10]) == NAMED[fault]


@pytest.mark.parametrize("meter", ["mains_v", "current_a"])
@pytest.mark.parametrize("fault", ["element", "gasket", "probe low"])
def test_fault_of_5_pct_with_meter_is_named_within_10_evenings(failing, with_meter, fault, meter):
    assert said(with_meter(failing[(0.05, fault)], meter)[: FULL + 10]) == NAMED[fault]


def test_layered_oven_weak_element_is_named(layered, with_meter):
    assert said(with_meter(layered["element"])[: FULL + 10]) == "element_weak"


@pytest.mark.parametrize("meter", ["", "mains_v", "current_a"])
def test_healthy_oven_at_no_evening_is_anything_said(failing, layered, with_meter, meter):
    for evenings in (failing[(0.15, "healthy")], layered["healthy"]):
        evenings = with_meter(evenings, meter)
        assert [said(evenings[:count]) for count in range(11, 51, 6)] == [None] * 7


def test_weak_element_size_evidence_and_beginning_are_told(failing, with_meter):
    found, remarks = thermal(with_meter(failing[(0.15, "element")], "current_a")[: FULL + 10])
    assert remarks == []
    assert found[0].size_pct == pytest.approx(-15.0, abs=4.0)
    assert found[0].share > 0.95 and not found[0].is_note
    assert 15 <= int(found[0].since.split()[1]) <= 40  # it grows from evening 15 to 40
    assert any("Preheat 100 to 200" in line for line in found[0].evidence)
    assert "resistance" in found[0].mend


def test_weak_element_without_stone_probe_or_meter_names_the_probe_as_well(failing, with_meter):
    evenings = [{**evening, "stone": None} for evening in with_meter(failing[(0.15, "element")])]
    found, _ = thermal(evenings[: FULL + 10])
    ids = [found[0].code, *(other.split()[0] for other in found[0].others)]
    assert "element_weak" in ids and "probe_low" in ids
    assert any("look alike" in line for line in found[0].evidence)


def test_mains_that_fall_when_measured_are_not_called_an_element(failing, with_meter):
    evenings = with_meter(failing[(0.15, "element")], "mains_v")
    healthy = with_meter(failing[(0.15, "healthy")], "mains_v")
    lower = [{**evening, "mains_v": evening["mains_v"] * np.sqrt(weak)} for evening, weak in
             zip(evenings, np.interp(np.arange(50), [13, 39], [1.0, 0.85]), strict=True)]  # fmt: skip
    # the same slow preheats, but a voltmeter that fell by the root of the power explains them
    assert said(lower[: FULL + 10]) is None
    assert said(evenings[: FULL + 10]) == "element_weak" and said(healthy) is None


def test_element_open_overnight_is_said_after_two_evenings(failing, with_meter):
    evenings = with_meter(failing[(0.15, "healthy")])[:30]
    slow = [
        {**evening, "rise": evening["rise"] * 2.1, "top": None, "hold": None, "cool": None} for evening in evenings[-2:]
    ]
    found, _ = thermal(evenings[:-2] + slow)
    assert found[0].code == "element_open" and found[0].since == "evening 29"
    assert said(evenings[:-2] + slow[:1]) is None  # one evening may be a door left open


def test_few_evenings_are_said_to_be_few(failing):
    found, remarks = thermal(failing[(0.15, "element")][:10])
    assert found == [] and remarks == ["10 evenings say something; 11 are needed to compare first with last."]
