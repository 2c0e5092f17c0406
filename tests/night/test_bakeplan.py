"""Bake plan files, and what the board takes of them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host import oven
from host.plans import bake_plan
from host.shim.loader import world

B = world().load("tizzone.evening.bake_plan")
GOOD = 'name = "x"\nend_c = 200\n[[leg]]\ndome_c = 300\nbreads = 2\n'


def faults_of(text):
    with pytest.raises(bake_plan.PlanError) as caught:
        bake_plan.read(text)
    return caught.value.faults


@pytest.mark.parametrize("name", bake_plan.shipped())
def test_shipped_plan_is_whole_says_where_it_is_from_and_fits_the_link(name):
    plan = bake_plan.load(name)
    assert plan.name == name
    assert plan.title
    assert plan.source
    for line in plan.lines():
        assert len(line) + 5 <= 120  # with its checksum, link.py's longest line
        assert line.isascii()
    assert B.plan_fault(plan.compact()) is None


def test_plans_of_the_house_are_all_there():
    assert {"club-flatbread", "rye-crisp", "tray-bread", "dry-oven", "burn-in", "tsg-485"} <= set(bake_plan.shipped())
    assert [bake_plan.load(n).legs[0]["dome_c"] for n in ("club-flatbread", "rye-crisp", "tray-bread")] == [
        450,
        350,
        280,
    ]


def test_published_case_keeps_temperature_and_time_of_the_regulation():
    """Commission Regulation (EU) 97/2010, OJ L 34 of 5.2.2010: 485 °C, 60 to 90 s; which surface: from memory."""
    leg = bake_plan.load("tsg-485").legs[0]
    assert leg["stone_c"] == 485
    assert 60 <= leg["bake_s"] <= 90
    assert "from memory" in bake_plan.load("tsg-485").note


def test_every_fault_of_a_file_is_told_at_once():
    faults = faults_of(
        'name = "Club Night"\nend_c = 20\ncolour = 1\n[[leg]]\nsoak_min = "long"\nbake = 3\n'
        "[[leg]]\ndome_c = 900\nbake_s = 1.5\n"
    )
    text = "\n".join(faults)
    for word in (
        "colour",
        "name:",
        "end_c",
        "leg 1: bake",
        "leg 1: dome_c",
        "leg 1: soak_min",
        "leg 2: dome_c",
        "leg 2: bake_s",
    ):
        assert word in text


@pytest.mark.parametrize("row", B.FIELDS, ids=lambda row: row[0])
def test_field_is_held_to_its_bounds_on_both_sides(row):
    name, low, high = row
    base = {"dome_c": 530, "breads": 1, "stone_c": 100, "bake_s": 60}
    for value, good in ((low, True), (high, True), (low - 1, False), (high + 1, False)):
        leg = base | {name: value}
        if name in ("stone_c", "breads") and value == low:
            leg |= {"stone_c": 0, "breads": leg["breads"] if name == "stone_c" else 0}
        text = 'name = "x"\nend_c = 200\n[[leg]]\n' + "".join(f"{key} = {v}\n" for key, v in leg.items())
        if good:
            assert bake_plan.read(text).legs[0][name] == value
        else:
            assert any(name in fault for fault in faults_of(text))


@pytest.mark.parametrize("value", ["true", '"450"', "450.0", "[450]", "nan", "1979-05-27"])
def test_value_that_is_no_whole_number_is_refused_by_name(value):
    assert any("dome_c" in fault for fault in faults_of(GOOD.replace("300", value)))


@pytest.mark.parametrize("text", ["", "a = [", "leg = 3", 'name = "x"\nend_c = 200\nleg = [3]', "[[leg]]\n" * 9])
def test_file_that_is_no_plan_is_refused(text):
    assert faults_of(text)


def test_missing_file_names_the_shipped_plans():
    with pytest.raises(bake_plan.PlanError, match="club-flatbread"):
        bake_plan.load("no-such-plan")


@pytest.mark.slow
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(),
        lambda x: st.lists(x) | st.dictionaries(st.text(), x),
        max_leaves=9,
    )
)
def test_board_refuses_anything_stored_that_is_no_plan(stored):
    assert B.plan_fault(stored) is not None


# --- impossible plans ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def standard():
    return oven.preset("standard", 1)


def asked(**leg):
    return bake_plan.read('name = "x"\nend_c = 200\n[[leg]]\n' + "".join(f"{k} = {v}\n" for k, v in leg.items()))


def test_plan_above_the_highest_setpoint_is_refused_with_both_figures(standard):
    (fault,) = bake_plan.impossible(asked(dome_c=481), standard, ceiling_c=480)
    assert "481" in fault
    assert "480" in fault
    assert bake_plan.impossible(asked(dome_c=480), standard, ceiling_c=480) == []


def test_plan_hotter_than_the_oven_gets_is_refused_with_what_it_gets():
    lamp = oven.preset("lamp", 1)
    (fault,) = bake_plan.impossible(bake_plan.load("rye-crisp"), lamp)
    most_c = max(dome_c for _, dome_c in bake_plan.full_power(lamp))
    assert f"({most_c:.0f} °C at full power)" in fault


def test_plan_faster_than_full_power_is_refused_by_the_minute(standard):
    lamp_free = bake_plan.full_power(standard)
    least_min = bake_plan.reached_s(lamp_free, 400) / 60.0
    assert bake_plan.impossible(asked(dome_c=400, reach_min=int(least_min) + 1), standard) == []
    (fault,) = bake_plan.impossible(asked(dome_c=400, reach_min=int(least_min)), standard)
    assert f"needs {least_min:.0f} min" in fault


def test_ramp_faster_than_full_power_is_refused_with_the_ovens_rate(standard):
    rate = bake_plan.rate_k_h(bake_plan.full_power(standard), 400)
    assert bake_plan.impossible(asked(dome_c=400, ramp_k_h=int(rate) - 1), standard) == []
    (fault,) = bake_plan.impossible(asked(dome_c=400, ramp_k_h=int(rate) + 1), standard)
    assert f"{rate:.0f} K/h" in fault


def test_plan_longer_than_an_evening_is_refused_with_its_length(standard):
    (fault,) = bake_plan.impossible(asked(dome_c=100, soak_min=300), standard)
    assert "evening ends after 300" in fault


def test_asking_the_oven_leaves_it_untouched(standard):
    before = standard.energy()["in_j"], standard.temperature_c("dome")
    bake_plan.impossible(bake_plan.load("rye-crisp"), standard)
    assert (standard.energy()["in_j"], standard.temperature_c("dome")) == before
