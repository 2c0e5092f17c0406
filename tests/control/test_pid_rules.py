"""The rules of the controller one by one, each figure as its docstrings tell it; whole evenings: test_pid.py.

Expected values are worked out by hand from the rules (house: chosen on simulated ovens), not read from the code."""

import pytest

from host.learning import loop

NEAR = {"rel": 1e-9, "abs": 1e-9}


def held(integral_pct=50.0, setpoint_c=450.0, **named):
    """A controller that has held a setpoint: at it, nothing moves."""
    pid = loop.pid(**named)
    pid.match(integral_pct, setpoint_c, setpoint_c)
    pid.update(setpoint_c, setpoint_c, 1.0)
    return pid


def test_defaults_are_those_of_an_oven_that_nobody_has_learned():
    pid = loop.pid()
    assert (pid.kc_pct_per_k, pid.ti_s, pid.td_s, pid.lead_s) == (5.0, 260.0, 25.0, 20.0)
    assert (pid.hold_pct, pid.rise_k_s_pct, pid.filter_s) == (34.0, 0.0032, 4.0)
    assert not pid.adapt and not pid.late
    assert loop.pid(adapt=True).adapt
    # and where the window's bounds are not what counts
    assert loop.pid(2.0).td_s == 25.0 and loop.pid(9.0).kc_pct_per_k == 6.0


@pytest.mark.parametrize(
    ("window_s", "kc", "kept"), [(20.0, 9.0, 3.0), (30.0, 9.0, 2.0), (10.0, 5.0, 5.0), (10.0, 7.0, 6.0)]
)
def test_gain_is_bounded_by_the_window(window_s, kc, kept):
    assert loop.pid(kc, window_s=window_s).kc_pct_per_k == pytest.approx(kept)


@pytest.mark.parametrize(
    ("window_s", "kc", "td_s", "kept"),
    [(10.0, 5.0, 24.0, 24.0), (10.0, 5.0, 90.0, 25.0), (20.0, 2.0, 90.0, 31.25), (20.0, 9.0, 90.0, 1250 / 20 / 3)],
)
def test_derivative_is_bounded_by_the_window_and_the_gain(window_s, kc, td_s, kept):
    assert loop.pid(kc, td_s=td_s, window_s=window_s).td_s == pytest.approx(kept)


def test_reset_forgets_all_that_one_evening_told():
    pid = held()
    pid.update(450.0, 300.0, 1.0)
    pid.extra_pct, pid.start_c = 3.0, 20.0
    pid.reset()
    fresh = loop.pid()
    assert vars(pid) == vars(fresh)
    assert (pid.approaching, pid.held, pid.integral_pct, pid.calm_s) == (True, False, 34.0, 45.0)
    assert (pid.filtered_c, pid.setpoint_c, pid.start_c) == (None, None, None)
    zeros = ("extra_pct", "answer_s", "quick_k_s", "rate_k_s", "slow_k_s", "out_pct", "p_pct", "d_pct")
    assert all(getattr(pid, name) == 0.0 for name in zeros)


# --- setpoints ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setpoint_c", "share"),
    [(450.0, 1.0), (235.0, 0.375), (63.0, 0.055), (30.0, 0.055), (665.0, 1.875)],  # half linear, half quadratic
)
def test_integral_is_scaled_to_a_setpoint_by_the_steady_loss(setpoint_c, share):
    pid = held(40.0)
    pid.retarget(setpoint_c, setpoint_c)
    assert pid.integral_pct == pytest.approx(40.0 * share, **NEAR)
    assert pid.setpoint_c == setpoint_c and not pid.approaching
    pid.retarget(450.0, 450.0)
    assert pid.integral_pct == pytest.approx(40.0, **NEAR)


@pytest.mark.parametrize(("above_k", "approaches"), [(15.0, False), (15.1, True), (-300.0, False)])
def test_setpoint_more_than_fifteen_kelvin_above_is_approached_anew(above_k, approaches):
    pid = held(40.0)
    pid.extra_pct = 9.0
    pid.retarget(400.0 + above_k, 400.0)
    assert pid.approaching is approaches
    assert (pid.integral_pct == 40.0) is approaches  # an approach finds its own balance
    assert not pid.held and pid.extra_pct == 0.0


def test_setpoint_before_the_first_reading_scales_nothing():
    pid = loop.pid()
    pid.retarget(235.0, 235.0)
    assert pid.integral_pct == 34.0 and pid.setpoint_c == 235.0


