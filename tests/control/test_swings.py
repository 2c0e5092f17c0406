"""The watch over the relay's swings, on swings that are written by hand."""

import math

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.swings")


def half(watch, heats, seconds, low_c=145.0, high_c=155.0, on_pct=100.0):
    """One half of a swing after a turn: True if anything was odd, in it or at the turn."""
    odd = watch.turned(heats, on_pct)
    odd = watch.add(low_c if heats else high_c, 0.0) or odd
    return watch.add(high_c if heats else low_c, seconds) or odd


def swings(watch, *times, **more):
    """Whole swings of (heated, rested) seconds and the turn after them: True if anything was odd."""
    odd = False
    for on_s, off_s in times:
        odd = half(watch, True, on_s, **more) or odd
        odd = half(watch, False, off_s, **more) or odd
    return watch.turned(True, more.get("on_pct", 100.0)) or odd


def begun(rough=0):
    watch = module.Swings()
    watch.begin(rough)
    watch.turned(False, 100.0)
    return watch


CALM = [(50.0, 100.0)] * 3


def test_oven_that_warms_through_is_left_alone():
    watch = begun()
    assert not swings(watch, (60, 60), (50, 75), (42, 90), (38, 100), (36, 108), (35, 112))


@pytest.mark.parametrize(("rough", "most", "least"), [(0, 1.15, 0.92), (1, 1.26, 0.76)])
def test_half_unlike_the_two_before_it_is_odd(rough, most, least):
    for on_s, odd in ((50.0 * most - 0.1, False), (50.0 * most + 0.1, True)):
        assert swings(begun(rough), *CALM, (on_s, 100.0)) is odd
    for off_s, odd in ((100.0 * least + 0.1, False), (100.0 * least - 0.1, True)):
        assert swings(begun(rough), *CALM, (50.0, off_s)) is odd


def test_longer_heat_is_odd_while_it_lasts():
    watch = begun()
    swings(watch, *CALM)
    assert not watch.add(150.0, 57.4)
    assert watch.add(150.0, 0.2)


def test_rest_may_last_and_heat_be_short():
    assert not swings(begun(), *CALM, (20.0, 100.0), (20.0, 400.0))


def test_each_half_is_held_against_the_mean_of_two_and_the_second_against_the_first():
    assert not swings(begun(), (40.0, 100.0), (45.9, 92.1))  # against 40 and 100
    assert swings(begun(), (40.0, 100.0), (46.1, 100.0))
    assert swings(begun(), (40.0, 100.0), (40.0, 91.9))
    assert not swings(begun(), (60.0, 100.0), (40.0, 120.0), (57.4, 101.3))  # against 50 and 110
    assert swings(begun(), (60.0, 100.0), (40.0, 120.0), (57.6, 120.0))
    assert swings(begun(), (60.0, 100.0), (40.0, 120.0), (50.0, 101.1))
    # the one before those two no longer counts
    assert swings(begun(), (90.0, 50.0), (60.0, 100.0), (40.0, 120.0), (57.6, 120.0))


def test_half_that_nobody_saw_begin_counts_for_nothing():
    watch = module.Swings()
    watch.begin(0)
    assert not watch.add(150.0, 1000.0)
    assert not watch.turned(False, 100.0)
    assert not watch.add(150.0, 1000.0)
    assert not swings(watch, *CALM)


def test_begin_forgets_the_swings_before_it():
    watch = begun()
    swings(watch, *CALM)
    watch.begin(1)
    assert not watch.add(150.0, 1000.0)
    watch.turned(False, 40.0)
    assert not swings(watch, (80.0, 40.0), (80.0, 40.0))


def achieved(on_s, off_s, span_k=10.0, on_pct=100.0):
    """By hand: rise and fall of the reading by their times, by the output and the root of the swing's time."""
    return span_k * (1 / on_s + 1 / off_s) / on_pct / math.sqrt(on_s + off_s)


@pytest.mark.parametrize(("rough", "least"), [(0, 0.87), (1, 0.82)])
def test_heat_that_achieves_less_in_two_swings_than_before_is_odd(rough, least):
    for share, odd in ((least + 0.002, False), (least - 0.002, True)):
        watch = begun(rough)
        swings(watch, *CALM, (50.0, 100.0))
        seen = [half_swing(watch, 10.0 * share) for _ in range(2)]
        assert seen == [False, odd]


def half_swing(watch, span_k):
    """A whole swing of 50 and 100 s with this span of the reading; begins and ends with the turn to heat."""
    odd = False
    for heats, seconds in ((True, 50.0), (False, 100.0)):
        if not heats:
            odd = watch.turned(False, 100.0) or odd
        odd = watch.add(150.0, 0.0) or odd
        odd = watch.add(150.0 + span_k, seconds) or odd
    return watch.turned(True, 100.0) or odd


def test_what_two_levels_achieve_is_compared_without_each_ones_first_swing():
    watch = begun()
    swings(watch, (30.0, 30.0), (50.0, 100.0), (48.0, 104.0))
    assert not watch.over() and watch.weaker == 1.0
    watch.begin(0)
    watch.turned(False, 100.0)
    swings(watch, (90.0, 20.0), (60.0, 90.0), high_c=154.0)
    first = math.log(achieved(50.0, 100.0)), math.log(achieved(48.0, 104.0))
    then = math.log(achieved(60.0, 90.0, span_k=9.0))
    expected = math.exp(then - sum(first) / 2)
    assert watch.over() is (expected < 0.87)
    assert watch.weaker == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("share", "weaker"), [(0.872, False), (0.868, True), (1.3, False)])
def test_weaker_heat_at_the_second_level_is_told(share, weaker):
    watch = begun()
    swings(watch, *CALM)
    watch.over()
    watch.turned(False, 100.0)
    swings(watch, *CALM, high_c=145.0 + 10.0 * share)
    assert watch.over() is weaker
    assert watch.weaker == pytest.approx(share, rel=1e-6)


def test_output_of_less_than_all_counts_in_what_the_heat_achieves():
    watch = begun()
    swings(watch, *CALM)
    watch.over()
    watch.begin(1)
    watch.turned(False, 40.0)
    swings(watch, *CALM, high_c=149.0, on_pct=40.0)
    assert not watch.over() and watch.weaker == pytest.approx(1.0, rel=1e-6)


def test_level_without_a_second_swing_is_compared_with_nothing():
    watch = begun()
    swings(watch, *CALM)
    watch.over()
    watch.begin(0)
    watch.turned(False, 100.0)
    swings(watch, (50.0, 100.0), high_c=146.0)
    assert not watch.over() and watch.weaker == 1.0


def test_reading_that_does_not_move_is_no_error():
    watch = begun()
    swings(watch, *CALM, high_c=145.0)
    watch.over()
    assert watch.weaker == 1.0


def test_fading_is_held_against_both_levels_and_all_their_swings_but_the_last_two():
    watch = begun()
    swings(watch, *CALM)
    watch.over()
    watch.turned(False, 100.0)
    half(watch, True, 50.0)
    half(watch, False, 100.0)
    watch.turned(True, 100.0)
    assert not half_swing(watch, 8.0)  # one alone is not judged
    assert half_swing(watch, 8.0)
