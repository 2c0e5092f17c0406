"""Alarm bookkeeping: states as ISA-18.2 (IEC 62682) names them, first-out, acknowledge, lockout, restore."""

import pytest
from safety_bench import Bench, L, load

A = load("safety.alarms")
OPEN = load("probes.reading").OPEN


def state(bench, i):
    return A.ALARM_STATES[bench.sup.states[i]]


def tripped(bench=None, pv_mc=20_000):
    """The limiter has opened and is closed again."""
    bench = bench or Bench()
    bench.seen.limit_ok = 0
    bench.tick()
    bench.seen.limit_ok = 1
    bench.dome.reads(pv_mc)
    bench.tick()
    return bench


def test_states_are_those_of_the_standard():
    # ISA-18.2-2016 / IEC 62682, alarm state transition diagram; the split of 'latched' in two from memory
    assert load("safety.alarms").ALARM_STATES == (
        "normal", "unacknowledged", "acknowledged", "returned", "latched-unacknowledged", "latched-acknowledged",
    )  # fmt: skip


def test_every_answer_to_an_acknowledge_has_its_own_words():
    alarms = load("safety.alarms")
    words = {
        alarms.ACCEPTED: "accepted", alarms.NOTHING: "nothing-to-acknowledge",
        alarms.CAUSE_PRESENT: "cause-still-present", alarms.TOO_HOT: "too-hot", alarms.LOCKED_OUT: "locked-out",
    }  # fmt: skip
    assert dict(enumerate(alarms.ANSWERS)) == words


def test_trip_goes_unacknowledged_then_latched_unacknowledged():
    bench = Bench()
    bench.dome.fails(OPEN)
    bench.tick(ticks=2)
    assert state(bench, L.PROBE_OPEN) == "normal"
    bench.tick()
    assert state(bench, L.PROBE_OPEN) == "unacknowledged"
    bench.dome.reads(20_000)
    bench.tick()
    assert state(bench, L.PROBE_OPEN) == "latched-unacknowledged"
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    assert state(bench, L.PROBE_OPEN) == "normal"


def test_trip_seen_by_a_person_while_present_returns_latched_acknowledged():
    bench = Bench()
    bench.dome.fails(OPEN)
    bench.tick(ticks=3)
    assert bench.sup.acknowledge(bench.seen) == A.CAUSE_PRESENT
    assert state(bench, L.PROBE_OPEN) == "acknowledged"
    bench.dome.reads(20_000)
    assert bench.tick().granted == 0
    assert state(bench, L.PROBE_OPEN) == "latched-acknowledged"
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED


def test_refused_acknowledge_still_notes_the_person():
    bench = tripped(pv_mc=300_000)
    assert bench.sup.acknowledge(bench.seen) == A.TOO_HOT
    assert state(bench, L.LIMITER_OPEN) == "latched-acknowledged"
    assert bench.first == "limiter-open"


def test_warning_goes_unacknowledged_returned_normal():
    bench = Bench()
    bench.seen.door_shut = 0
    bench.tick()
    assert state(bench, L.DOOR_OPEN) == "unacknowledged"
    bench.seen.door_shut = 1
    bench.tick()
    assert state(bench, L.DOOR_OPEN) == "returned"
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    assert state(bench, L.DOOR_OPEN) == "normal"
    assert bench.sup.acknowledge(bench.seen) == A.NOTHING


def test_warning_acknowledged_while_present_returns_to_normal():
    bench = Bench()
    bench.seen.door_shut = 0
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    assert state(bench, L.DOOR_OPEN) == "acknowledged"
    bench.tick()
    assert state(bench, L.DOOR_OPEN) == "acknowledged"
    bench.seen.door_shut = 1
    bench.tick()
    assert state(bench, L.DOOR_OPEN) == "normal"


def test_first_out_is_kept_while_others_follow():
    bench = Bench()
    bench.seen.limit_ok = 0
    bench.tick()
    bench.dome.limit_mc = 600_000
    bench.seen.box_mc = 90_000
    bench.run(3_000)
    assert bench.first == "limiter-open"
    assert bench.is_present("high-limit") and bench.is_present("box-hot")
    assert bench.sup.trips_in_a_row == 1


