"""Presence and session length: bounds of the settings, and each time just below, at and above."""

import pytest
from safety_bench import L, load

MINUTE_MS = 60_000


def people(mc=120_000, attend_min=15, session_min=300):
    return load("safety.attendance").Attendance(mc, attend_min, session_min)


@pytest.mark.parametrize(("value", "held"), [(0, 1), (1, 1), (2, 2), (9, 9), (10, 10), (11, 10)])
def test_bounded_holds_between_both_ends(value, held):
    assert load("integers").bounded(value, 1, 10) == held


@pytest.mark.parametrize(
    ("asked", "in_force"),
    [
        ((29_999, 0, 0), (30_000, 1, 1)),
        ((30_001, 1, 1), (30_001, 1, 1)),
        ((120_000, 30, 480), (120_000, 30, 480)),
        ((120_001, 31, 481), (120_000, 30, 480)),
        ((999_999, 99_999, 99_999), (120_000, 30, 480)),
    ],
)
def test_neither_can_be_switched_off_from_120_c_on(asked, in_force):
    got = people(*asked)
    assert (got.attend_mc, got.attend_ms, got.session_max_ms) == (
        in_force[0], in_force[1] * MINUTE_MS, in_force[2] * MINUTE_MS,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("pv_mc", "setpoint_mc", "counts"),
    [(119_999, 119_999, False), (120_000, 0, True), (0, 120_000, True), (120_001, 0, True), (0, 120_001, True)],
)
def test_time_alone_counts_above_the_threshold_of_reading_or_setpoint(pv_mc, setpoint_mc, counts):
    got = people()
    got.judge(pv_mc, setpoint_mc, 1, 250)
    assert got.alone_ms == (250 if counts else 0)


def test_absence_is_told_two_minutes_before_and_then_missed():
    got = people(attend_min=15)
    got.judge(300_000, 0, 1, 13 * MINUTE_MS - 1)
    assert (got.soon, got.missed) == (0, 0)
    got.judge(300_000, 0, 1, 1)
    assert (got.soon, got.missed) == (1, 0)
    got.judge(300_000, 0, 1, 2 * MINUTE_MS - 1)
    assert got.missed == 0
    got.judge(300_000, 0, 1, 1)
    assert got.missed == 1
    got.confirm()
    got.judge(300_000, 0, 1, 250)
    assert (got.alone_ms, got.soon, got.missed) == (250, 0, 0)


def test_shortest_time_is_told_half_of_it_before():
    got = people(attend_min=1)
    got.judge(300_000, 0, 1, 29_999)
    assert got.soon == 0
    got.judge(300_000, 0, 1, 1)
    assert (got.soon, got.missed) == (1, 0)


def test_time_alone_starts_anew_when_the_oven_is_no_longer_hot():
    got = people()
    got.judge(300_000, 0, 1, 5_000)
    got.judge(119_999, 0, 1, 250)
    assert (got.alone_ms, got.session_ms) == (0, 5_250)


def test_session_has_a_longest_time_even_when_cold():
    got = people(session_min=2)
    got.judge(20_000, 0, 1, 2 * MINUTE_MS - 1)
    assert got.too_long == 0
    got.judge(20_000, 0, 1, 1)
    assert (got.too_long, got.missed) == (1, 0)


def test_clocks_stand_at_zero_outside_a_session():
    got = people(session_min=1, attend_min=1)
    got.judge(300_000, 0, 1, 2 * MINUTE_MS)
    assert (got.too_long, got.missed, got.soon) == (1, 1, 1)
    got.judge(300_000, 0, 0, 250)
    assert (got.alone_ms, got.session_ms, got.too_long, got.missed, got.soon) == (0, 0, 0, 0, 0)


def test_new_attendance_accuses_nobody():
    got = people()
    assert (got.alone_ms, got.session_ms, got.soon, got.missed, got.too_long) == (0, 0, 0, 0, 0)


def test_defaults_lie_within_what_is_allowed():
    assert L.SETPOINT_MIN_MC <= L.ATTEND_MC <= L.ATTEND_MAX_MC
    assert 1 <= L.ATTEND_MIN <= L.ATTEND_MAX_MIN and 1 <= L.SESSION_MAX_MIN <= L.SESSION_CEILING_MIN
