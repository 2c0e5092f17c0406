"""Contacts and currents: welded, open and half-wave relays, the contactor, the fan; each just below and at its time."""

import pytest
from safety_bench import TICK_MS, Bench, L, load


def running(**more):
    """The contactor is closed, both relays are on and conduct."""
    bench = Bench(**more)
    bench.contactor(1)
    bench.relays(1, 1)
    bench.tick(ticks=8)
    assert bench.sup.first_out == L.NONE
    return bench


ZONES = ("top", "deck")


def set_zone(bench, zone, on=None, sense=None):
    if on is not None:
        setattr(bench.seen, zone + "_on", on)
    if sense is not None:
        setattr(bench.seen, zone + "_sense", sense)


@pytest.mark.parametrize("zone", ZONES)
def test_welded_relay_trips_within_a_second_of_the_first_commanded_off(zone):
    bench = running()
    set_zone(bench, zone, on=0)
    bench.tick()
    assert bench.sup.first_out == L.NONE
    permit = bench.tick()
    assert (bench.first, permit.granted, permit.contactor) == ("relay-welded", 0, 0)


@pytest.mark.parametrize("zone", ZONES)
def test_welded_relay_is_seen_over_several_short_offs(zone):
    bench = running()
    for _ in range(2):
        set_zone(bench, zone, on=0)
        bench.tick()
        set_zone(bench, zone, on=1)
        bench.tick()
    assert bench.first == "relay-welded"


@pytest.mark.parametrize("zone", ZONES)
def test_one_look_at_the_end_of_conduction_accuses_nobody(zone):
    bench = running()
    for _ in range(10):
        set_zone(bench, zone, on=0, sense=2)
        bench.tick()
        set_zone(bench, zone, sense=0)
        bench.tick()
        set_zone(bench, zone, on=1, sense=2)
        bench.tick()
    assert bench.sup.first_out == L.NONE


@pytest.mark.parametrize("zone", ZONES)
def test_no_current_while_on_trips_after_a_second(zone):
    bench = running()
    set_zone(bench, zone, sense=0)
    bench.tick(ticks=3)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "no-current"


@pytest.mark.parametrize("zone", ZONES)
def test_dead_element_is_seen_over_several_windows_while_the_other_zone_conducts(zone):
    bench = running()
    for _ in range(2):
        set_zone(bench, zone, on=1, sense=0)
        bench.tick(ticks=2)
        set_zone(bench, zone, on=0, sense=0)
        bench.tick(ticks=2)
    assert bench.first == "no-current"


@pytest.mark.parametrize("zone", ZONES)
def test_gap_in_the_current_that_ends_accuses_nobody(zone):
    bench = running()
    for _ in range(5):
        set_zone(bench, zone, sense=0)
        bench.tick(ticks=3)
        set_zone(bench, zone, sense=2)
        bench.tick(ticks=12)
    assert bench.sup.first_out == L.NONE


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("on", [0, 1])
def test_half_waves_trip_at_the_second_look_on_or_off(zone, on):
    bench = running()
    set_zone(bench, zone, on=on, sense=1)
    bench.tick()
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "half-wave"


def test_half_waves_of_a_leaking_relay_add_up_over_the_off_times():
    bench = running()
    for _ in range(2):
        set_zone(bench, "top", on=0, sense=1)
        bench.tick()
        set_zone(bench, "top", sense=0)
        bench.tick()
    assert bench.first == "half-wave"


def test_one_look_at_half_waves_accuses_nobody():
    bench = running()
    for _ in range(10):
        set_zone(bench, "top", sense=1)
        bench.tick()
        set_zone(bench, "top", sense=2)
        bench.tick()
    assert bench.sup.first_out == L.NONE


def test_zone_that_is_not_sensed_accuses_nobody():
    bench = running()
    for zone in ZONES:
        set_zone(bench, zone, on=1, sense=-1)
    bench.tick(ticks=20)
    for zone in ZONES:
        set_zone(bench, zone, on=0)
    bench.tick(ticks=20)
    assert bench.sup.first_out == L.NONE


def test_currents_are_judged_anew_each_time_the_contactor_closes():
    bench = running()
    set_zone(bench, "top", on=0)
    set_zone(bench, "deck", sense=0)
    bench.tick()
    set_zone(bench, "deck", sense=1)
    bench.tick()
    assert bench.first == "relay-welded"
    bench.contactor(0)
    bench.relays(0, 0)
    bench.tick()
    for zone in (bench.sup.wiring_rules.top, bench.sup.wiring_rules.deck):
        assert (zone.stuck_ms, zone.missing_ms, zone.half_ms) == (0, 0, 0)
    assert not any(bench.sup.present)
    assert bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED


