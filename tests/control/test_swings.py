"""The watch over the relay's swings, on swings that are written by hand."""

import math

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.swings")
CALM = [(50.0, 100.0)] * 3


def half(watch, heats, seconds, span_k=10.0):
    """One half of a swing after its turn, of this span: was anything odd?"""
    ends_c = (145.0, 145.0 + span_k) if heats else (145.0 + span_k, 145.0)
    odd = watch.add(ends_c[0], 0.0, heats)
    return watch.add(ends_c[1], seconds, heats) or odd


def swings(watch, *times, span_k=10.0, on_pct=100.0):
    """Whole swings of (heated, rested) seconds, from the turn to heat to the turn to heat: was anything odd?"""
    odd = False
    for on_s, off_s in times:
        odd = half(watch, True, on_s, span_k) or odd
        odd = watch.turned(False, on_pct) or odd
        odd = half(watch, False, off_s, span_k) or odd
        odd = watch.turned(True, on_pct) or odd
    return odd


def begun(rough=0):
    """A watch at a level, the first heating half just begun."""
    watch = module.Swings()
    if rough:
        watch.begin(rough)
    watch.turned(True, 100.0)
    return watch


def next_level(watch, rough=0):
    watch.over()
    watch.begin(rough)
    watch.turned(True, 100.0)


def test_oven_that_warms_through_is_left_alone():
    assert not swings(begun(), (60, 60), (50, 75), (42, 90), (38, 100), (36, 108), (35, 112))


@pytest.mark.parametrize(("rough", "most", "least"), [(0, 1.15, 0.92), (1, 1.26, 0.76)])
def test_half_unlike_the_two_before_it_is_odd(rough, most, least):
    for on_s, odd in ((50.0 * most - 0.1, False), (50.0 * most + 0.1, True)):
        assert swings(begun(rough), *CALM, (on_s, 100.0)) is odd
    for off_s, odd in ((100.0 * least + 0.1, False), (100.0 * least - 0.1, True)):
        assert swings(begun(rough), *CALM, (50.0, off_s)) is odd


@pytest.mark.parametrize(
    ("rough", "most_s", "least_s"), [(0, 1.15 * 64.0, 0.92 * 128.0), (1, 1.26 * 64.0, 0.76 * 128.0)]
)
def test_half_at_its_bound_is_not_odd(rough, most_s, least_s):
    calm = [(64.0, 128.0)] * 3
    assert not swings(begun(rough), *calm, (most_s, 128.0))
    assert not swings(begun(rough), *calm, (64.0, least_s))


def test_longer_heat_is_odd_while_it_lasts_and_a_longer_rest_is_not():
    watch = begun()
    swings(watch, *CALM)
    assert watch.add(150.0, 57.4, True) is False
    assert watch.add(150.0, 0.2, True) is True
    assert watch.add(150.0, 0.2, False) is False


def test_rest_may_last_and_heat_be_short():
    assert not swings(begun(), *CALM, (20.0, 100.0), (20.0, 400.0), span_k=10.0)


def test_each_half_is_held_against_the_mean_of_two_and_the_second_against_the_first():
    assert not swings(begun(), (40.0, 100.0), (45.9, 92.1))  # against 40 and 100
    assert swings(begun(), (40.0, 100.0), (46.1, 100.0))
    assert swings(begun(), (40.0, 100.0), (40.0, 91.9))
    assert not swings(begun(), (60.0, 100.0), (40.0, 120.0), (57.4, 101.3))  # against 50 and 110
    assert swings(begun(), (60.0, 100.0), (40.0, 120.0), (57.6, 120.0))
    assert swings(begun(), (60.0, 100.0), (40.0, 120.0), (50.0, 101.1))
    # the one before those two no longer counts
    assert swings(begun(), (90.0, 50.0), (60.0, 100.0), (40.0, 120.0), (57.6, 120.0))
    assert swings(begun(), (90.0, 50.0), (60.0, 100.0), (40.0, 120.0), (50.0, 101.1))


def test_half_that_nobody_saw_begin_counts_for_nothing():
    watch = module.Swings()
    assert watch.add(150.0, 1000.0, True) is False
    assert watch.turned(False, 100.0) is False
    assert watch.add(150.0, 1000.0, False) is False
    assert watch.turned(True, 100.0) is False
    assert watch._half_s == 0.0
    assert not swings(watch, *CALM)
    assert watch._on_s == [50.0, 50.0]


def test_half_without_time_is_seen_all_the_same():
    watch = begun()
    assert watch.turned(False, 100.0) is False
    assert watch._on_s == [0.0]


def test_begin_forgets_the_swings_before_it():
    watch = begun()
    swings(watch, *CALM)
    watch.begin(1)
    assert not watch.add(150.0, 1000.0, True)
    watch.turned(True, 40.0)
    assert not swings(watch, (80.0, 40.0), (80.0, 40.0))
    watch = begun()
    half(watch, True, 50.0, span_k=100.0)  # what the reading did in a swing that was cut short
    watch.begin(0)
    watch.turned(True, 100.0)
    assert (watch._high_c, watch._low_c) == (None, None)