def test_hand_over_takes_the_deviation_off_the_integral():
    pid = loop.pid()
    pid.match(63.0, 450.0, 447.0)
    assert pid.integral_pct == 63.0 - 5.0 * 3.0
    assert pid.held and not pid.approaching


# --- the filtered reading and its rates ---------------------------------------------------------


@pytest.mark.parametrize(
    ("reading_c", "dt_s", "share", "brake_k_s", "predicts_k_s"),
    [
        (445.0, 1.0, 1 / 5, 0.25, 0.4),  # 1 K/s: more than the derivative brakes for, and than a closed oven has
        (435.0, 1.0, 1 / 5, -0.25, -0.4),
        (440.3, 0.25, 1 / 17, 0.3 / 17 / 0.25, 0.3 / 17 / 0.25),
        (439.7, 0.25, 1 / 17, -0.3 / 17 / 0.25, -0.3 / 17 / 0.25),
    ],
)
def test_reading_is_filtered_with_four_seconds_and_its_rates_are_bounded(
    reading_c, dt_s, share, brake_k_s, predicts_k_s
):
    pid = loop.pid()
    pid.update(480.0, 440.0, dt_s)
    assert pid.filtered_c == 440.0 and pid.quick_k_s == pid.rate_k_s == pid.slow_k_s == 0.0
    pid.update(480.0, reading_c, dt_s)
    step_k = share * (reading_c - 440.0)
    assert pid.filtered_c == pytest.approx(440.0 + step_k, **NEAR)
    assert pid.quick_k_s == pytest.approx(share * step_k / dt_s, **NEAR)
    assert pid.rate_k_s == pytest.approx(share * brake_k_s, **NEAR)
    assert pid.slow_k_s == pytest.approx(dt_s / (20.0 + dt_s) * predicts_k_s, **NEAR)
    before = pid.filtered_c, pid.quick_k_s, pid.rate_k_s, pid.slow_k_s
    pid.update(480.0, before[0], dt_s)  # a reading that stands still: the rates fall by their shares
    assert pid.filtered_c == pytest.approx(before[0], **NEAR)
    assert pid.quick_k_s == pytest.approx(before[1] * (1 - share), **NEAR)
    assert pid.rate_k_s == pytest.approx(before[2] * (1 - share), **NEAR)
    assert pid.slow_k_s == pytest.approx(before[3] * 20.0 / (20.0 + dt_s), **NEAR)


@pytest.mark.parametrize(("integral_pct", "fastest_k_s"), [(50.0, 0.29), (100.0, 0.05), (0.0, 0.4), (90.0, 0.098)])
def test_rise_beyond_what_the_held_oven_has_is_left_out_of_the_prediction(integral_pct, fastest_k_s):
    """Half as much again as full output should give, and 0.05 K/s of the walls; 0.4 at most."""
    pid = held(integral_pct)
    pid.update(450.0, 455.0, 1.0)
    assert pid.slow_k_s == pytest.approx(fastest_k_s / 21.0, **NEAR)


@pytest.mark.parametrize(("integral_pct", "fastest_k_s"), [(50.0, 0.226), (0.0, 0.4)])
def test_late_oven_is_taken_to_rise_no_faster_than_a_tenth_above_full_output(integral_pct, fastest_k_s):
    pid = held(integral_pct)
    pid.late = True
    pid.update(450.0, 455.0, 1.0)
    assert pid.slow_k_s == pytest.approx(fastest_k_s / 21.0, **NEAR)


def test_door_that_has_been_shut_asks_for_less_as_long_as_the_reading_leaps_back():
    pid = held(50.0)
    pid.filtered_c = 445.0
    pid.update(450.0, 455.0, 1.0)  # filtered by a fifth: 447, at 2 K/s
    leaps_k_s = 2.0 / 5 - 0.29
    assert pid.quick_k_s == pytest.approx(0.4, **NEAR)
    assert pid.p_pct == pytest.approx(5.0 * (3.0 - 4.0 * leaps_k_s), **NEAR)  # four seconds of the sheath


def test_door_that_has_been_shut_is_no_approach_anew():
    pid = held(50.0)
    pid.filtered_c, pid.quick_k_s = 432.0, 2.0
    pid.update(450.0, 442.0, 1.0)  # 16 K below, at 2 K/s: the walls bring 7 K of it
    assert not pid.approaching