@pytest.mark.parametrize(
    ("pv_mc", "answer"),
    [(249_999, A.ACCEPTED), (250_000, A.TOO_HOT), (250_001, A.TOO_HOT)],
)
def test_acknowledge_needs_a_reading_below_the_restart_limit(pv_mc, answer):
    bench = tripped(pv_mc=pv_mc)
    assert bench.sup.acknowledge(bench.seen) == answer
    assert bench.first == ("none" if answer == A.ACCEPTED else "limiter-open")


@pytest.mark.parametrize(
    ("asked_mc", "mc"), [(29_999, 30_000), (30_001, 30_001), (300_000, 300_000), (300_001, 300_000)]
)
def test_restart_limit_is_bounded(asked_mc, mc):
    assert Bench(restart_mc=asked_mc).sup.restart_mc == mc


def test_acknowledge_needs_a_usable_and_fresh_reading():
    bench = tripped()
    bench.dome.usable = False
    assert bench.sup.acknowledge(bench.seen) == A.CAUSE_PRESENT
    bench.dome.usable = True
    bench.is_fresh = False
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED  # one tick without an answer is no fault
    bench = tripped()
    bench.is_fresh = False
    bench.tick(ticks=2)
    assert bench.sup.acknowledge(bench.seen) == A.CAUSE_PRESENT


def test_acknowledge_is_refused_while_any_cause_is_present():
    bench = tripped()
    bench.seen.readback_ok = 0
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.CAUSE_PRESENT
    bench.seen.readback_ok = 1
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    assert not any(bench.sup.states)


def test_acknowledge_is_not_hindered_by_a_warning():
    bench = tripped()
    bench.seen.door_shut = 0
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    assert state(bench, L.DOOR_OPEN) == "acknowledged"


def test_acknowledge_of_a_warning_asks_for_no_reading():
    bench = Bench()
    bench.seen.door_shut = 0
    bench.dome.fails(OPEN)
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED


def test_acknowledge_of_a_hot_and_locked_oven_says_first_that_it_is_hot():
    bench = tripped(pv_mc=300_000)
    bench.sup.locked_out = 1
    assert bench.sup.acknowledge(bench.seen) == A.TOO_HOT
    bench.dome.reads(20_000)
    bench.tick()
    assert bench.sup.acknowledge(bench.seen) == A.LOCKED_OUT


def test_acknowledge_marks_the_latch_to_be_stored():
    bench = tripped()
    assert bench.sup.latch_changed == 1
    bench.sup.latch_changed = 0
    bench.tick()
    assert bench.sup.latch_changed == 0
    bench.sup.acknowledge(bench.seen)
    assert bench.sup.latch_changed == 1
    assert bench.sup.latch()["first_out"] == "none"


def test_slow_rules_start_anew_after_an_acknowledge():
    bench = tripped()
    bench.sup.no_rise.no_rise = 1
    bench.sup.fell.stall_ms = 84_000
    bench.sup.slipped.least_64 = bench.sup.slipped.hold_pm = 333
    bench.sup.acknowledge(bench.seen)
    assert (bench.sup.no_rise.no_rise, bench.sup.fell.stall_ms) == (0, 0)
    assert (bench.sup.slipped.least_64, bench.sup.slipped.hold_pm) == (-1, 333)  # the oven is the same one


def test_a_warning_does_not_ask_for_the_latch_to_be_stored():
    bench = Bench()
    bench.seen.door_shut = 0
    bench.tick()
    assert bench.sup.latch_changed == 0


# --- lockout -----------------------------------------------------------------------------------------


def test_third_trip_in_a_row_locks_out_until_cold():
    bench = Bench()
    for count in (1, 2):
        tripped(bench)
        assert (bench.sup.trips_in_a_row, bench.sup.locked_out) == (count, 0)
        assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
    tripped(bench, 60_000)
    assert (bench.sup.trips_in_a_row, bench.sup.locked_out) == (3, 1)
    assert bench.sup.acknowledge(bench.seen) == A.LOCKED_OUT
    assert bench.sup.unlock(bench.seen) == 0
    bench.dome.reads(59_999)
    bench.stone.reads(59_999)
    bench.tick()
    bench.sup.latch_changed = 0
    assert bench.sup.unlock(bench.seen) == 1
    assert (bench.sup.locked_out, bench.sup.trips_in_a_row, bench.sup.latch_changed) == (0, 0, 1)
    assert bench.sup.unlock(bench.seen) == 0
    assert bench.first == "limiter-open"  # unlocking is not acknowledging
    assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED


def test_unlock_needs_a_reading_that_is_believed_and_a_lockout():
    for spoil in ("usable", "stale", "free"):
        bench = tripped()
        bench.sup.locked_out = 1
        if spoil == "usable":
            bench.dome.usable = False
            bench.tick()
        elif spoil == "stale":
            bench.is_fresh = False
            bench.tick(ticks=2)
        else:
            bench.sup.locked_out = 0
        assert bench.sup.unlock(bench.seen) == 0
        assert bench.sup.trips_in_a_row == 1


def test_more_trips_than_the_count_can_hold_stay_locked_out():
    bench = Bench()
    bench.sup.trips_in_a_row = L.LOCKOUT_TRIPS
    tripped(bench)
    assert (bench.sup.trips_in_a_row, bench.sup.locked_out) == (L.LOCKOUT_TRIPS, 1)


def test_finished_evening_forgives_earlier_trips_but_no_lockout():
    bench = tripped()
    bench.sup.evening_done()
    assert bench.sup.trips_in_a_row == 1  # still latched
    bench.sup.acknowledge(bench.seen)
    bench.sup.latch_changed = 0
    bench.sup.evening_done()
    assert (bench.sup.trips_in_a_row, bench.sup.latch_changed) == (0, 1)
    bench.sup.latch_changed = 0
    bench.sup.evening_done()
    assert bench.sup.latch_changed == 0
    bench.sup.locked_out = 1
    bench.sup.trips_in_a_row = 3
    bench.sup.evening_done()
    assert (bench.sup.locked_out, bench.sup.trips_in_a_row) == (1, 3)
    bench.sup.trips_in_a_row = 0
    assert bench.sup.lift_lockout() == 1


# --- events, latch and restore --------------------------------------------------------------------------


def test_event_is_latched_at_once_and_has_returned():
    bench = Bench()
    bench.sup.raise_event(L.WATCHDOG_RESET)
    assert (bench.first, state(bench, L.WATCHDOG_RESET)) == ("watchdog-reset", "latched-unacknowledged")
    assert not bench.is_present("watchdog-reset")
    bench.seen.limit_ok = 0
    bench.tick()
    bench.sup.raise_event(L.LIMITER_OPEN)  # present already: nothing new
    assert bench.is_present("limiter-open")
    assert state(bench, L.LIMITER_OPEN) == "unacknowledged"


def test_latch_outlives_a_restart_with_first_out_count_and_lockout():
    bench = tripped()
    bench.sup.raise_event(L.CONTACTOR_WELDED)
    bench.sup.trips_in_a_row, bench.sup.locked_out = 3, 1
    stored = bench.sup.latch()
    assert stored == {
        "first_out": "limiter-open", "tripped": ["contactor-welded", "limiter-open"], "in_a_row": 3, "locked_out": 1,
        "cold": bench.sup.warmth.cold, "from_cold": 1,
    }  # fmt: skip
    other = Bench()
    other.sup.restore(stored)
    assert other.sup.latch() == stored
    assert other.sup.pull_the_plug == 1
    assert state(other, L.LIMITER_OPEN) == "latched-unacknowledged"
    assert other.tick().granted == 0
    assert other.sup.acknowledge(other.seen) == A.LOCKED_OUT


def test_clean_latch_restores_to_nothing():
    bench = Bench()
    bench.sup.restore(Bench().sup.latch())
    assert bench.tick().granted == 1
    assert (bench.sup.trips_in_a_row, bench.sup.locked_out, bench.sup.pull_the_plug) == (0, 0, 0)
    bench.sup.restore({"first_out": "none", "tripped": [], "in_a_row": 2, "locked_out": 0})
    assert bench.sup.trips_in_a_row == 2
    bench.sup.restore({"first_out": "none", "tripped": [], "in_a_row": 99, "locked_out": 0})
    assert bench.sup.trips_in_a_row == L.LOCKOUT_TRIPS
    bench.sup.restore({"first_out": "none", "tripped": [], "in_a_row": -1, "locked_out": 1})
    assert bench.sup.trips_in_a_row == 0
    assert bench.tick().contactor == 0


GOOD = {"first_out": "high-limit", "tripped": ["high-limit"], "in_a_row": 1, "locked_out": 0}


