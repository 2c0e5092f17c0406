"""Slow rules, each just below, at and just above its figure. Figures come from limits.py, so that tuning them there
needs no change here; which figures serve is the campaign's question, not this one's."""

import pytest
from safety_bench import TICK_MS, L, load


def rule(name, *values):
    return getattr(load("rules"), name)(*values)


@pytest.mark.parametrize(
    ("age_ms", "dt_ms", "sum_ms"),
    [(0, 250, 250), (L.CAP_MS - 251, 250, L.CAP_MS - 1), (L.CAP_MS - 250, 250, L.CAP_MS), (L.CAP_MS, 500, L.CAP_MS)],
)
def test_age_counter_saturates_far_below_the_integer_limit(age_ms, dt_ms, sum_ms):
    assert load("rules").aged(age_ms, dt_ms) == sum_ms


# --- no rise, reversed ---------------------------------------------------------------------------------


def heated(start_mc, end_mc, ms=L.NO_RISE_MS, no_rise=None):
    """A straight line of readings under full output, `ms` long."""
    got = no_rise or rule("NoRise")
    ticks = ms // TICK_MS
    for n in range(1, ticks + 1):
        got.look(start_mc + (end_mc - start_mc) * (n - 1) // max(1, ticks - 1), 1, TICK_MS)
    return got


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
    got.look(20_000, 1, TICK_MS)
    assert got.no_rise == 1


def test_no_rise_is_forgotten_and_counted_anew_when_the_output_is_not_full():
    got = heated(20_000, 20_000)
    got.look(20_000, 0, TICK_MS)
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
    got.look(100_000, 1, TICK_MS)
    for _ in range(L.NO_RISE_MS // TICK_MS - 1):
        got.look(100_000 - drop_mk, 1, TICK_MS)
    assert got.no_rise == trips


def test_the_fall_is_measured_from_the_highest_reading_of_the_window():
    got = rule("NoRise")
    got.look(100_000, 1, TICK_MS)
    got.look(104_000, 1, TICK_MS)
    for _ in range(L.NO_RISE_MS // TICK_MS - 2):
        got.look(104_000 - L.NO_RISE_DROP_MK - 1, 1, TICK_MS)
    assert got.no_rise == 0
    got.look(98_999, 1, 3 * TICK_MS)
    assert got.no_rise == 1


@pytest.mark.parametrize(
    ("start_mc", "fall_mk", "is_reversed"),
    [
        (L.REVERSED_START_MC - 1, L.REVERSED_MK + 1, 1),
        (L.REVERSED_START_MC - 1, L.REVERSED_MK, 0),
        (L.REVERSED_START_MC, L.REVERSED_MK + 1, 0),
    ],
)
def test_reading_that_falls_under_full_output_is_a_reversed_couple(start_mc, fall_mk, is_reversed):
    got = rule("NoRise")
    got.look(start_mc, 1, TICK_MS)
    got.look(start_mc - fall_mk, 1, TICK_MS)
    assert got.reversed == is_reversed
    got.look(start_mc, 1, TICK_MS)
    assert got.reversed == 0


def test_new_no_rise_accuses_nobody():
    got = rule("NoRise")
    assert (got.full_ms, got.window_ms, got.no_rise, got.reversed) == (0, 0, 0, 0)


# --- the reading fell ------------------------------------------------------------------------------------

SETPOINT_MC = 450_000


def fallen(pv_mc, high_mc=SETPOINT_MC, setpoint_mc=SETPOINT_MC, ms=L.FELL_MS, full=1, got=None):
    """The reading has been at `high_mc` and lies at `pv_mc` for `ms`."""
    if got is None:
        got = rule("Fell")
        got.look(high_mc, setpoint_mc, 0, 0, TICK_MS)
        got.look(high_mc, setpoint_mc, 1, full, TICK_MS)
    for _ in range(ms // TICK_MS):
        got.look(pv_mc, setpoint_mc, 1, full, TICK_MS)
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
    got.look(200_000, SETPOINT_MC, 1, 0, TICK_MS)
    assert got.fell == 0
    got.look(200_000, SETPOINT_MC, 1, 1, TICK_MS)
    assert got.fell == 1
    assert fallen(200_000, full=0, ms=4 * L.FELL_MS).fell == 0


@pytest.mark.parametrize(("step_mk", "trips"), [(L.FELL_PROGRESS_MK - 1, 1), (L.FELL_PROGRESS_MK, 0)])
def test_reading_that_climbs_again_is_a_door_and_not_a_fallen_probe(step_mk, trips):
    got = fallen(200_000, ms=L.FELL_MS - TICK_MS)
    got.look(200_000 + step_mk, SETPOINT_MC, 1, 1, TICK_MS)
    assert got.fell == trips


def test_progress_is_measured_from_the_lowest_reading():
    got = fallen(200_000, ms=TICK_MS)
    fallen(190_000, ms=L.FELL_MS - 2 * TICK_MS, got=got)
    got.look(190_000 + L.FELL_PROGRESS_MK, SETPOINT_MC, 1, 1, TICK_MS)
    assert (got.fell, got.stall_ms) == (0, TICK_MS)


def test_fallen_stays_until_the_session_ends():
    got = fallen(200_000)
    got.look(SETPOINT_MC, SETPOINT_MC, 1, 1, TICK_MS)
    assert (got.fell, got.stall_ms) == (1, 0)
    got.look(150_000, SETPOINT_MC, 0, 0, TICK_MS)
    assert (got.fell, got.stall_ms, got.high_mc) == (0, 0, 150_000)


def test_new_fell_accuses_nobody():
    got = rule("Fell")
    got.look(20_000, SETPOINT_MC, 1, 1, TICK_MS)
    assert (got.fell, got.stall_ms, got.high_mc, got.progress_mc) == (0, 0, 20_000, 20_000)


# --- more heat than was asked for ------------------------------------------------------------------------


def settled(pv_mc, setpoint_mc, session=1):
    """A Runaway that has been at `pv_mc` in a session."""
    got = rule("Runaway")
    got.look(pv_mc, setpoint_mc, 0, 1, TICK_MS)
    if session:
        got.look(pv_mc, setpoint_mc, 1, 1, TICK_MS)
    return got


@pytest.mark.parametrize(("above_mk", "over"), [(L.OVER_MK - 1, 0), (L.OVER_MK, 0), (L.OVER_MK + 1, 1)])
def test_reading_above_the_setpoint_is_told(above_mk, over):
    got = settled(300_000, 300_000)
    got.look(300_000 + above_mk, 300_000, 1, 1, TICK_MS)
    assert got.over == over


def test_nothing_is_above_the_setpoint_outside_a_session():
    got = settled(300_000, 300_000)
    got.look(400_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 1
    got.look(400_000, 300_000, 0, 1, TICK_MS)
    assert (got.over, got.reference_mc) == (0, 400_000)
    got.look(200_000, 300_000, 0, 1, TICK_MS)
    assert got.reference_mc == 300_000


def test_oven_that_cools_to_a_lowered_setpoint_is_not_accused():
    got = settled(450_000, 450_000)
    pv_mc = 450_000
    while pv_mc > 300_000:
        pv_mc -= 40  # 0.16 K/s
        got.look(pv_mc, 300_000, 1, 1, TICK_MS)
        assert got.over == 0


def test_rise_while_cooling_to_a_lowered_setpoint_is_accused():
    got = settled(450_000, 450_000)
    for _ in range(40 * 60 * 4):  # the reference follows the slowly forgotten peak
        got.look(350_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 0
    reference_mc = got.reference_mc
    assert 350_000 < reference_mc < 450_000
    got.look(reference_mc + L.OVER_MK + 1_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 1


def test_peak_is_forgotten_with_its_time_constant_and_not_below_its_floor():
    got = settled(450_000, 450_000)
    peak_mc = got.peak_mc
    got.look(100_000, 450_000, 1, 1, TICK_MS)
    assert got.peak_mc == peak_mc - (peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    for value_mc in (L.PEAK_FLOOR_MC, L.PEAK_FLOOR_MC - 1, -200_000):
        assert got._forget(value_mc, 500) == value_mc
    assert got._forget(L.PEAK_FLOOR_MC + 100_000, 500) == L.PEAK_FLOOR_MC + 100_000 - 2
    got.look(500_000, 450_000, 1, 1, TICK_MS)
    assert got.peak_mc == 500_000


def test_reference_forgets_and_never_stands_below_the_setpoint_nor_above_the_peak():
    got = settled(450_000, 450_000)
    got.look(450_000, 300_000, 1, 1, TICK_MS)
    assert got.reference_mc == 450_000 - 410_000 * TICK_MS // L.PEAK_FORGET_MS
    got.peak_mc = 320_000
    got.look(320_000, 300_000, 1, 1, TICK_MS)
    assert got.reference_mc == 320_000 - 280_000 * TICK_MS // L.PEAK_FORGET_MS
    got.look(320_000, 400_000, 1, 1, TICK_MS)
    assert got.reference_mc == 400_000


@pytest.mark.parametrize(("below_mk", "calm"), [(L.CALM_MK - 1, True), (L.CALM_MK, True), (L.CALM_MK + 100, False)])
def test_calm_is_near_the_recent_peak(below_mk, calm):
    got = settled(300_000, 300_000)
    before_ms = got.calm_ms
    peak_mc = got.peak_mc - (got.peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    got.look(peak_mc - below_mk, 300_000, 1, 1, TICK_MS)
    assert got.calm_ms == (before_ms + TICK_MS if calm else 0)


def undriven(ms, pv_mc=300_000, got=None):
    """No output for `ms` at a steady reading."""
    got = got or settled(pv_mc, pv_mc)
    for _ in range(ms // TICK_MS):
        got.look(pv_mc, pv_mc, 1, 0, TICK_MS)
    return got


@pytest.mark.parametrize(("rise_mk", "rising"), [(L.UNDRIVEN_RISE_MK - 1, 0), (L.UNDRIVEN_RISE_MK, 1)])
def test_reading_that_rises_without_output_is_told_after_the_span(rise_mk, rising):
    got = undriven(L.UNDRIVEN_MS - TICK_MS)
    undriven(L.UNDRIVEN_SPAN_MS - TICK_MS, got=got)
    assert got.rising == 0
    got.look(300_000 + rise_mk, 300_000, 1, 0, TICK_MS)
    assert got.rising == rising


def test_rise_is_not_told_before_the_reading_had_time_to_follow():
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS - TICK_MS)
    got.look(310_000, 300_000, 1, 0, TICK_MS)
    assert got.rising == 0
    got.look(310_000, 300_000, 1, 0, TICK_MS)
    assert got.rising == 1


def test_rise_is_forgotten_with_output_and_in_a_span_without_it():
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS)
    got.look(310_000, 300_000, 1, 0, TICK_MS)
    assert (got.rising, got.span_ms, got.span_start_mc) == (1, 0, 310_000)
    undriven(L.UNDRIVEN_SPAN_MS - TICK_MS, 310_000, got)
    assert got.rising == 1
    undriven(TICK_MS, 310_000, got)
    assert got.rising == 0
    got.rising = 1
    got.look(310_000, 300_000, 1, 1, TICK_MS)
    assert (got.rising, got.undriven_ms, got.span_ms) == (0, 0, 0)


@pytest.mark.parametrize(("short_mk", "rising"), [(L.UNDRIVEN_RISE_MK - 1, 1), (L.UNDRIVEN_RISE_MK, 0)])
def test_recovery_after_a_door_below_the_recent_peak_is_not_accused(short_mk, rising):
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS, 290_000, settled(300_000, 300_000))
    peak_mc = got.peak_mc - (got.peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    got.look(peak_mc - short_mk, 300_000, 1, 0, TICK_MS)
    assert got.rising == rising


def test_new_runaway_accuses_nobody():
    got = rule("Runaway")
    assert (got.undriven_ms, got.span_ms, got.calm_ms, got.over, got.rising) == (0, 0, 0, 0, 0)
    assert got.peak_mc == L.READING_MIN_MC
    got.look(20_000, 450_000, 1, 0, TICK_MS)
    assert (got.over, got.rising, got.peak_mc, got.reference_mc) == (0, 0, 20_000, 450_000)


# --- an element open -------------------------------------------------------------------------------------


def preheated(learned_ms, rise_ms, full=1, end_mc=L.WEAK_TO_MC, start_full=1):
    got = rule("WeakElement", learned_ms)
    got.look(L.WEAK_FROM_MC - 1, start_full, TICK_MS)
    for n in range(1, rise_ms // TICK_MS + 1):
        got.look(end_mc if n * TICK_MS == rise_ms else L.WEAK_FROM_MC, full, TICK_MS)
    return got


@pytest.mark.parametrize(("rise_ms", "weak"), [(159_750, 0), (160_000, 0), (160_250, 1)])
def test_preheat_much_slower_than_learned_warns(rise_ms, weak):
    got = preheated(100_000, rise_ms)
    assert (got.weak, got.last_ms, got.timing) == (weak, rise_ms, 0)


def test_preheat_is_told_weak_before_it_ends():
    assert preheated(100_000, 160_250, end_mc=L.WEAK_TO_MC - 1).weak == 1


def test_preheat_time_counts_from_the_last_moment_below_100_c():
    got = rule("WeakElement", 100_000)
    got.look(L.WEAK_FROM_MC, 1, TICK_MS)
    assert got.timing == 0 and got.rise_ms == 0  # found hot: nothing to measure
    got.look(L.WEAK_FROM_MC - 1, 1, TICK_MS)
    got.look(L.WEAK_FROM_MC, 1, TICK_MS)
    got.look(L.WEAK_FROM_MC - 1, 1, TICK_MS)
    assert (got.timing, got.rise_ms) == (1, 0)


def test_preheat_without_full_output_measures_nothing():
    got = preheated(100_000, 200_000, full=0)
    assert (got.weak, got.last_ms, got.timing, got.rise_ms) == (0, 0, 0, 0)
    got = preheated(100_000, 200_000, start_full=0)
    assert (got.weak, got.last_ms) == (0, 0)


def test_nothing_learned_warns_of_nothing_and_learns():
    got = preheated(0, 400_000)
    assert (got.weak, got.last_ms) == (0, 400_000)
    assert preheated(1, 250).weak == 1  # the least that can be learned


def test_longest_learned_time_stays_an_integer_of_the_board():
    assert rule("WeakElement", 7_200_000).limit_ms == 11_520_000
    assert rule("WeakElement", 0).weak == rule("WeakElement", 0).rise_ms == rule("WeakElement", 0).last_ms == 0


# --- ripple ----------------------------------------------------------------------------------------------


def rippled(swing_mk, half_ms, ms=L.RIPPLE_SPAN_MS, got=None):
    """A square ripple; the first turn is upwards."""
    got = got or rule("Ripple")
    got.look(450_000, 0, TICK_MS)
    for n in range(ms // TICK_MS):
        up = n * TICK_MS // half_ms % 2 == 0
        got.look(450_000 + (swing_mk if up else 0), 1, TICK_MS)
    return got


@pytest.mark.parametrize(("swing_mk", "near"), [(L.RIPPLE_MK - 1, 0), (L.RIPPLE_MK, 1), (L.RIPPLE_MK + 1, 1)])
def test_fast_swings_of_a_calm_reading_warn(swing_mk, near):
    assert rippled(swing_mk, 5_000).near == near


@pytest.mark.parametrize(("half_ms", "near"), [(10_000, 1), (12_000, 0)])
def test_swings_slower_than_the_relays_window_are_not_ripple(half_ms, near):
    assert rippled(6_000, half_ms).near == near


def test_swings_are_judged_once_a_span_and_forgotten_without_them():
    got = rippled(6_000, 5_000, L.RIPPLE_SPAN_MS - TICK_MS)
    assert got.near == 0
    got.look(450_000, 1, TICK_MS)
    assert (got.near, got.turns, got.span_ms) == (1, 0, 0)
    for _ in range(L.RIPPLE_SPAN_MS // TICK_MS):
        got.look(450_000, 1, TICK_MS)
    assert got.near == 0


def test_a_turn_is_measured_from_the_extreme_reading():
    got = rule("Ripple")
    got.look(450_000, 0, TICK_MS)
    for pv_mc, turns in (
        (449_000, 0), (452_999, 0), (453_000, 1), (455_000, 1), (454_000, 1), (451_001, 1), (451_000, 2),
        (447_000, 2), (450_999, 2), (451_000, 3),
    ):  # fmt: skip
        got.look(pv_mc, 1, TICK_MS)
        assert got.turns == turns, pv_mc


def test_door_or_bread_starts_the_count_anew():
    got = rippled(6_000, 5_000, L.RIPPLE_SPAN_MS // 2)
    got.look(440_000, 0, TICK_MS)
    assert (got.turns, got.span_ms, got.extreme_mc) == (0, 0, 440_000)
    assert (rule("Ripple").near, rule("Ripple").span_ms, rule("Ripple").turns, rule("Ripple").going_up) == (0, 0, 0, 0)