def test_rise_that_the_closed_oven_has_takes_nothing_off():
    pid = held(50.0)
    pid.filtered_c = 445.0
    pid.update(450.0, 452.0, 1.0)
    assert pid.quick_k_s == pytest.approx(0.28, **NEAR)
    assert pid.p_pct == pytest.approx(5.0 * (450.0 - 446.4), **NEAR)


# --- a cold oven's answer -----------------------------------------------------------------------


def answered(seconds, start_c=20.0, heating=True, adapt=True):
    """A cold oven at full output that shows nothing until, so many seconds after its start, it has risen by 36 K."""
    pid = loop.pid(adapt=adapt)
    for _ in range(seconds - 1):
        pid.update(450.0, start_c, 1.0, heating)
    pid.update(450.0, start_c + 180.0, 1.0, heating)
    return pid


def values(pid):
    return pid.lead_s, pid.td_s, pid.ti_s, pid.kc_pct_per_k, pid.rise_k_s_pct


PLAIN = (20.0, 25.0, 260.0, 5.0, 0.0032)


@pytest.mark.parametrize(
    ("seconds", "late_s", "power"),
    [(26, 1, 0.45), (55, 30, 0.45), (56, 31, 0.2), (90, 65, 0.2), (91, 65, 0.2), (300, 65, 0.2)],
)
def test_late_answer_makes_the_defaults_calmer(seconds, late_s, power):
    pid = answered(seconds)
    slowness = 1 + late_s / 25
    calmer = (20 + 0.9 * late_s, 25 + 0.3 * late_s, 260 * slowness, 5.0, 0.0032 / slowness**power)
    assert values(pid) == pytest.approx(calmer, **NEAR)
    assert not pid.adapt and pid.start_c is None and pid.answer_s == seconds


@pytest.mark.parametrize("seconds", [10, 25])
def test_answer_within_25_seconds_leaves_them(seconds):
    pid = answered(seconds)
    assert values(pid) == PLAIN and pid.adapt and pid.start_c is None


def test_learned_values_stand_whatever_the_answer():
    assert values(answered(80, adapt=False)) == PLAIN


@pytest.mark.parametrize(("seconds", "late"), [(55, False), (56, True), (300, True)])
@pytest.mark.parametrize("adapt", [False, True])
def test_oven_that_answers_after_55_seconds_is_late(seconds, late, adapt):
    assert answered(seconds, adapt=adapt).late is late


@pytest.mark.parametrize(("start_c", "waits"), [(20.0, True), (59.9, True), (60.0, False), (200.0, False)])
def test_answer_is_waited_for_below_60_degrees(start_c, waits):
    pid = loop.pid()
    pid.update(450.0, start_c, 1.0)
    assert pid.start_c == (start_c if waits else None)
    assert pid.answer_s == (1.0 if waits else 0.0)


@pytest.mark.parametrize(("reading_c", "answers"), [(39.9, False), (40.0, True)])
def test_oven_has_answered_when_it_is_four_kelvin_warmer(reading_c, answers):
    pid = loop.pid()
    pid.update(450.0, 20.0, 1.0)
    pid.update(450.0, reading_c, 1.0)  # filtered by a fifth
    assert (pid.start_c is None) is answers


def test_answer_counts_only_while_it_heats():
    pid = answered(80, heating=False)
    assert pid.start_c == 20.0 and pid.answer_s == 0.0


# --- arriving -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slow_k_s", "setpoint_c", "integral_pct", "extra_pct"),
    [
        (0.16, 450.0, 50.0, 16.0),  # balance: 100 - 0.16 / 0.0032
        (0.096, 450.0, 70.0, 24.0),  # 32 above the least, of which at most 24 fade
        (0.32, 450.0, 34.0, 0.0),  # never below what holds it
        (0.32, 235.0, 12.75, 0.0),
        (-0.1, 450.0, 100.0, 24.0),
    ],
)
def test_first_arrival_starts_the_integral_at_the_balance(slow_k_s, setpoint_c, integral_pct, extra_pct):
    pid = loop.pid()
    pid.slow_k_s = slow_k_s
    pid._arrive(setpoint_c)
    assert (pid.integral_pct, pid.extra_pct) == pytest.approx((integral_pct, extra_pct), **NEAR)
    assert pid.held and not pid.approaching


@pytest.mark.parametrize(("slow_k_s", "integral_pct"), [(0.0, 54.0), (0.1536, 52.0), (0.3, 50.0)])
def test_later_arrival_raises_it_by_four_per_cent_at_most(slow_k_s, integral_pct):
    pid = held(50.0)
    pid.approaching, pid.slow_k_s, pid.extra_pct = True, slow_k_s, 3.0
    pid._arrive(450.0)
    assert pid.integral_pct == pytest.approx(integral_pct, **NEAR)
    assert pid.extra_pct == 3.0 and not pid.approaching


