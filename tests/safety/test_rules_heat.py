"""Slow rules about more or less heat than was asked for: runaway, a dead element, ripple (figures: limits.py)."""

import pytest
from safety_bench import TICK_MS, L, load


def rule(name, *values):
    return getattr(load("safety.oven_rules"), name)(*values)


# --- more heat than was asked for ------------------------------------------------------------------------


def settled(pv_mc, setpoint_mc, session=1):
    """A Runaway that has been at `pv_mc` in a session."""
    got = rule("Runaway")
    got.judge(pv_mc, setpoint_mc, 0, 1, TICK_MS)
    if session:
        got.judge(pv_mc, setpoint_mc, 1, 1, TICK_MS)
    got.calm_ms = L.UNDRIVEN_CALM_MS  # no door for long
    return got


@pytest.mark.parametrize(("above_mk", "over"), [(L.OVER_MK - 1, 0), (L.OVER_MK, 0), (L.OVER_MK + 1, 1)])
def test_reading_above_the_setpoint_is_told(above_mk, over):
    got = settled(450_000, 450_000)
    got.judge(450_000 + above_mk, 450_000, 1, 1, TICK_MS)
    assert got.over == over


def test_nothing_is_above_the_setpoint_outside_a_session():
    got = settled(300_000, 300_000)
    got.judge(400_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 1
    got.judge(400_000, 300_000, 0, 1, TICK_MS)
    assert (got.over, got.reference_mc) == (0, 400_000)
    got.judge(200_000, 300_000, 0, 1, TICK_MS)
    assert got.reference_mc == 300_000


def test_oven_that_cools_to_a_lowered_setpoint_is_not_accused():
    got = settled(450_000, 450_000)
    pv_mc = 450_000
    while pv_mc > 300_000:
        pv_mc -= 40  # 0.16 K/s
        got.judge(pv_mc, 300_000, 1, 1, TICK_MS)
        assert got.over == 0


def test_rise_while_cooling_to_a_lowered_setpoint_is_accused():
    got = settled(450_000, 450_000)
    for _ in range(40 * 60 * 4):  # the reference follows the slowly forgotten peak
        got.judge(350_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 0
    reference_mc = got.reference_mc
    assert 350_000 < reference_mc < 450_000
    got.judge(reference_mc + L.OVER_MK + 1_000, 300_000, 1, 1, TICK_MS)
    assert got.over == 1


def test_peak_is_forgotten_with_its_time_constant_and_not_below_its_floor():
    got = settled(450_000, 450_000)
    peak_mc = got.peak_mc
    got.judge(100_000, 450_000, 1, 1, TICK_MS)
    assert got.peak_mc == peak_mc - (peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    for value_mc in (L.PEAK_FLOOR_MC, L.PEAK_FLOOR_MC - 1, -200_000):
        assert got._forget(value_mc, 500) == value_mc
    assert got._forget(L.PEAK_FLOOR_MC + 100_000, 500) == L.PEAK_FLOOR_MC + 100_000 - 2
    got.judge(500_000, 450_000, 1, 1, TICK_MS)
    assert got.peak_mc == 500_000


def test_reference_forgets_and_never_stands_below_the_setpoint_nor_above_the_peak():
    got = settled(450_000, 450_000)
    got.judge(450_000, 300_000, 1, 1, TICK_MS)
    assert got.reference_mc == 450_000 - 410_000 * TICK_MS // L.PEAK_FORGET_MS
    got.peak_mc = 320_000
    got.judge(320_000, 300_000, 1, 1, TICK_MS)
    assert got.reference_mc == 320_000 - 280_000 * TICK_MS // L.PEAK_FORGET_MS
    got.judge(320_000, 400_000, 1, 1, TICK_MS)
    assert got.reference_mc == 400_000


@pytest.mark.parametrize(("below_mk", "calm"), [(L.CALM_MK - 1, True), (L.CALM_MK, True), (L.CALM_MK + 100, False)])
def test_calm_is_near_the_recent_peak(below_mk, calm):
    got = settled(300_000, 300_000)
    before_ms = got.calm_ms
    peak_mc = got.peak_mc - (got.peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    got.judge(peak_mc - below_mk, 300_000, 1, 1, TICK_MS)
    assert got.calm_ms == (before_ms + TICK_MS if calm else 0)


def undriven(ms, pv_mc=300_000, got=None):
    """No output for `ms` at a steady reading."""
    got = got or settled(pv_mc, pv_mc)
    for _ in range(ms // TICK_MS):
        got.judge(pv_mc, pv_mc, 1, 0, TICK_MS)
    return got


@pytest.mark.parametrize(("rise_mk", "rising"), [(L.UNDRIVEN_RISE_MK - 1, 0), (L.UNDRIVEN_RISE_MK, 1)])
def test_reading_that_rises_without_output_is_told_after_the_span(rise_mk, rising):
    got = undriven(L.UNDRIVEN_MS - TICK_MS)
    undriven(L.UNDRIVEN_SPAN_MS - TICK_MS, got=got)
    assert got.rising == 0
    got.judge(300_000 + rise_mk, 300_000, 1, 0, TICK_MS)
    assert got.rising == rising


def test_rise_is_not_told_before_the_reading_had_time_to_follow():
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS - TICK_MS)
    got.judge(310_000, 300_000, 1, 0, TICK_MS)
    assert got.rising == 0
    got.judge(310_000, 300_000, 1, 0, TICK_MS)
    assert got.rising == 1


def test_rise_is_forgotten_with_output_and_in_a_span_without_it():
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS)
    got.judge(310_000, 300_000, 1, 0, TICK_MS)
    assert (got.rising, got.span_ms, got.span_start_mc) == (1, 0, 310_000)
    undriven(L.UNDRIVEN_SPAN_MS - TICK_MS, 310_000, got)
    assert got.rising == 1
    undriven(TICK_MS, 310_000, got)
    assert got.rising == 0
    got.rising = 1
    got.judge(310_000, 300_000, 1, 1, TICK_MS)
    assert (got.rising, got.undriven_ms, got.span_ms) == (0, 0, 0)


@pytest.mark.parametrize(("short_mk", "rising"), [(L.UNDRIVEN_RISE_MK - 1, 1), (L.UNDRIVEN_RISE_MK, 0)])
def test_recovery_after_a_door_below_the_recent_peak_is_not_accused(short_mk, rising):
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS, 390_000, settled(400_000, 400_000))
    peak_mc = got.peak_mc - (got.peak_mc - L.PEAK_FLOOR_MC) * TICK_MS // L.PEAK_FORGET_MS
    got.calm_ms = L.UNDRIVEN_CALM_MS
    got.judge(peak_mc - short_mk, 400_000, 1, 0, TICK_MS)
    assert got.rising == rising


@pytest.mark.parametrize(("calm_ms", "rising"), [(L.UNDRIVEN_CALM_MS - 1, 0), (L.UNDRIVEN_CALM_MS, 1)])
def test_reading_that_comes_back_soon_after_a_door_is_not_accused(calm_ms, rising):
    got = undriven(L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS)
    got.calm_ms = calm_ms - TICK_MS
    got.judge(302_000, 300_000, 1, 0, TICK_MS)
    assert got.rising == rising


def test_new_runaway_accuses_nobody():
    got = rule("Runaway")
    assert (got.undriven_ms, got.span_ms, got.calm_ms, got.over, got.rising) == (0, 0, 0, 0, 0)
    assert got.peak_mc == L.READING_MIN_MC
    got.judge(20_000, 450_000, 1, 0, TICK_MS)
    assert (got.over, got.rising, got.peak_mc, got.reference_mc) == (0, 0, 20_000, 450_000)


# --- an element open -------------------------------------------------------------------------------------


def preheated(learned_ms, rise_ms, full=1, end_mc=L.WEAK_TO_MC, start_full=1):
    got = rule("WeakElement", learned_ms)
    got.judge(L.WEAK_FROM_MC - 1, start_full, TICK_MS)
    for n in range(1, rise_ms // TICK_MS + 1):
        got.judge(end_mc if n * TICK_MS == rise_ms else L.WEAK_FROM_MC, full, TICK_MS)
    return got


@pytest.mark.parametrize(("rise_ms", "weak"), [(159_750, 0), (160_000, 0), (160_250, 1)])
def test_preheat_much_slower_than_learned_warns(rise_ms, weak):
    got = preheated(100_000, rise_ms)
    assert (got.weak, got.rise_ms, got.timing) == (weak, rise_ms, 0)


def test_preheat_is_told_weak_before_it_ends():
    assert preheated(100_000, 160_250, end_mc=L.WEAK_TO_MC - 1).weak == 1


def test_preheat_time_counts_from_the_last_moment_below_100_c():
    got = rule("WeakElement", 100_000)
    got.judge(L.WEAK_FROM_MC, 1, TICK_MS)
    assert got.timing == 0 and got.rise_ms == 0  # found hot: nothing to measure
    got.judge(L.WEAK_FROM_MC - 1, 1, TICK_MS)
    got.judge(L.WEAK_FROM_MC, 1, TICK_MS)
    got.judge(L.WEAK_FROM_MC - 1, 1, TICK_MS)
    assert (got.timing, got.rise_ms) == (1, 0)


def test_preheat_without_full_output_measures_nothing():
    got = preheated(100_000, 200_000, full=0)
    assert (got.weak, got.timing, got.rise_ms) == (0, 0, 0)
    got = preheated(100_000, 200_000, start_full=0)
    assert (got.weak, got.rise_ms) == (0, 0)


def test_nothing_learned_warns_of_nothing_and_learns():
    got = preheated(0, 400_000)
    assert (got.weak, got.rise_ms) == (0, 400_000)
    assert preheated(1, 250).weak == 1  # the least that can be learned


def test_longest_learned_time_stays_an_integer_of_the_board():
    assert rule("WeakElement", 7_200_000).limit_ms == 11_520_000
    assert rule("WeakElement", 0).weak == rule("WeakElement", 0).rise_ms == 0


# --- ripple ----------------------------------------------------------------------------------------------


def rippled(swing_mk, half_ms, ms=L.RIPPLE_SPAN_MS, got=None):
    """A square ripple; the first turn is upwards."""
    got = got or rule("Ripple")
    got.judge(450_000, 0, TICK_MS)
    for n in range(ms // TICK_MS):
        up = n * TICK_MS // half_ms % 2 == 0
        got.judge(450_000 + (swing_mk if up else 0), 1, TICK_MS)
    return got


@pytest.mark.parametrize(("swing_mk", "near"), [(L.RIPPLE_MK - 1, 0), (L.RIPPLE_MK, 1), (L.RIPPLE_MK + 1, 1)])
def test_fast_swings_of_a_calm_reading_warn(swing_mk, near):
    assert rippled(swing_mk, 5_000).near == near


@pytest.mark.parametrize(("half_ms", "near"), [(10_000, 1), (14_000, 1), (15_000, 0)])
def test_swings_slower_than_the_relays_window_are_not_ripple(half_ms, near):
    assert rippled(6_000, half_ms).near == near


def test_swings_are_judged_once_a_span_and_forgotten_without_them():
    got = rippled(6_000, 5_000, L.RIPPLE_SPAN_MS - TICK_MS)
    assert got.near == 0
    got.judge(450_000, 1, TICK_MS)
    assert (got.near, got.turns, got.span_ms) == (1, 0, 0)
    for _ in range(L.RIPPLE_SPAN_MS // TICK_MS):
        got.judge(450_000, 1, TICK_MS)
    assert got.near == 0


def test_a_turn_is_measured_from_the_extreme_reading():
    got = rule("Ripple")
    got.judge(450_000, 0, TICK_MS)
    for pv_mc, turns in (
        (449_000, 0), (452_999, 0), (453_000, 1), (455_000, 1), (454_000, 1), (451_001, 1), (451_000, 2),
        (447_000, 2), (450_999, 2), (451_000, 3),
    ):  # fmt: skip
        got.judge(pv_mc, 1, TICK_MS)
        assert got.turns == turns, pv_mc


def test_door_or_bread_starts_the_count_anew():
    got = rippled(6_000, 5_000, L.RIPPLE_SPAN_MS // 2)
    got.judge(440_000, 0, TICK_MS)
    assert (got.turns, got.span_ms, got.extreme_mc) == (0, 0, 440_000)
    assert (rule("Ripple").near, rule("Ripple").span_ms, rule("Ripple").turns, rule("Ripple").going_up) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("setpoint_mc", "above_mk", "over"),
    [
        (L.OVER_FROM_MC, L.OVER_MK, 0), (L.OVER_FROM_MC, L.OVER_MK + 1, 1),
        (L.OVER_FROM_MC - 10, L.OVER_MK + 1, 0), (L.OVER_FROM_MC - 10, L.OVER_MK + 2, 1),
        (260_000, 29_000, 0), (260_000, 29_001, 1), (170_000, L.OVER_LOW_MK, 0), (170_000, L.OVER_LOW_MK + 1, 1),
        (60_000, L.OVER_LOW_MK, 0), (60_000, L.OVER_LOW_MK + 1, 1),
    ],
)  # fmt: skip
def test_low_setpoint_is_allowed_more_overshoot(setpoint_mc, above_mk, over):
    got = settled(setpoint_mc, setpoint_mc)
    got.judge(setpoint_mc + above_mk, setpoint_mc, 1, 1, TICK_MS)
    assert got.over == over


@pytest.mark.parametrize(("pv_mc", "after_ms"), [(L.UNDRIVEN_SOON_MC, L.UNDRIVEN_MS),
                                                   (L.UNDRIVEN_SOON_MC - 20_000, L.UNDRIVEN_COLD_MS)])  # fmt: skip
def test_rise_without_output_is_accused_later_in_a_moderate_oven(pv_mc, after_ms):
    got = settled(pv_mc, 450_000)
    ticks = 0
    while not got.rising and ticks < 2_000:
        ticks += 1
        got.judge(pv_mc + 10 * ticks, 450_000, 1, 0, TICK_MS)
    assert ticks * TICK_MS == after_ms - TICK_MS + L.UNDRIVEN_SPAN_MS


@pytest.mark.parametrize(
    ("pv_mc", "rising"), [(L.UNDRIVEN_FROM_MC - 1, 0), (L.UNDRIVEN_FROM_MC, 1), (L.UNDRIVEN_FROM_MC + 1, 1)]
)
def test_rise_without_output_is_accused_only_from_where_no_hand_or_noise_makes_it(pv_mc, rising):
    got = settled(pv_mc - L.UNDRIVEN_RISE_MK, 450_000)
    got.undriven_ms = L.UNDRIVEN_COLD_MS
    got.span_ms, got.span_start_mc = L.UNDRIVEN_SPAN_MS - TICK_MS, pv_mc - L.UNDRIVEN_RISE_MK
    got.judge(pv_mc, 450_000, 0, 0, TICK_MS)
    assert got.rising == rising


def test_accusation_ends_where_the_oven_has_become_cold():
    got = settled(60_000, 450_000)
    got.undriven_ms, got.rising = L.UNDRIVEN_COLD_MS, 1
    got.judge(L.UNDRIVEN_FROM_MC - 1, 450_000, 0, 0, TICK_MS)
    assert (got.rising, got.span_ms) == (0, 0)


def test_span_of_a_rise_starts_from_nought_each_time():
    got = settled(300_000, 300_000)
    got.span_ms = 5_000
    got.judge(300_000, 300_000, 1, 0, TICK_MS)
    assert (got.undriven_ms, got.span_ms, got.span_start_mc) == (TICK_MS, 0, 300_000)
    got.undriven_ms, got.span_ms = L.UNDRIVEN_MS, L.UNDRIVEN_SPAN_MS - TICK_MS
    got.judge(301_500, 300_000, 1, 0, TICK_MS)
    assert (got.span_ms, got.span_start_mc) == (0, 301_500)


@pytest.mark.parametrize(
    ("pv_mc", "counts"), [(L.UNDRIVEN_SOON_MC - 1, 0), (L.UNDRIVEN_SOON_MC, 1), (L.UNDRIVEN_SOON_MC + 1, 1)]
)
def test_cold_oven_is_given_longer_for_its_elements_to_cool(pv_mc, counts):
    got = settled(pv_mc, pv_mc)
    got.undriven_ms = L.UNDRIVEN_MS
    got.judge(pv_mc, pv_mc, 1, 0, TICK_MS)
    assert got.span_ms == TICK_MS * counts
    got.undriven_ms = L.UNDRIVEN_COLD_MS - TICK_MS
    got.judge(pv_mc, pv_mc, 1, 0, TICK_MS)
    assert got.span_ms == TICK_MS * (counts + 1)


def test_a_turn_begins_a_new_extreme_and_the_other_direction():
    got = rule("Ripple")
    got.judge(450_000, 0, TICK_MS)
    for pv_mc, way in ((450_000 + L.RIPPLE_MK, 1), (450_000, 0), (450_000 + L.RIPPLE_MK, 1)):
        got.judge(pv_mc, 1, TICK_MS)
        assert (got.going_up, got.extreme_mc) == (way, pv_mc)
