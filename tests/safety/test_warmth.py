"""What counts as cool: the hottest reading that is believed, never that of a probe which has just been disowned."""

import pytest
from safety_bench import TICK_MS, Bench, L

HOT_MC = 412_000


def hot_bench(stone_mc=HOT_MC, **more):
    """An evening that has just ended on a hot oven."""
    bench = Bench(**more)
    bench.contactor(1)
    bench.relays(1, 1)
    bench.dome.reads(HOT_MC)
    if bench.stone:
        bench.stone.reads(stone_mc)
    bench.set_setpoint(HOT_MC)
    bench.run(2_000)
    bench.end_session()
    bench.tick()
    return bench


def below(bench, mc=L.UNLOCK_MC):
    return bench.sup.warmth.below(mc)


@pytest.mark.parametrize(("dome_mc", "stone_mc", "cool"), [(149_999, 149_999, 1), (150_000, 20_000, 0),
                                                           (20_000, 150_000, 0), (20_000, 149_999, 1)])  # fmt: skip
def test_warmth_takes_the_hotter_of_two_probes(dome_mc, stone_mc, cool):
    bench = hot_bench()
    bench.dome.reads(dome_mc)
    bench.stone.reads(stone_mc)
    bench.tick()
    assert below(bench, L.FAN_RUN_ON_MC) == cool


@pytest.mark.parametrize("i", L.DOME_DOUBTS)
def test_warmth_no_longer_believes_a_dome_probe_after_its_trip(i):
    bench = hot_bench()
    bench.sup.raise_event(i)
    bench.dome.reads(25_000)  # out of the oven, or healed
    bench.tick()
    assert not below(bench, L.RESTART_MAX_MC)
    assert bench.sup.acknowledge(bench.seen) == bench.module.TOO_HOT
    bench.sup.locked_out = 1
    assert bench.sup.unlock(bench.seen) == 0
    bench.stone.reads(59_999)  # the other one says cool
    bench.tick()
    assert below(bench)
    assert bench.sup.unlock(bench.seen) == 1
    assert bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED


def test_warmth_no_longer_believes_a_stone_probe_after_its_trip():
    bench = hot_bench(stone_mc=25_000)
    bench.sup.raise_event(L.STONE_PROBE)
    bench.stone.fails(3)
    bench.tick()
    assert not below(bench, L.RESTART_MAX_MC)
    bench.dome.reads(59_999)
    bench.tick()
    assert below(bench)


def test_warmth_without_another_probe_waits_ten_hours_without_heat():
    bench = hot_bench(stone=False)
    bench.sup.raise_event(L.PROBE_FELL)
    bench.dome.reads(25_000)
    bench.tick(500, (L.COOLED_MS - bench.sup.warmth.rest_ms) // 500 - 1)
    assert not below(bench, L.RESTART_MAX_MC)
    bench.tick(500, 2)
    assert below(bench)


@pytest.mark.parametrize("heats", ["contactor_on", "top_on", "deck_on", "selector"])
def test_warmth_counts_the_rest_anew_after_any_heat_ours_or_foreign(heats):
    bench = hot_bench(stone=False, sensed=False)
    assert bench.sup.warmth.rest_ms == TICK_MS
    if heats == "selector":
        bench.seen.selector_ours = 0
    else:
        setattr(bench.seen, heats, 1)
    bench.tick()
    assert bench.sup.warmth.rest_ms == 0


def test_warmth_of_an_oven_that_was_cold_and_has_not_been_heated_stays_cold_whatever_fails():
    bench = Bench(stone=False)
    bench.end_session()
    bench.dome.reads(59_999)
    bench.tick(ticks=2)
    bench.dome.fails(3)
    bench.tick(ticks=4)
    assert bench.sup.first_out != L.NONE
    assert below(bench)
    other = Bench(stone=False)
    other.sup.restore(bench.sup.latch())
    other.end_session()
    other.dome.fails(3)
    other.tick()
    assert below(other)  # over a restart too


@pytest.mark.parametrize("latch", [{"cold": 0}, {"cold": 2}, {}, {"cold": "1"}])
def test_warmth_is_not_cold_by_a_latch_that_does_not_say_so(latch):
    bench = hot_bench(stone=False)
    bench.sup.raise_event(L.PROBE_FELL)
    bench.sup.restore({**bench.sup.latch(), **latch})
    bench.tick()
    assert not below(bench)


def test_warmth_reading_that_is_not_usable_just_now_is_not_cool():
    bench = hot_bench()
    bench.dome.reads(25_000)
    bench.stone.reads(25_000)
    bench.tick()
    assert below(bench)
    bench.dome.usable = False
    bench.tick()
    assert not below(bench)
    bench.dome.reads(25_000)
    bench.stone.usable = False
    bench.tick()
    assert not below(bench)


@pytest.mark.parametrize(("from_cold", "believed"), [(1, True), (0, False)])
def test_warmth_after_no_rise_believes_the_probe_only_of_an_oven_that_was_heated_from_cold(from_cold, believed):
    bench = Bench(stone=False)
    bench.end_session()
    bench.dome.reads(25_000 if from_cold else HOT_MC)
    bench.tick(ticks=4)
    bench.contactor(1)
    bench.relays(1, 1)
    bench.tick()
    bench.end_session()
    bench.sup.raise_event(L.NO_RISE)
    bench.dome.reads(25_000)
    bench.tick()
    assert bool(below(bench)) is believed