@pytest.mark.parametrize("slow_k_s", [0.0, 0.1536, 0.3])
def test_later_arrival_of_a_late_oven_leaves_the_integral(slow_k_s):
    pid = held(50.0)
    pid.approaching, pid.slow_k_s, pid.extra_pct, pid.late = True, slow_k_s, 3.0, True
    pid._arrive(450.0)
    assert pid.integral_pct == 50.0
    assert pid.extra_pct == 3.0 and not pid.approaching


@pytest.mark.parametrize(
    ("below_k", "slow_k_s", "approaches"),
    [(10.0, 0.52, True), (10.0, 0.53, False), (0.6, 0.0, True), (0.5, 0.0, False), (-1.0, -0.3, False)],
)
def test_approach_ends_when_reading_and_rate_meet_the_setpoint_or_half_a_kelvin_before_it(
    below_k, slow_k_s, approaches
):
    pid = loop.pid()
    pid.update(600.0, 450.0 - below_k, 1.0)
    pid.slow_k_s = slow_k_s  # a standing reading leaves 20 of 21 parts: 0.505 is 10 K in 20 s of lead
    pid.update(450.0, 450.0 - below_k, 1.0)
    assert pid.approaching is approaches
    assert pid.out_pct == 100.0 or not approaches


@pytest.mark.parametrize(("below_k", "approaches"), [(15.0, False), (15.01, True)])
def test_door_or_bread_of_fifteen_kelvin_is_an_approach_anew(below_k, approaches):
    pid = held(50.0)
    pid.filtered_c = 450.0 - below_k
    pid.update(450.0, 450.0 - below_k, 1.0)
    assert pid.approaching is approaches
    assert (pid.out_pct == 100.0) is approaches or pid.p_pct == pytest.approx(5.0 * below_k)


# --- the limit after a door ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("integral_pct", "setpoint_c", "late", "most_pct"),
    [
        (50.0, 300.0, False, 75.0),
        (20.0, 300.0, False, 32.0),
        (24.0, 200.0, False, 36.0),
        (30.0, 340.0, False, 65.0),
        (30.0, 340.0, True, 45.0),
        (50.0, 350.0, False, 100.0),
        (90.0, 300.0, True, 100.0),
    ],
)
def test_limit_after_a_door_is_half_as_much_again_and_rises_above_300_degrees(integral_pct, setpoint_c, late, most_pct):
    pid = held(integral_pct)
    pid.calm_s, pid.late = 44.9, late
    assert pid._limit(setpoint_c) == pytest.approx(most_pct, **NEAR)
    pid.calm_s = 45.0
    assert pid._limit(setpoint_c) == 100.0
    pid.calm_s, pid.held = 0.0, False  # a first approach knows no limit
    assert pid._limit(setpoint_c) == 100.0


@pytest.mark.parametrize(("quick_k_s", "door"), [(-0.64, True), (-0.625, False), (0.64, False)])
@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("below_k", [5.0, 20.0])
def test_reading_that_falls_faster_than_half_a_kelvin_a_second_is_a_door(quick_k_s, door, late, below_k):
    pid = held(50.0, 300.0)
    pid.calm_s, pid.quick_k_s, pid.late = 30.0, quick_k_s, late  # a standing reading leaves four fifths of the rate
    pid.filtered_c = 300.0 - below_k
    pid.update(300.0, 300.0 - below_k, 1.0)
    # behind a delay the limit is not begun again by a reading that goes on falling: full output must come in time
    begins = door and not (late and below_k == 20.0)
    assert pid.calm_s == (0.0 if begins else 31.0)


def test_time_since_a_door_is_counted_to_45_seconds():
    pid = held(50.0, 300.0)
    pid.calm_s = 44.5
    pid.update(300.0, 300.0, 1.0)
    assert pid.calm_s == 45.0


# --- near the setpoint --------------------------------------------------------------------------