# --- contactor ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["mirror_open", "top_sense", "deck_sense"])
def test_welded_contactor_says_pull_the_plug_after_a_second(sign):
    bench = Bench()
    bench.end_session()
    bench.tick()
    setattr(bench.seen, sign, 0 if sign == "mirror_open" else 2)
    bench.run(750)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert (bench.first, bench.sup.pull_the_plug) == ("contactor-welded", 1)


@pytest.mark.parametrize("half", ["top_sense", "deck_sense"])
def test_half_waves_through_an_open_contactor_count_as_current(half):
    bench = Bench()
    bench.end_session()
    setattr(bench.seen, half, 1)
    bench.run(1_000)
    assert bench.first == "contactor-welded"


def test_current_is_not_ours_to_judge_while_the_original_thermostat_has_the_oven():
    bench = Bench()
    bench.end_session()
    bench.seen.selector_ours = 0
    bench.seen.top_sense = bench.seen.deck_sense = 2
    bench.run(5_000)
    assert bench.sup.first_out == L.NONE
    bench.seen.mirror_open = 0
    bench.run(1_000)
    assert bench.first == "contactor-welded"


@pytest.mark.parametrize("bounced", [0, 1])
def test_unsensed_contactor_accuses_nobody(bounced):
    bench = Bench(sensed=False)
    bench.seen.mirror_bounced = bounced
    bench.contactor(0)
    bench.run(5_000)
    bench.contactor(1)
    bench.run(5_000)
    assert bench.sup.first_out == L.NONE


def test_contactor_that_does_not_close_trips_after_a_second():
    bench = Bench()
    bench.contactor(1)
    bench.seen.mirror_open = 1
    bench.run(750)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "contactor-open"


@pytest.mark.parametrize(("zone", "sense"), [("top", 1), ("top", 2), ("deck", 1), ("deck", 2)])
def test_any_current_in_the_start_test_trips_at_once(zone, sense):
    bench = Bench()
    bench.seen.proving = 1
    set_zone(bench, zone, sense=sense)
    permit = bench.tick()
    assert (bench.first, permit.granted) == ("start-test", 0)


def test_start_test_without_current_passes_and_without_sensors_too():
    for sensed in (True, False):
        bench = Bench(sensed=sensed)
        bench.seen.proving = 1
        bench.seen.top_on = 1
        bench.tick(ticks=3)
        assert bench.sup.first_out == L.NONE


def test_current_outside_the_start_test_is_no_start_test():
    bench = running()
    assert not bench.is_present("start-test")


# --- contacts ------------------------------------------------------------------------------------------


def test_limiter_open_trips_at_once():
    bench = Bench()
    bench.tick()
    bench.seen.limit_ok = 0
    assert bench.tick().contactor == 0
    assert bench.first == "limiter-open"


def test_fan_that_does_not_turn_denies_at_once_and_trips_after_five_seconds():
    bench = Bench()
    bench.tick()
    bench.seen.fan_ok = 0
    assert bench.tick().granted == 0
    bench.run(4_500)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "fan-stopped"


@pytest.mark.parametrize("field", ["fan_on", "selector_ours"])
def test_fan_at_rest_accuses_nobody_while_it_is_not_ours_to_run(field):
    bench = Bench()
    bench.end_session()
    bench.seen.fan_ok = 0
    setattr(bench.seen, field, 0)
    bench.run(10_000)
    assert bench.sup.first_out == L.NONE


def test_open_door_is_told_and_forgotten():
    bench = Bench()
    bench.seen.door_shut = 0
    bench.tick()
    assert bench.is_present("door-open") and not bench.is_present("limiter-open")
    bench.seen.door_shut = 1
    bench.tick()
    assert not bench.is_present("door-open")


def test_current_through_an_open_contactor_accuses_the_contactor_and_no_relay():
    bench = Bench()
    bench.end_session()
    bench.seen.top_sense = bench.seen.deck_sense = 2
    bench.run(3_000)
    assert bench.is_present("contactor-welded")
    assert not bench.is_present("relay-welded")
    for zone in (bench.sup.wiring_rules.top, bench.sup.wiring_rules.deck):
        assert vars(zone) == {"stuck_ms": 0, "missing_ms": 0, "half_ms": 0}


