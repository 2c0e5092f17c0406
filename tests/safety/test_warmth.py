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
    bench.stone.reads(59_999)  # the other one says cool, but may lag: not yet so cool as a lockout wants it
    bench.tick()
    assert not below(bench)
    bench.sup.warmth.rest_ms = L.STONE_ALONE_MS
    bench.tick()
    assert below(bench)
    assert bench.sup.unlock(bench.seen) == 1
    assert bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED


LAST_MS = L.STONE_ALONE_MS - 2 * TICK_MS  # of the time in which a stone alone may still lag


@pytest.mark.parametrize(("rest_ms", "stone_mc", "cool"), [
    (LAST_MS, L.RESTART_MC - L.STONE_LAG_MK - 1, 1), (LAST_MS, L.RESTART_MC - L.STONE_LAG_MK, 0),
    (LAST_MS + TICK_MS, L.RESTART_MC - 1, 1), (LAST_MS + TICK_MS, L.RESTART_MC, 0),
])  # fmt: skip
def test_warmth_of_a_stone_alone_allows_for_its_lag_until_it_has_caught_up(rest_ms, stone_mc, cool):
    bench = hot_bench(stone_mc=stone_mc)
    bench.sup.raise_event(L.PROBE_OPEN)
    bench.dome.reads(25_000)
    bench.sup.warmth.rest_ms = rest_ms
    bench.tick()
    assert below(bench, L.RESTART_MC) == cool


def test_warmth_believes_the_stone_alone_at_once_where_the_oven_was_cold_and_nothing_has_heated():
    bench = Bench()
    bench.end_session()
    bench.dome.reads(25_000)
    bench.stone.reads(25_000)
    bench.tick(ticks=2)
    bench.sup.raise_event(L.PROBE_OPEN)
    bench.tick()
    assert below(bench)


def test_warmth_no_longer_believes_a_stone_probe_after_its_trip():
    bench = hot_bench(stone_mc=25_000)
    bench.sup.raise_event(L.STONE_PROBE)
    bench.stone.fails(3)
    bench.tick()
    assert not below(bench, L.RESTART_MAX_MC)
    bench.dome.reads(59_999)
    bench.tick()
    assert below(bench)


@pytest.mark.parametrize(("disowned", "trip"), [("dome", L.PROBE_OPEN), ("stone", L.STONE_PROBE)])
def test_warmth_of_a_disowned_probe_counts_where_it_says_hotter(disowned, trip):
    bench = hot_bench()
    bench.sup.raise_event(trip)
    bench.sup.warmth.rest_ms = L.STONE_ALONE_MS
    bench.dome.reads(25_000)
    bench.stone.reads(25_000)
    bench.tick()
    assert below(bench)
    probe = getattr(bench, disowned)
    probe.reads(L.RESTART_MC)
    bench.tick()
    assert not below(bench, L.RESTART_MC)
    assert below(bench, L.RESTART_MC + 1)
    probe.usable = False  # and where it says nothing
    bench.sup.kinds[L.STONE_PROBE] = bench.sup.kinds[L.PROBE_OPEN] = L.WARN
    bench.tick()
    assert below(bench, L.RESTART_MC)


def test_warmth_without_another_probe_waits_ten_hours_without_heat():
    bench = hot_bench(stone=False)
    bench.sup.raise_event(L.PROBE_FELL)
    bench.dome.reads(25_000)
    bench.sup.warmth.rest_ms = L.COOLED_MS - 2 * TICK_MS
    bench.tick()
    assert not below(bench, L.RESTART_MAX_MC)
    bench.tick()
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


@pytest.mark.parametrize("restarts", [0, 1, 2])
@pytest.mark.parametrize(("from_cold", "believed"), [(1, True), (0, False)])
def test_warmth_after_no_rise_believes_the_probe_only_of_an_oven_that_was_heated_from_cold(
    from_cold, believed, restarts
):
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
    for _ in range(restarts):
        latch = bench.sup.latch()
        bench = Bench(stone=False)
        bench.sup.restore(latch)
        bench.end_session()
        bench.dome.reads(25_000)
    bench.tick()
    assert bool(below(bench)) is believed


def test_warmth_after_no_rise_from_cold_believes_the_probe_over_a_restart_with_the_selector_at_off():
    bench = Bench(stone=False)
    bench.sup.raise_event(L.NO_RISE)
    other = Bench(stone=False)
    other.sup.restore(bench.sup.latch())
    other.end_session()
    other.dome.reads(25_000)
    other.seen.selector_ours = 0  # somebody looks at the wiring
    other.tick()
    other.seen.selector_ours = 1
    other.tick()
    assert below(other)


def test_warmth_latch_that_does_not_say_how_the_newest_heat_began_is_no_cold_oven():
    bench = Bench(stone=False)
    bench.sup.raise_event(L.NO_RISE)
    latch = bench.sup.latch()
    del latch["from_cold"]
    other = Bench(stone=False)
    other.sup.restore(latch)
    other.end_session()
    other.dome.reads(25_000)
    other.tick(ticks=2)
    assert not below(other)


def test_warmth_believes_no_probe_from_the_very_tick_in_which_it_trips():
    bench = hot_bench(stone=False)
    bench.dome.reads(100_000)
    bench.tick(ticks=4)
    assert below(bench, L.RESTART_MAX_MC)
    bench.seen.session, bench.seen.out_pm, bench.dome.same_ms = 1, 1, L.FROZEN_MS
    bench.tick()
    assert bench.first == "reading-frozen"
    assert not below(bench, L.RESTART_MAX_MC)