def achieved(on_s, off_s, span_k=10.0, on_pct=100.0):
    """By hand: rise and fall of the reading by their times, by the output and the root of the swing's time."""
    return span_k * (1 / on_s + 1 / off_s) / on_pct / math.sqrt(on_s + off_s)


@pytest.mark.parametrize(("rough", "least"), [(0, 0.87), (1, 0.82)])
def test_heat_that_achieves_less_in_two_swings_than_before_is_odd(rough, least):
    for share, odd in ((least + 0.002, False), (least - 0.002, True)):
        watch = begun(rough)
        assert not swings(watch, *CALM)  # the first is left out
        assert swings(watch, (50.0, 100.0), span_k=10.0 * share) is False
        assert swings(watch, (50.0, 100.0), span_k=10.0 * share) is odd


def test_one_swing_among_few_is_not_judged():
    watch = begun()
    swings(watch, *CALM)  # two that count
    assert not swings(watch, (50.0, 100.0), span_k=7.0)
    watch = begun()
    swings(watch, *CALM, (50.0, 100.0))
    assert swings(watch, (50.0, 100.0), span_k=7.0)  # with the one before it: 0.84


def test_fading_is_held_against_both_levels_and_all_their_swings_but_the_last_two():
    watch = begun()
    swings(watch, *CALM, (50.0, 100.0))
    next_level(watch)
    swings(watch, (50.0, 100.0), span_k=1.0)  # the first is left out
    assert not swings(watch, (50.0, 100.0), span_k=6.0)  # one alone of its level is not judged
    assert swings(watch, (50.0, 100.0), span_k=6.0)
    watch = begun()
    swings(watch, *CALM, (50.0, 100.0))
    swings(watch, (50.0, 100.0), span_k=20.0)
    mean = math.exp((3 * math.log(10.0) + math.log(20.0)) / 4)
    for share, odd in ((0.88, False), (0.86, True)):
        other = begun()
        swings(other, *CALM, (50.0, 100.0))
        swings(other, (50.0, 100.0), span_k=20.0)
        swings(other, (50.0, 100.0), span_k=mean * share)
        assert swings(other, (50.0, 100.0), span_k=mean * share) is odd


def test_what_two_levels_achieve_is_compared_without_each_ones_first_swing():
    watch = begun()
    swings(watch, (30.0, 30.0), (50.0, 100.0), (48.0, 104.0))
    assert not watch.over() and watch.weaker == 1.0
    watch.begin(0)
    watch.turned(True, 100.0)
    swings(watch, (90.0, 20.0), (60.0, 90.0), span_k=9.0)
    first = math.log(achieved(50.0, 100.0)), math.log(achieved(48.0, 104.0))
    expected = math.exp(math.log(achieved(60.0, 90.0, span_k=9.0)) - sum(first) / 2)
    watch.over()
    assert watch.weaker == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("share", "weaker"), [(0.872, False), (0.868, True), (1.3, False)])
def test_weaker_heat_at_the_second_level_is_told(share, weaker):
    watch = begun()
    swings(watch, *CALM)
    next_level(watch)
    swings(watch, *CALM, span_k=10.0 * share)
    assert watch.over() is weaker
    assert watch.weaker == pytest.approx(share, rel=1e-6)


def test_each_level_is_held_against_the_one_before_alone():
    watch = begun()
    for span_k, share in ((10.0, 1.0), (11.0, 1.1), (9.9, 0.9)):
        swings(watch, *CALM, span_k=span_k)
        next_level(watch)
        assert watch.weaker == pytest.approx(share, rel=1e-6)


def test_output_of_less_than_all_counts_in_what_the_heat_achieves():
    watch = begun()
    swings(watch, *CALM)
    next_level(watch, 1)
    swings(watch, *CALM, span_k=4.0, on_pct=40.0)
    assert not watch.over() and watch.weaker == pytest.approx(1.0, rel=1e-6)


def test_level_without_a_second_swing_is_compared_with_nothing():
    watch = begun()
    swings(watch, *CALM)
    next_level(watch)
    swings(watch, (50.0, 100.0), span_k=1.0)
    assert not watch.over() and watch.weaker == 1.0


def test_reading_that_does_not_move_is_no_error():
    watch = begun()
    swings(watch, *CALM, span_k=0.0)
    assert not watch.over() and watch.weaker == 1.0
    watch = begun()
    swings(watch, *CALM)
    next_level(watch)
    swings(watch, *CALM, span_k=0.5)  # ... and one that hardly does is none either
    assert watch.over() and watch.weaker == pytest.approx(0.05, rel=1e-6)


def test_span_of_a_swing_is_between_its_highest_and_lowest_reading():
    watch = begun()
    swings(watch, *CALM)
    next_level(watch)
    swings(watch, *CALM[:1])
    for heats, readings_c in ((True, (148.0, 143.0, 149.0)), (False, (156.0, 150.0, 147.0))):
        for reading_c in readings_c:
            watch.add(reading_c, 50.0 / 3 if heats else 100.0 / 3, heats)
        watch.turned(not heats, 100.0)
    watch.over()
    assert watch.weaker == pytest.approx(1.3, rel=1e-6)
