"""What a user may set."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.shim.loader import world

settings = world().load("tizzone.memory.settings")
NUMBERS = [n for n, row in settings.TABLE.items() if not isinstance(row[0], dict)]


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