# --- a person's own thermometer ------------------------------------------------------------------------------


def disowned(rest_ms=L.ATTEST_MS, dome_mc=25_000, stone_mc=None):
    """A board whose dome probe tripped (both probes, where there are two), put right since, so long without heat."""
    bench = hot_bench(stone=stone_mc is not None)
    bench.sup.raise_event(L.PROBE_FELL)
    bench.dome.reads(dome_mc)
    if stone_mc is not None:
        bench.sup.raise_event(L.STONE_PROBE)
        bench.stone.reads(stone_mc)
    bench.tick()
    bench.sup.warmth.rest_ms = rest_ms
    return bench


def attested(bench, value_mc=30_000):
    return bench.sup.warmth.attest(bench.seen, value_mc)


def test_warmth_a_persons_thermometer_after_an_hour_of_rest_and_a_cold_reading_is_taken():
    bench = disowned()
    assert not below(bench, L.RESTART_MAX_MC)
    assert attested(bench) == 1
    assert below(bench)
    assert bench.sup.latch()["cold"] == 1  # over a restart too
    assert bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED
    bench.contactor(1)
    bench.tick()
    bench.sup.raise_event(L.PROBE_FELL)
    bench.contactor(0)
    bench.tick()
    assert not below(bench, L.RESTART_MAX_MC)  # it spoke of that oven at that time


@pytest.mark.parametrize(("changes", "value_mc", "taken"), [
    ({"rest_ms": L.ATTEST_MS - 1}, 30_000, 0), ({}, L.UNLOCK_MC - 1, 1), ({}, L.UNLOCK_MC, 0),
    ({"dome_mc": L.UNLOCK_MC - 1}, 30_000, 1), ({"dome_mc": L.UNLOCK_MC}, 30_000, 0),
    ({"stone_mc": L.UNLOCK_MC - 1}, 30_000, 1), ({"stone_mc": L.UNLOCK_MC}, 30_000, 0),
])  # fmt: skip
def test_warmth_a_persons_word_alone_or_a_reading_alone_proves_nothing(changes, value_mc, taken):
    bench = disowned(**changes)
    assert attested(bench, value_mc) == taken
    assert bool(below(bench, L.RESTART_MAX_MC)) is bool(taken)


def test_warmth_a_persons_word_does_not_count_while_a_probe_has_no_usable_reading():
    for which in ("dome", "stone"):
        bench = disowned(stone_mc=25_000)
        getattr(bench, which).usable = False
        assert attested(bench) == 0
    bench = disowned()
    bench.sup.warmth.judge(bench.seen, bench.sup, False, TICK_MS)  # its reading is an old one
    assert attested(bench) == 0
    assert not below(bench)


# --- each part of it by itself -------------------------------------------------------------------------------


def test_warmth_knows_nothing_before_its_first_tick():
    bench = Bench()
    assert not bench.sup.warmth.below(L.RESTART_MAX_MC)
    bench.sup.restore({**bench.sup.latch(), "cold": 1})
    assert not bench.sup.warmth.below(L.RESTART_MAX_MC)


def test_warmth_the_equal_reading_is_not_below():
    bench = hot_bench(stone=False)
    bench.dome.reads(L.UNLOCK_MC)
    bench.tick(ticks=4)
    assert not bench.sup.warmth.cold
    bench.dome.reads(L.UNLOCK_MC - 1)
    bench.tick(ticks=4)
    assert bench.sup.warmth.cold == 1


@pytest.mark.parametrize("which", ["dome", "stone"])
def test_warmth_an_oven_is_marked_cold_by_every_probe_or_not_at_all(which):
    bench = hot_bench()
    bench.dome.reads(25_000)
    bench.stone.reads(25_000)
    if which == "dome":
        bench.sup.raise_event(L.PROBE_FELL)
    else:
        bench.sup.raise_event(L.STONE_PROBE)
    bench.tick(ticks=4)
    assert not bench.sup.warmth.cold  # the other one, though believed, is not every probe
    bench = hot_bench()
    bench.dome.reads(25_000)
    bench.stone.reads(25_000)
    getattr(bench, which).usable = False
    bench.tick()
    assert not bench.sup.warmth.cold


def test_warmth_heat_on_a_cold_oven_ends_the_mark_at_once_and_is_remembered_as_begun_from_cold():
    bench = Bench(stone=False)
    bench.end_session()
    bench.dome.reads(25_000)
    bench.tick(ticks=2)
    assert bench.sup.warmth.cold == 1
    bench.contactor(1)
    bench.tick(ticks=3)
    assert (bench.sup.warmth.cold, bench.sup.warmth.rest_ms, bench.sup.warmth.from_cold) == (0, 0, 1)
    bench.contactor(0)
    bench.dome.reads(200_000)
    bench.tick()
    bench.contactor(1)
    bench.tick(ticks=3)
    assert bench.sup.warmth.from_cold == 0
    assert below(bench, L.RESTART_MC)  # which by itself is no reason to doubt the probe


def test_warmth_rest_counts_what_has_passed():
    bench = hot_bench(stone=False)
    before_ms = bench.sup.warmth.rest_ms
    bench.tick(400, 5)
    assert bench.sup.warmth.rest_ms == before_ms + 2_000


def test_warmth_a_tick_with_heat_is_no_rest_however_cold_the_reading():
    bench = Bench(stone=False)
    bench.contactor(1)
    bench.dome.reads(25_000)
    bench.tick(ticks=4)
    assert bench.sup.warmth.cold == 0
