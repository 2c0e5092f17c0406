"""The setpoint of a ramp tick by tick: where it begins, how fast it goes, when it waits, where it ends."""

import pytest

from host.shim.loader import world

Ramp = world().load("tizzone.evening.ramp").Ramp


def begun(k_h):
    ramp = Ramp()
    ramp.k_h = k_h
    ramp.begin()
    return ramp


def test_leg_without_a_rate_has_no_ramp():
    assert Ramp().on == 0 and Ramp().k_h == 0
    assert begun(0).on == 0
    assert begun(1).on == 1


@pytest.mark.parametrize(
    ("pv_mc", "target_mc", "begins_mc"),
    [(120_000, 400_000, 120_000), (20_000, 400_000, 30_000), (30_001, 400_000, 30_001), (450_000, 400_000, 400_000)],
)
def test_ramp_begins_at_the_reading_within_what_a_setpoint_may_be(pv_mc, target_mc, begins_mc):
    ramp = begun(90)
    assert ramp.moved_mc(300_000, target_mc, pv_mc, 0) == begins_mc  # whatever the setpoint was before


def test_ramp_goes_at_its_rate_without_a_rest_that_is_lost():
    ramp = begun(61)
    setpoint_mc = 0
    for _ in range(4 * 3600):  # an hour
        setpoint_mc = ramp.moved_mc(setpoint_mc, 400_000, max(setpoint_mc, 100_000), 250)
    assert setpoint_mc == 161_000
    assert ramp.on == 1


def test_ramp_moves_by_whole_thousandths_and_not_a_moment_before_they_are_due():
    ramp = begun(3599)  # 1 K/h is 1/3600 mK a millisecond
    assert ramp.moved_mc(0, 400_000, 100_000, 1) == 100_000
    assert ramp.moved_mc(100_000, 400_000, 100_000, 1) == 100_001


def test_ramp_begins_anew_with_each_leg():
    ramp = begun(3600)
    ramp.moved_mc(0, 400_000, 100_000, 250)
    ramp.begin()
    assert ramp.moved_mc(0, 400_000, 200_000, 250) == 200_250


def test_division_of_one_leg_leaves_nothing_to_the_next():
    ramp = begun(1)
    for _ in range(14):
        ramp.moved_mc(100_000, 400_000, 100_000, 250)  # 3500 of 3600 parts of a millikelvin
    ramp.begin()
    assert ramp.moved_mc(100_000, 400_000, 100_000, 250) == 100_000


@pytest.mark.parametrize(("behind_mk", "moves"), [(7_999, True), (8_000, True), (8_001, False)])
def test_ramp_waits_for_an_oven_that_is_eight_kelvin_behind(behind_mk, moves):
    ramp = begun(3600)
    setpoint_mc = ramp.moved_mc(0, 400_000, 200_000, 250)
    after_mc = ramp.moved_mc(setpoint_mc, 400_000, setpoint_mc - behind_mk, 250)
    assert after_mc == setpoint_mc + (250 if moves else 0)
    assert ramp.on == 1


@pytest.mark.parametrize(("dt_ms", "counts_ms"), [(250, 250), (500, 500), (501, 500), (60_000, 500)])
def test_late_tick_moves_it_by_no_more_than_half_a_second(dt_ms, counts_ms):
    ramp = begun(3600)
    assert ramp.moved_mc(0, 400_000, 200_000, dt_ms) == 200_000 + counts_ms


def test_ramp_ends_at_its_target_and_not_beyond():
    ramp = begun(3600)
    setpoint_mc = ramp.moved_mc(0, 200_500, 200_000, 250)
    assert (setpoint_mc, ramp.on) == (200_250, 1)
    setpoint_mc = ramp.moved_mc(setpoint_mc, 200_500, setpoint_mc, 249)
    assert (setpoint_mc, ramp.on) == (200_499, 1)
    assert ramp.moved_mc(setpoint_mc, 200_500, setpoint_mc, 250) == 200_500
    assert ramp.on == 0
    exact = begun(3600)
    assert exact.moved_mc(0, 200_250, 200_000, 250) == 200_250
    assert exact.on == 0