def test_output_is_the_sum_of_three_parts_and_the_integral_moves_by_deviation_and_time():
    pid = held(50.0)
    pid.filtered_c, pid.rate_k_s = 447.0, 0.1
    out_pct = pid.update(450.0, 447.0, 1.0)
    assert pid.p_pct == pytest.approx(15.0, **NEAR)
    assert pid.d_pct == pytest.approx(-5.0 * 25.0 * 0.08, **NEAR)  # a standing reading leaves four fifths of the rate
    assert out_pct == pid.out_pct == pytest.approx(50.0 + 15.0 - 10.0, **NEAR)
    assert pid.integral_pct == pytest.approx(50.0 + 5.0 * 3.0 / 260.0, **NEAR)  # for the next tick
    before = pid.integral_pct
    pid.update(450.0, 447.0, 0.5)
    assert pid.integral_pct - before == pytest.approx(5.0 * 3.0 * 0.5 / 260.0, **NEAR)


def test_what_the_stone_drinks_at_first_fades_with_500_seconds():
    pid = held(50.0)
    pid.extra_pct = 20.0
    pid.update(450.0, 450.0, 2.0)
    assert pid.extra_pct == pytest.approx(20.0 - 0.08, **NEAR)
    assert pid.integral_pct == pytest.approx(50.0 - 0.08, **NEAR)
    pid.update(450.0, 450.0, 2.0, False)
    assert pid.integral_pct == pytest.approx(50.0 - 0.08, **NEAR)


@pytest.mark.parametrize("integral_pct", [100.0, -1.0])
def test_what_fades_goes_on_fading_where_nothing_would_wind_up(integral_pct):
    pid = held(50.0, rise_k_s_pct=1e-9)
    pid.integral_pct, pid.extra_pct = integral_pct, 20.0
    pid.update(450.0, 450.0, 1.0)  # at the setpoint, with all or none of the output
    assert pid.integral_pct == pytest.approx(integral_pct - 0.04, **NEAR)


@pytest.mark.parametrize(("deviation_k", "moves"), [(24.9, True), (25.0, False), (-24.9, True), (-25.0, False)])
def test_integral_moves_within_25_kelvin_also_in_the_tick_that_ends_an_approach(deviation_k, moves):
    pid = held(50.0)
    pid.integral_pct = 50.0 - 5.0 * deviation_k
    before = pid.integral_pct
    pid._regulate(deviation_k, 100.0, 1.0, True)
    assert pid.integral_pct == pytest.approx(before + (5.0 * deviation_k / 260.0 if moves else 0.0), **NEAR)


@pytest.mark.parametrize(
    ("integral_pct", "below_k", "moves"),
    [
        (90.0, 2.0, False),  # asks for all there is
        (90.0, 1.9, True),
        (90.0, -2.0, True),
        (110.0, -1.0, True),  # more than all, and less wanted
        (10.0, -2.0, False),  # asks for nothing
        (10.0, -1.9, True),
        (10.0, 2.0, True),
        (-10.0, 1.0, True),  # less than nothing, and more wanted
        (0.0, 14.9, True),
        (100.0, -19.9, True),
        (150.0, -24.9, True),
        (150.0, -25.0, False),  # beyond 25 K
        (150.0, -25.1, False),
    ],
)
def test_integral_rests_where_it_would_wind_up(integral_pct, below_k, moves):
    pid = held(50.0, rise_k_s_pct=1e-9)
    pid.integral_pct = integral_pct
    pid.filtered_c = 450.0 - below_k
    pid.update(450.0, 450.0 - below_k, 1.0)
    if moves:
        assert pid.integral_pct == pytest.approx(integral_pct + 5.0 * below_k / 260.0, **NEAR)
    else:
        assert pid.integral_pct == integral_pct


def test_integral_does_not_wind_up_against_the_limit_after_a_door():
    pid = held(50.0, 300.0)
    pid.calm_s, pid.filtered_c = 0.0, 294.0
    assert pid.update(300.0, 294.0, 1.0) == 75.0
    assert pid.integral_pct == 50.0


@pytest.mark.parametrize(
    ("integral_pct", "out_pct"),
    [(-3.0, 0.0), (-0.5, 0.0), (0.0, 0.0), (0.5, 0.5), (40.0, 40.0), (100.0, 100.0), (130.0, 100.0)],
)
def test_output_stays_within_nought_and_all(integral_pct, out_pct):
    pid = held(50.0)
    pid.integral_pct = integral_pct
    assert pid.update(450.0, 450.0, 1.0) == out_pct


def test_approach_is_held_to_the_limit_as_well():
    pid = held(20.0, 300.0)
    pid.calm_s, pid.filtered_c = 0.0, 250.0
    assert pid.update(300.0, 250.0, 1.0) == 32.0
    assert pid.approaching
