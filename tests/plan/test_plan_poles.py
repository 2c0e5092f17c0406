"""Who cuts which conductor, by kind of supply and plug."""

import pytest
from sixty_sheets import AMERICA_120, AMERICA_240, FRANCE, GERMANY, HALL, NORWAY
from test_plan_sixty_sheets import planned

from host.mains import poles


@pytest.mark.parametrize(
    ("sheet", "to_earth_v", "is_live", "may_be_live", "switch_poles"),
    [
        (HALL, 230, False, False, 2), (GERMANY, 230, False, True, 3), (FRANCE, 230, False, True, 3),
        (AMERICA_240, 120, True, True, 3), (AMERICA_120, 120, False, False, 2), (NORWAY, 132.8, True, True, 3),
        ({**AMERICA_240, "supply.voltage_v": 208}, 120.1, True, True, 3),
        ({**HALL, "supply.conductors": "line_line"}, 132.8, True, True, 3),
    ],
)  # fmt: skip
def test_poles_follow_the_supply_and_the_plug(sheet, to_earth_v, is_live, may_be_live, switch_poles):
    """240 V split phase has half of it to earth; 208 V and 230 V between lives have 1/sqrt(3) (three-phase systems)."""
    made = planned(sheet).sheet
    back = poles.returning(made)
    assert poles.to_earth_v(made) == pytest.approx(to_earth_v, abs=0.1)
    assert (back.is_live, back.may_be_live, poles.transfer_poles(made)) == (is_live, may_be_live, switch_poles)


def test_poles_of_a_limiter_with_its_own_contactor_are_told():
    own = {"high_limit.own_contactor": True, "high_limit.contactor_a": 25, "high_limit.contactor_poles": 2}
    assert "K4" in poles.who_cuts(planned(HALL, own).sheet)[-1][1]
    assert "K4" not in poles.who_cuts(planned(HALL).sheet)[-1][1]


def test_poles_no_sheet_makes_a_neutral_of_a_live():
    """240/120 and 208Y/120 V: at 240 and 208 V both conductors are ungrounded (NEC 210.6, from memory)."""
    for volts in (208, 240):
        made = planned(AMERICA_240, {"supply.voltage_v": volts, "supply.conductors": "line_neutral"}).sheet
        assert poles.conductors(made) == "line_line" and poles.said_wrong(made)
    assert not poles.said_wrong(planned(AMERICA_120, {"supply.conductors": "line_neutral"}).sheet)
    assert not poles.said_wrong(planned(AMERICA_240).sheet)


def test_poles_grow_with_the_elements():
    third = {"name": "Ring", "power_w": 500, "voltage_v": 230, "in_ours": "dead"}
    assert poles.transfer_poles(planned({**HALL, "extra_element": [third]}).sheet) == 3


@pytest.mark.parametrize("sheet", [HALL, GERMANY, AMERICA_240, NORWAY])
def test_poles_table_names_every_device_that_cuts(sheet):
    rows = poles.who_cuts(planned(sheet).sheet)
    assert [row[0] for row in rows][2:] == [
        "Breaker",
        "Transfer switch",
        "Contactor K1",
        "Solid-state relays",
        "Oven's own cut-outs",
        "High limit",
    ]
    assert all(cuts and why for _, cuts, why in rows)
    assert ("common trip" in rows[2][1]) == poles.returning(planned(sheet).sheet).is_live
