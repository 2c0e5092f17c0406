"""What a user may set."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.shim.loader import world

settings = world().load("tizzone.memory.settings")
L = world().load("tizzone.safety.limits")
NUMBERS = [n for n, row in settings.TABLE.items() if not isinstance(row[0], dict)]


# (default, lowest, highest) of each, written a second time: whoever moves a bound of what a person may set, means to.
BOUNDS = {
    "setpoint_c": (450, 30, 530), "high_limit_c": (500, 30, 550), "restart_c": (250, 30, 300),
    "attend_c": (120, 30, 120), "attend_min": (15, 1, 30), "session_max_min": (300, 1, 480),
    "window_ms": (20_000, 2_000, 120_000), "min_switch_ms": (500, 250, 30_000), "exclusive": (0, 0, 1),
    "top_share_pct": (50, 20, 80), "soak_min": (15, 0, 240), "bake_s": (90, 10, 3600), "breads": (0, 0, 500),
    "cool_c": (250, 40, 300), "fahrenheit": (0, 0, 1), "mains_hz": (50, 50, 60), "learned_rise_s": (0, 0, 7200),
    "kc_pct_per_k": (5.0, 0.05, 50.0), "ti_s": (260.0, 10.0, 7200.0), "td_s": (25.0, 0.0, 600.0),
    "lead_s": (20.0, 0.0, 600.0), "hold_pct": (34.0, 1.0, 100.0), "rise_k_s_pct": (0.0032, 0.001, 0.02),
    "calibration": ({}, None, None), "calibration_record": ({}, None, None),
}  # fmt: skip


@pytest.mark.parametrize("name", BOUNDS)
def test_setting_has_its_default_and_its_bounds(name):
    *numbers, meaning = settings.TABLE[name]
    assert tuple(numbers) == BOUNDS[name] and type(numbers[0]) is type(BOUNDS[name][0])
    assert len(meaning) > 10


def test_every_setting_is_in_the_table_and_no_other():
    assert set(settings.TABLE) == set(BOUNDS)


def test_bounds_of_what_concerns_safety_are_those_that_the_supervisor_is_compiled_with():
    table = settings.TABLE
    assert table["high_limit_c"][1:3] == (L.HIGH_LIMIT_MIN_MC // 1000, L.HIGH_LIMIT_MAX_MC // 1000)
    highest_mc = L.HIGH_LIMIT_MAX_MC - L.SETPOINT_MARGIN_MK
    assert table["setpoint_c"][1:3] == (L.SETPOINT_MIN_MC // 1000, highest_mc // 1000)
    assert (table["restart_c"][0], table["restart_c"][2]) == (L.RESTART_MC // 1000, L.RESTART_MAX_MC // 1000)
    assert (table["attend_c"][0], table["attend_c"][2]) == (L.ATTEND_MC // 1000, L.ATTEND_MAX_MC // 1000)
    assert (table["attend_min"][0], table["attend_min"][2]) == (L.ATTEND_MIN, L.ATTEND_MAX_MIN)
    assert (table["session_max_min"][0], table["session_max_min"][2]) == (L.SESSION_MAX_MIN, L.SESSION_CEILING_MIN)


def test_defaults_are_within_their_own_bounds():
    for name, value in settings.defaults().items():
        assert settings.fault_of(name, value) is None


@pytest.mark.parametrize("name", NUMBERS)
def test_bounds_are_inclusive_and_hold(name):
    default, low, high, _ = settings.TABLE[name]
    step = 1 if isinstance(default, int) else 1e-6
    assert settings.fault_of(name, low) is None
    assert settings.fault_of(name, high) is None
    for beyond in (low - step, high + step):
        assert name in settings.fault_of(name, beyond)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, None, "450", True, [450], {"a": 1}])
@pytest.mark.parametrize("name", ["setpoint_c", "kc_pct_per_k", "calibration"])
def test_value_of_a_wrong_kind_is_refused_by_name(name, bad):
    if name == "calibration" and isinstance(bad, dict):
        assert settings.fault_of(name, bad) is None
    else:
        assert name in settings.fault_of(name, bad)


def test_one_bad_value_leaves_the_good_ones_in_force():
    values, faults = settings.taken_over({"setpoint_c": 300, "soak_min": -5, "colour": 3})
    assert values["setpoint_c"] == 300
    assert values["soak_min"] == settings.TABLE["soak_min"][0]
    assert len(faults) == 2


def test_settings_that_cannot_be_relied_on_are_the_defaults_with_one_zone_at_a_time():
    assert settings.safe() == {**settings.defaults(), "exclusive": 1}
    assert settings.defaults()["exclusive"] == 0
    for stored in ([], None, 7, "settings"):
        assert settings.taken_over(stored) == (settings.safe(), ["settings are not a table"])


@pytest.mark.parametrize(
    ("stored", "exclusive", "bad"),
    [({}, 0, 0), ({"soak_min": 7}, 0, 0), ({"exclusive": 1}, 1, 0), ({"soak_min": -1, "exclusive": 1}, 1, 1),
     ({"soak_min": -1, "exclusive": 0}, 0, 1), ({"soak_min": -1}, 1, 1), ({"exclusive": 2}, 1, 1),
     ({"exclusive": True}, 1, 1)],
)  # fmt: skip
def test_damage_never_lets_both_zones_on_at_once_unless_the_setting_itself_is_whole(stored, exclusive, bad):
    values, faults = settings.taken_over(stored)
    assert (values["exclusive"], len(faults)) == (exclusive, bad)


def test_every_good_value_is_taken_over():
    stored = {name: row[2] for name, row in settings.TABLE.items() if not isinstance(row[0], dict)}
    stored |= {"calibration": {"dome": [[0, 5]]}, "calibration_record": {"dome": "x"}}
    assert settings.taken_over(stored) == (stored, [])


@pytest.mark.parametrize(
    ("name", "value", "fault"),
    [
        ("colour", 3, "setting colour is not known"),
        ("calibration", 3, "setting calibration must be a table"),
        ("soak_min", 7.0, "setting soak_min must be a number"),
        ("soak_min", True, "setting soak_min must be a number"),
        ("ti_s", "260", "setting ti_s must be a number"),
        ("ti_s", True, "setting ti_s must be a number"),
        ("ti_s", 9, "setting ti_s must lie within 10.0..7200.0"),
        ("soak_min", 241, "setting soak_min must lie within 0..240"),
        ("ti_s", 300, None),
        ("ti_s", 300.0, None),
        ("soak_min", 7, None),
    ],
)
def test_setting_that_is_refused_says_what_is_allowed(name, value, fault):
    assert settings.fault_of(name, value) == fault


@pytest.mark.parametrize(
    ("name", "text", "answer"),
    [
        ("colour", "1", (None, "setting colour is not known")),
        ("calibration", "1", (None, "setting calibration is not set by hand")),
        ("calibration", "x", (None, "setting calibration is not set by hand")),
        ("soak_min", "7.5", (None, "setting soak_min must be a number")),
        ("ti_s", "long", (None, "setting ti_s must be a number")),
        ("soak_min", "241", (241, "setting soak_min must lie within 0..240")),
        ("ti_s", "nan", None),
    ],
)
def test_typed_text_that_is_refused_says_why(name, text, answer):
    value, fault = settings.parsed(name, text)
    assert (value, fault) == answer if answer else "must lie within" in fault


def test_defaults_are_not_shared_between_boards():
    settings.defaults()["calibration"]["dome"] = [[0, 1]]
    assert settings.defaults()["calibration"] == {}


@given(st.recursive(st.none() | st.booleans() | st.floats() | st.integers() | st.text(), st.lists, max_leaves=5))
def test_anything_stored_never_raises(stored):
    values, _ = settings.taken_over(stored)
    assert set(values) == set(settings.TABLE)


@given(st.dictionaries(st.sampled_from(sorted(settings.TABLE)), st.floats(allow_nan=True) | st.integers() | st.text()))
def test_taken_over_values_are_all_allowed_and_storable(stored):
    values, _ = settings.taken_over(stored)
    assert all(settings.fault_of(name, value) is None for name, value in values.items())
    json.dumps(values, allow_nan=False)


@pytest.mark.parametrize(
    ("name", "text", "value"), [("setpoint_c", "430", 430), ("kc_pct_per_k", "2.5", 2.5), ("kc_pct_per_k", "3", 3.0)]
)
def test_typed_number_is_taken(name, text, value):
    assert settings.parsed(name, text) == (value, None)


@pytest.mark.parametrize(
    ("name", "text"),
    [("setpoint_c", "hot"), ("setpoint_c", "4.5"), ("setpoint_c", "900"), ("calibration", "1"), ("x", "1")],
)
def test_typed_nonsense_is_refused(name, text):
    value, fault = settings.parsed(name, text)
    assert fault
    assert name in fault


@pytest.mark.parametrize("name", ["kc_pct_per_k", "ti_s", "td_s", "lead_s", "rise_k_s_pct"])
def test_one_tuned_value_ends_the_defaults(name):
    values = settings.defaults()
    assert name in settings.TUNED and settings.is_default(values, settings.TUNED)
    values[name] *= 1.01
    assert not settings.is_default(values, settings.TUNED)
    values = settings.defaults()
    values["window_ms"] = 10_000  # not the tuning
    assert settings.is_default(values, settings.TUNED)
