"""Slow rules, each just below, at and just above its figure. Figures come from limits.py, so that tuning them there
needs no change here; which figures serve is the campaign's question, not this one's."""

import pytest
from safety_bench import CAP_MS, TICK_MS, L, load


def rule(name, *values):
    return getattr(load("safety.oven_rules"), name)(*values)


@pytest.mark.parametrize(
    ("age_ms", "dt_ms", "sum_ms"),
    [(0, 250, 250), (CAP_MS - 251, 250, CAP_MS - 1), (CAP_MS - 250, 250, CAP_MS), (CAP_MS, 500, CAP_MS)],
)
def test_age_counter_saturates_far_below_the_integer_limit(age_ms, dt_ms, sum_ms):
    assert load("integers").aged(age_ms, dt_ms) == sum_ms


# --- no rise, reversed ---------------------------------------------------------------------------------


def heated(start_mc, end_mc, ms=L.NO_RISE_MS, no_rise=None):
    """A straight line of readings under full output, `ms` long."""
    got = no_rise or rule("NoRise")
    ticks = ms // TICK_MS
    for n in range(1, ticks + 1):
        judged(got, start_mc + (end_mc - start_mc) * (n - 1) // max(1, ticks - 1))
    return got


def judged(got, pv_mc, full=1, dt_ms=TICK_MS, first_mc=20_000, high_mc=200_000):
    """One tick of NoRise in an evening that has been warm."""
    got.judge(pv_mc, full, dt_ms, first_mc, high_mc)


@pytest.mark.parametrize(
    ("start_mc", "rise_mk", "trips"),
    [
        (20_000, L.NO_RISE_MK - 1, 1), (20_000, L.NO_RISE_MK, 0), (20_000, L.NO_RISE_MK + 1, 0),
        (L.COLD_MC - 1, 0, 1), (L.COLD_MC, 0, 0), (L.COLD_MC + 1, 0, 0),
    ],
)  # fmt: skip
def test_cold_oven_at_full_output_must_rise(start_mc, rise_mk, trips):
    assert heated(start_mc, start_mc + rise_mk).no_rise == trips


def test_no_rise_needs_the_whole_time():
    got = heated(20_000, 20_000, L.NO_RISE_MS - TICK_MS)
    assert got.no_rise == 0
    judged(got, 20_000)
    assert got.no_rise == 1


def test_no_rise_is_forgotten_and_counted_anew_when_the_output_is_not_full():
    got = heated(20_000, 20_000)
    judged(got, 20_000, 0)
    assert (got.no_rise, got.reversed) == (0, 0)
    heated(20_000, 20_000, L.NO_RISE_MS - TICK_MS, got)
    assert got.no_rise == 0


def test_no_rise_is_judged_window_by_window():
    got = heated(20_000, 20_000 + L.NO_RISE_MK)
    assert got.no_rise == 0
    end_mc = 20_000 + L.NO_RISE_MK
    heated(end_mc, end_mc, no_rise=got)
    assert got.no_rise == 1


@pytest.mark.parametrize(("drop_mk", "trips"), [(L.NO_RISE_DROP_MK, 1), (L.NO_RISE_DROP_MK + 1, 0)])
def test_a_door_that_makes_the_reading_fall_opens_the_window_anew(drop_mk, trips):
    got = rule("NoRise")
    judged(got, 100_000)
    for _ in range(L.NO_RISE_MS // TICK_MS - 1):
        judged(got, 100_000 - drop_mk)
    assert got.no_rise == trips


def test_a_door_in_the_last_moment_of_the_window_accuses_nobody():
    got = heated(100_000, 100_000, L.NO_RISE_MS - TICK_MS)
    judged(got, 100_000 - L.NO_RISE_DROP_MK - 1)
    assert (got.no_rise, got.window_ms) == (0, 0)


def test_the_fall_is_measured_from_the_highest_reading_of_the_window():
    got = rule("NoRise")
    judged(got, 100_000)
    judged(got, 104_000)
    for _ in range(L.NO_RISE_MS // TICK_MS - 2):
        judged(got, 104_000 - L.NO_RISE_DROP_MK - 1)
    assert got.no_rise == 0
    judged(got, 98_999, dt_ms=3 * TICK_MS)
    assert got.no_rise == 1


@pytest.mark.parametrize(
    ("first_mc", "rose_mk", "fall_mk", "is_reversed"),
    [
        (L.REVERSED_START_MC - 1, 0, L.REVERSED_MK + 1, 1),
        (L.REVERSED_START_MC - 1, 0, L.REVERSED_MK, 0),
        (L.REVERSED_START_MC, 0, L.REVERSED_MK + 1, 0),
        (20_000, L.REVERSED_ROSE_MK - 1, L.REVERSED_MK + 1, 1),
        (20_000, L.REVERSED_ROSE_MK, L.REVERSED_MK + 1, 0),
    ],
)
def test_reading_that_never_rose_and_falls_at_full_output_is_reversed(first_mc, rose_mk, fall_mk, is_reversed):
    got = rule("NoRise")
    judged(got, first_mc, first_mc=first_mc, high_mc=first_mc)
    judged(got, first_mc - fall_mk, first_mc=first_mc, high_mc=first_mc + rose_mk)
    assert got.reversed == is_reversed
    judged(got, first_mc, first_mc=first_mc, high_mc=first_mc + rose_mk)
    assert got.reversed == 0


def test_new_no_rise_accuses_nobody():
    got = rule("NoRise")
    assert (got.full_ms, got.window_ms, got.no_rise, got.reversed) == (0, 0, 0, 0)


# --- the reading fell ------------------------------------------------------------------------------------

SETPOINT_MC = 450_000


def fallen(pv_mc, high_mc=SETPOINT_MC, setpoint_mc=SETPOINT_MC, ms=L.FELL_MS, full=1, got=None):
    """The reading has been at `high_mc` and lies at `pv_mc` for `ms`, the output at full or at half."""
    out_pm = L.FULL_PM if full else L.FULL_PM - 1
    if got is None:
        got = rule("Fell")
        got.judge(high_mc, setpoint_mc, 0, 0, TICK_MS)
        got.judge(high_mc, setpoint_mc, 1, out_pm, TICK_MS)
    for _ in range(ms // TICK_MS):
        got.judge(pv_mc, setpoint_mc, 1, out_pm, TICK_MS)
    return got


@pytest.mark.parametrize(("below_mk", "trips"), [(L.FELL_MK - 1, 0), (L.FELL_MK, 0), (L.FELL_MK + 1, 1)])
def test_reading_far_below_the_setpoint_that_stays_trips(below_mk, trips):
    assert fallen(SETPOINT_MC - below_mk).fell == trips


@pytest.mark.parametrize(("below_mk", "trips"), [(L.FELL_MK, 0), (L.FELL_MK + 1, 1)])
def test_reference_is_the_session_maximum_while_preheating(below_mk, trips):
    assert fallen(300_000 - below_mk, high_mc=300_000).fell == trips


@pytest.mark.parametrize(("below_mk", "trips"), [(L.FELL_MK, 0), (L.FELL_MK + 1, 1)])
def test_reference_is_the_setpoint_once_it_was_lowered(below_mk, trips):
    assert fallen(300_000 - below_mk, high_mc=450_000, setpoint_mc=300_000).fell == trips


def test_fallen_reading_needs_the_whole_time_under_full_output():
    got = fallen(200_000, ms=L.FELL_MS - TICK_MS)
    assert got.fell == 0
    got.judge(200_000, SETPOINT_MC, 1, 0, TICK_MS)
    assert got.fell == 0
    got.judge(200_000, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert got.fell == 1
    assert fallen(200_000, full=0, ms=4 * L.FELL_MS).fell == 0


@pytest.mark.parametrize(("step_mk", "trips"), [(L.FELL_PROGRESS_MK - 1, 1), (L.FELL_PROGRESS_MK, 0)])
def test_reading_that_climbs_again_is_a_door_and_not_a_fallen_probe(step_mk, trips):
    got = fallen(200_000, ms=L.FELL_MS - TICK_MS)
    got.judge(200_000 + step_mk, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert got.fell == trips


def test_progress_is_measured_from_the_lowest_reading():
    got = fallen(200_000, ms=TICK_MS)
    fallen(190_000, ms=L.FELL_MS - 2 * TICK_MS, got=got)
    got.judge(190_000 + L.FELL_PROGRESS_MK, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert (got.fell, got.stall_ms) == (0, TICK_MS)


def test_fallen_stays_until_the_session_ends():
    got = fallen(200_000)
    got.judge(SETPOINT_MC, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert (got.fell, got.stall_ms) == (1, 0)
    got.judge(150_000, SETPOINT_MC, 0, 0, TICK_MS)
    assert (got.fell, got.stall_ms, got.high_mc) == (0, 0, 150_000)


def test_new_fell_accuses_nobody():
    got = rule("Fell")
    got.judge(20_000, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert (got.fell, got.stall_ms, got.high_mc, got.progress_mc) == (0, 0, 20_000, 20_000)


# --- unsteady readings -----------------------------------------------------------------------------------


def unsteady(pattern):
    """Ticks: 1 usable, 0 not."""
    got = rule("Unsteady")
    for usable in pattern:
        got.judge(usable, TICK_MS)
    return got


def test_unusable_readings_are_unsteady_at_the_third_in_a_row():
    assert unsteady([0, 0]).unsteady == 0
    assert unsteady([0, 0, 0]).unsteady == 1
    got = unsteady([0] * 50)
    assert (got.level_ms, got.unsteady) == (L.UNSTEADY_MS, 1)
    got.judge(1, TICK_MS)
    assert (got.level_ms, got.unsteady) == (L.UNSTEADY_MS - TICK_MS, 0)


def test_a_bad_reading_is_forgiven_by_as_many_good_ones_as_it_weighs():
    assert unsteady([0] + [1] * (L.UNSTEADY_WEIGHT - 1)).level_ms == TICK_MS
    assert unsteady([0] + [1] * L.UNSTEADY_WEIGHT).level_ms == 0
    assert unsteady([1] * 10).level_ms == 0
    got = unsteady([0])
    got.judge(1, L.UNSTEADY_WEIGHT * TICK_MS + 1)
    assert (got.level_ms, got.unsteady) == (0, 0)
    assert (rule("Unsteady").level_ms, rule("Unsteady").unsteady) == (0, 0)


# --- the reading falls on after a rest ------------------------------------------------------------------


def rested(rest_ms):
    """Far below the setpoint without output for `rest_ms`, then at full output for a stall's whole time."""
    got = fallen(200_000, ms=0)
    for _ in range(rest_ms // TICK_MS):
        got.judge(200_000, SETPOINT_MC, 1, 0, TICK_MS)
    assert got.rest_ms == rest_ms
    return fallen(200_000, got=got)


def test_stall_counts_from_later_after_a_rest_without_output():
    assert rested(L.FELL_REST_MS - TICK_MS).fell == 1
    got = rested(L.FELL_REST_MS)
    assert (got.fell, got.rest_ms, got.wake_ms, got.stall_ms) == (0, 0, 0, L.FELL_MS - L.FELL_WAKE_MS + TICK_MS)
    assert fallen(200_000, ms=L.FELL_WAKE_MS - 2 * TICK_MS, got=got).fell == 0
    assert fallen(200_000, ms=TICK_MS, got=got).fell == 1


def test_elements_wake_at_full_output_only():
    got = fallen(200_000, ms=0)
    for _ in range(L.FELL_REST_MS // TICK_MS):
        got.judge(200_000, SETPOINT_MC, 1, 0, TICK_MS)
    fallen(200_000, full=0, got=got)
    assert (got.wake_ms, got.rest_ms, got.stall_ms) == (L.FELL_WAKE_MS, 0, 0)
    got.judge(200_000, SETPOINT_MC, 1, L.FULL_PM, L.FELL_WAKE_MS - 1)
    assert (got.wake_ms, got.stall_ms) == (1, 0)
    got.judge(200_000, SETPOINT_MC, 1, L.FULL_PM, 1)
    assert (got.wake_ms, got.stall_ms) == (0, 1)
    got.judge(200_000, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert (got.wake_ms, got.stall_ms) == (0, TICK_MS + 1)


def test_end_of_the_session_forgets_rest_and_waking():
    got = rule("Fell")
    got.rest_ms = got.wake_ms = 7
    got.judge(30_000, SETPOINT_MC, 0, 0, TICK_MS)
    assert (got.rest_ms, got.wake_ms, got.first_mc, got.high_mc) == (0, 0, 30_000, 30_000)


def test_new_rules_know_nothing():
    nothing = {
        "Unsteady": {"level_ms": 0, "unsteady": 0},
        "NoRise": dict.fromkeys(
            ("full_ms", "window_ms", "window_start_mc", "window_high_mc", "no_rise", "reversed"), 0
        ),
        "Fell": {
            "first_mc": L.READING_MIN_MC, "high_mc": L.READING_MIN_MC, "progress_mc": 0, "rest_ms": 0, "wake_ms": 0,
            "stall_ms": 0, "fell": 0,
        },
        "Ripple": {"span_ms": 0, "turns": 0, "going_up": 0, "extreme_mc": 0, "near": 0},
        "Runaway": {
            "peak_mc": L.READING_MIN_MC, "reference_mc": 0, "undriven_ms": 0, "span_ms": 0, "span_start_mc": 0,
            "calm_ms": 0, "over": 0, "rising": 0,
        },
    }  # fmt: skip
    for name, values in nothing.items():
        assert vars(rule(name)) == values


def test_window_is_opened_at_nought():
    got = rule("NoRise")
    got.window_ms = 77
    got._open_window(123)
    assert (got.window_ms, got.window_start_mc, got.window_high_mc) == (0, 123, 123)


def test_reversed_is_forgotten_when_the_output_is_not_full():
    got = rule("NoRise")
    got.reversed = 1
    judged(got, 20_000, 0)
    assert got.reversed == 0


def test_progress_once_made_is_no_progress_for_ever():
    got = fallen(200_000, ms=TICK_MS)
    fallen(200_000 + L.FELL_PROGRESS_MK, ms=L.FELL_MS - TICK_MS, got=got)
    assert got.fell == 0
    got.judge(200_000 + L.FELL_PROGRESS_MK, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)
    assert got.fell == 1


def test_progress_may_be_made_in_small_steps():
    got = fallen(200_000, ms=TICK_MS)
    for n in range(2 * L.FELL_MS // TICK_MS):
        got.judge(200_000 + 10 * n, SETPOINT_MC, 1, L.FULL_PM, TICK_MS)  # 0.04 K/s
        assert got.fell == 0


def test_reading_near_its_reference_stalls_for_no_time():
    got = fallen(SETPOINT_MC - L.FELL_MK, ms=TICK_MS)
    assert (got.stall_ms, got.progress_mc) == (0, SETPOINT_MC - L.FELL_MK)
    got = fallen(200_000, ms=TICK_MS)
    got.judge(200_000, SETPOINT_MC, 0, 0, TICK_MS)
    assert got.stall_ms == 0


@pytest.mark.parametrize(("dip_mc", "ms"), [(0, L.FELL_MS), (2_000, L.FELL_MS)])
def test_fell_a_reading_that_comes_back_to_its_reference_begins_the_stall_anew(dip_mc, ms):
    fell = load("safety.oven_rules").Fell()
    fell.judge(450_000, 450_000, 0, 0, TICK_MS)

    def stall(for_ms, pv_mc=300_000):
        for n in range(for_ms // TICK_MS):
            fell.judge(pv_mc, 450_000, 1, 1000, TICK_MS)
            if fell.fell:
                return (n + 1) * TICK_MS
        return None

    assert stall(60_000) is None
    fell.judge(350_000 + dip_mc, 450_000, 1, 1000, TICK_MS)  # within 100 K: as near as it has to be
    assert (fell.stall_ms, fell.fell) == (0, 0)
    assert fell.progress_mc == 350_000 + dip_mc
    # it falls again: from here on every kelvin of progress counts from the new low, and the time from nought
    assert stall(2 * L.FELL_MS) == ms
