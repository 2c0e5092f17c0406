"""A bread that nobody told of, by the stone's probe."""

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.sunk")


def sinks(by_k, seconds=30.0, stone_c=150.0, pv_c=160.0, tick_s=0.25):
    """A stone that lies still for a minute, then sinks evenly: True if it is told before 30 s more are over."""
    watch, told = module.Sunk(), False
    for _ in range(int(60.0 / tick_s)):
        assert not watch.add(stone_c, pv_c, tick_s)
    for i in range(int((seconds + 30.0) / tick_s)):
        told = watch.add(stone_c - by_k * min(1.0, (i + 1) * tick_s / seconds), pv_c, tick_s) or told
    return told


@pytest.mark.parametrize(("by_k", "told"), [(1.4, False), (1.5, False), (1.55, True), (5.0, True), (-5.0, False)])
@pytest.mark.parametrize("tick_s", [0.25, 0.5])
def test_stone_that_sinks_by_more_than_a_kelvin_and_a_half_in_half_a_minute_is_told(by_k, told, tick_s):
    assert sinks(by_k, tick_s=tick_s) is told


def test_stone_that_sinks_slowly_is_not_told():
    assert not sinks(3.0, seconds=66.0)
    assert sinks(3.0, seconds=54.0)


@pytest.mark.parametrize(("warmer_k", "own_k"), [(-30.0, 0.0), (0.0, 0.0), (30.0, 2.0), (15.0, 1.0)])
def test_stone_that_is_warmer_than_the_air_may_sink_by_itself(warmer_k, own_k):
    """Whoever is 15 K warmer after it sank loses a kelvin in half a minute."""
    for by_k, told in ((1.4 + own_k, False), (1.6 + own_k, True)):
        assert sinks(by_k, stone_c=150.0, pv_c=150.0 - by_k - warmer_k) is told


def test_first_reading_is_what_the_first_half_minute_is_held_against():
    watch = module.Sunk()
    assert not watch.add(150.0, 160.0, 2.0)
    assert watch.add(148.0, 160.0, 3.0)


def test_gap_in_the_readings_begins_anew():
    watch = module.Sunk()
    for stone_c in [150.0] * 40 + [None] + [140.0] * 200:
        assert not watch.add(stone_c, 160.0, 0.25)
    assert module.Sunk().add(None, 160.0, 0.25) is False


def test_time_beyond_five_seconds_counts_for_the_next_five_and_a_gap_forgets_it():
    watch = module.Sunk()
    for _ in range(2):
        assert watch.add(150.0, 160.0, 2.0) is False
    assert watch._past_s == 4.0
    watch.add(150.0, 160.0, 2.0)
    assert watch._past_s == 1.0
    watch.add(None, 160.0, 2.0)
    watch.add(150.0, 160.0, 2.0)
    assert watch._past_s == 2.0
    assert not watch.add(150.0, 160.0, 2.0) and watch._past_s == 4.0
    watch.add(150.0, 160.0, 1.0)
    assert watch._past_s == 0.0