@pytest.mark.parametrize(
    "latch",
    [
        None, [], "high-limit", {},
        {**GOOD, "first_out": "none"}, {**GOOD, "first_out": 7}, {**GOOD, "first_out": "box-hot"},
        {**GOOD, "tripped": []}, {**GOOD, "tripped": "high-limit"}, {**GOOD, "tripped": ["high-limit", "no-such"]},
        {**GOOD, "tripped": ["high-limit", "door-open"]}, {**GOOD, "tripped": ["high-limit", 3]},
        {**GOOD, "in_a_row": "1"}, {**GOOD, "in_a_row": None}, {**GOOD, "locked_out": 2},
        {**GOOD, "locked_out": None}, {"first_out": "none"}, {**GOOD, "tripped": None}, {**GOOD, "tripped": 7},
    ],
)  # fmt: skip
def test_latch_that_is_not_understood_counts_as_a_trip(latch):
    bench = Bench()
    assert bench.sup._understood(latch) is False
    bench.sup.restore(latch)
    assert bench.first == "latch-doubt"
    assert bench.tick().granted == 0


def test_pull_the_plug_is_told_even_behind_another_first_out_and_cleared_with_the_latch():
    for i in L.PULL_THE_PLUG:
        bench = tripped()
        assert bench.sup.pull_the_plug == 0
        bench.sup.raise_event(i)
        assert (bench.first, bench.sup.pull_the_plug) == ("limiter-open", 1)
        assert bench.sup.acknowledge(bench.seen) == A.ACCEPTED
        assert bench.sup.pull_the_plug == 0


def test_restored_trip_other_than_the_dangerous_ones_does_not_say_pull_the_plug():
    bench = Bench()
    bench.sup.restore(GOOD)
    assert (bench.first, bench.sup.pull_the_plug) == ("high-limit", 0)


def test_hold_and_stop_are_told_each_tick_anew():
    bench = Bench()
    bench.sup.holding = bench.sup.stopping = 1
    bench.tick()
    assert (bench.sup.holding, bench.sup.stopping) == (0, 0)


def test_age_starts_from_nothing_after_each_good_tick():
    bench = Bench()
    bench.seen.fan_ok = 0
    bench.tick()
    assert bench.sup._ages_ms[L.FAN_STOPPED] == 250
    bench.seen.fan_ok = 1
    bench.tick()
    assert bench.sup._ages_ms[L.FAN_STOPPED] == 0


def test_first_and_last_condition_are_looked_after_and_none_is_not():
    first, last = L.HIGH_LIMIT, L.COUNT - 1
    for i in (first, last):
        alarms = load("safety.alarms").Alarms()
        alarms.kinds[i] = L.TRIP
        alarms.flags[0] = alarms.flags[i] = 1
        alarms.settle(250)
        assert (alarms.first_out, alarms.present[i], alarms.present[0], alarms.states[0]) == (i, 1, 0, 0)
        assert alarms.any_cause() is True
        assert alarms.note_person() is True and alarms.states[i] == A.ACKNOWLEDGED
        assert alarms.latch()["tripped"] == [L.CONDITION_NAMES[i]]
        alarms.flags[i] = 0
        alarms.settle(250)
        assert alarms.any_cause() is False
        alarms.states[0] = 3
        alarms.kinds[0] = L.TRIP
        alarms.present[0] = 1
        assert alarms.any_cause() is False
        assert alarms.latch()["tripped"] == [L.CONDITION_NAMES[i]]
        alarms.clear_latch()
        assert (alarms.states[i], alarms.states[0], alarms.first_out) == (0, 3, 0)
        assert alarms.note_person() is False
        assert alarms.states[0] == 3
        alarms.kinds[0] = L.WARN


def test_lockout_that_is_not_there_cannot_be_lifted():
    alarms = load("safety.alarms").Alarms()
    assert alarms.lift_lockout() == 0
    assert alarms.lift_lockout() is not None and alarms.latch_changed == 0


def test_latch_names_only_trips():
    bench = tripped()
    bench.seen.door_shut = 0
    bench.tick()
    assert bench.sup.latch()["tripped"] == ["limiter-open"]


def test_trip_count_begins_at_one_whatever_it_was():
    bench = Bench()
    bench.sup.trips_in_a_row = -5
    tripped(bench)
    assert bench.sup.trips_in_a_row == 1