def test_each_age_of_a_zone_starts_from_nothing():
    zone = load("safety.wiring_rules").ZoneCurrent()
    zone.judge(1, 1, 1, 250)
    zone.judge(0, 1, 1, 250)
    assert vars(zone) == {"stuck_ms": 0, "missing_ms": 1000, "half_ms": 0}
    zone.judge(2, 1, 1, 250)
    zone.judge(2, 0, 1, 250)
    assert vars(zone) == {"stuck_ms": 250, "missing_ms": 750, "half_ms": 0}
    for _ in range(4):
        zone.judge(2, 1, 1, 250)
    zone.judge(0, 0, 1, 250)
    zone.judge(1, 0, 1, 250)
    zone.judge(0, 1, 1, 250)
    assert vars(zone) == {"stuck_ms": 0, "missing_ms": 1000, "half_ms": 0}
    zone.judge(0, 0, 0, 250)
    assert vars(zone) == {"stuck_ms": 0, "missing_ms": 0, "half_ms": 0}


# --- what comes and goes ---------------------------------------------------------------------------------


def closed_bench():
    bench = Bench()
    bench.contactor(1)
    bench.run(L.MIRROR_MS)
    return bench


def ticks_until(bench, name, change, most=4000):
    for n in range(most):
        change(n)
        bench.tick()
        if bench.first == name:
            return n + 1
    return None


@pytest.mark.parametrize(("good", "bad", "seen"), [(0, 1, True), (1, 1, True), (3, 1, True), (4, 1, False)])
def test_contactor_that_disagrees_again_and_again_trips(good, bad, seen):
    bench = closed_bench()

    def change(n):
        bench.seen.mirror_open = 1 if n % (good + bad) >= good else 0

    ticks = ticks_until(bench, "contactor-chatter" if good else "contactor-open", change)
    assert (ticks is not None) is seen
    if seen:
        assert ticks * TICK_MS <= 40_000


def test_contactor_that_was_both_within_one_look_counts_as_disagreeing():
    bench = closed_bench()
    bench.seen.mirror_bounced = 1
    ticks = ticks_until(bench, "contactor-chatter", lambda n: None)
    assert ticks * TICK_MS == L.CHATTER_MS // L.LEAK_WEIGHT


def test_contactor_that_is_told_to_stay_open_and_closes_again_and_again_trips():
    bench = closed_bench()
    bench.end_session()
    bench.run(L.MIRROR_MS)

    def change(n):
        bench.seen.mirror_open = n % 2

    ticks = ticks_until(bench, "contactor-chatter", change)
    assert ticks is not None and ticks * TICK_MS <= 10_000


@pytest.mark.parametrize("on", [0, 1])
@pytest.mark.parametrize("first_ms", [1, 333, 334, 250])
def test_contactor_on_its_way_is_given_its_whole_time_and_no_more(on, first_ms):
    chatter = load("safety.wiring_rules").Chatter()
    seen = Bench().seen
    for told in (1 - on, on):
        seen.contactor_on = told
        seen.mirror_open = told  # the other one: it has not followed
        chatter.judge(seen, first_ms)
        assert chatter.judge(seen, L.MIRROR_MS - 1 - first_ms) == chatter.level_ms == 0
    chatter.judge(seen, 1)
    assert chatter.level_ms == L.LEAK_WEIGHT


def test_new_chatter_accuses_nobody():
    assert vars(load("safety.wiring_rules").Chatter()) == {"level_ms": 0, "was_on": 0, "since_ms": 0}


def test_contactor_that_moves_as_told_never_chatters():
    bench = Bench()

    def change(n):
        bench.contactor(n // 8 % 2)
        if n % 8 < 3:  # late as a monostable lets it be
            bench.seen.mirror_open = 1 - bench.seen.mirror_open

    assert ticks_until(bench, "contactor-chatter", change) is None


@pytest.mark.parametrize("zone", ["top", "deck"])
@pytest.mark.parametrize(("good", "bad", "seen"), [(1, 1, True), (3, 1, True), (4, 1, False)])
def test_element_wire_that_is_loose_trips_although_it_conducts_between(zone, good, bad, seen):
    bench = closed_bench()

    def change(n):
        bench.relays(1, 1)
        if n % (good + bad) >= good:
            setattr(bench.seen, zone + "_sense", 0)

    ticks = ticks_until(bench, "no-current", change)
    assert (ticks is not None) is seen
    if seen:
        assert ticks * TICK_MS <= 20_000


def test_level_leaks_to_nothing_and_no_further():
    leaking = load("safety.wiring_rules").leaking
    assert [leaking(level, 0, 250, 4000) for level in (0, 249, 250, 251, 4000)] == [0, 0, 0, 1, 3750]
    assert [leaking(level, 1, 250, 4000) for level in (0, 2999, 3000, 3001, 4000)] == [1000, 3999, 4000, 4000, 4000]
