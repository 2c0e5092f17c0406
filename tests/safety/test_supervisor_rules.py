"""The rules about the oven as the supervisor uses them: what each is shown, and that its condition trips or warns."""

import pytest
from safety_bench import CAP_MS, TICK_MS, Bench, L, load

UNTESTED_FIRST = {
    "armed": 0, "self_test": 0, "release_reduced": 0, "_serial_seen": -1, "_stale_ms": 750,
    "_since_session_ms": CAP_MS,
    "first_out": 0, "trips_in_a_row": 0, "locked_out": 0, "latch_changed": 0, "pull_the_plug": 0, "holding": 0,
    "stopping": 0, "restart_mc": 250_000, "release_mc": 480_000, "_high_limit_mc": 500_000,
    "_limit_mc": 500_000, "_limit_inverted": ~500_000,
    "_ceiling_mc": 480_000, "_ceiling_inverted": ~480_000,
}  # fmt: skip


def integers(thing):
    return {name: value for name, value in vars(thing).items() if isinstance(value, int)}


def test_new_supervisor_is_on_the_bad_side_in_everything():
    sup = load("safety.supervisor").Supervisor(500_000, 480_000)
    assert integers(sup) == UNTESTED_FIRST
    assert vars(sup.permit) == {"granted": 0, "contactor": 0, "tripped": 0, "serial": 0}
    assert (sup.weak.learned_ms, sup.attendance.attend_mc) == (0, L.ATTEND_MC)
    assert (sup.attendance.attend_ms, sup.attendance.session_max_ms) == (15 * 60_000, 300 * 60_000)
    assert sup.slipped.hold_pm == 450
    for table in (sup.flags, sup.present, sup.states, sup._ages_ms):
        assert len(table) == L.COUNT and not any(table)
    for zone in (sup.wiring_rules.top, sup.wiring_rules.deck):
        assert vars(zone) == {"stuck_ms": 0, "missing_ms": 0, "half_ms": 0}


def heating(out_pm=1000, pv_mc=20_000, **more):
    """Full output of an unsensed oven, so that only the reading tells."""
    bench = Bench(stone=False, sensed=False, **more)
    bench.dome.reads(pv_mc)
    bench.set_setpoint(450_000)
    bench.contactor(1)
    bench.relays(1, 1)
    bench.seen.out_pm = out_pm
    return bench


@pytest.mark.parametrize(("out_pm", "trips"), [(949, 0), (950, 1), (951, 1)])
def test_cold_oven_that_does_not_rise_at_full_output_trips(out_pm, trips):
    bench = heating(out_pm)
    bench.run(L.NO_RISE_MS)
    assert bench.is_present("no-rise") == trips
    assert (bench.first == "no-rise") == trips


def test_output_that_was_not_full_does_not_count():
    bench = heating()
    bench.run(L.NO_RISE_MS - TICK_MS)
    bench.seen.out_pm = 949
    bench.tick()
    bench.seen.out_pm = 950
    bench.run(L.NO_RISE_MS - TICK_MS)
    assert bench.sup.first_out == L.NONE


def test_reversed_couple_trips_after_two_seconds():
    bench = heating()
    bench.seen.session = bench.seen.out_pm = 0
    bench.tick()
    bench.seen.session, bench.seen.out_pm = 1, 1000
    bench.tick()
    bench.dome.reads(20_000 - L.REVERSED_MK - 1)
    bench.run(1_750)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "probe-reversed"


def test_couple_whose_reading_has_risen_is_not_called_reversed():
    bench = heating()
    bench.seen.session = bench.seen.out_pm = 0
    bench.tick()
    bench.seen.session, bench.seen.out_pm = 1, 1000
    for pv_mc in (20_000, 20_000 + L.REVERSED_ROSE_MK, 20_000 - L.REVERSED_MK - 1):
        bench.dome.reads(pv_mc)
        bench.run(3_000)
    assert not bench.is_present("probe-reversed")


def test_reading_that_all_the_output_does_not_bring_back_is_a_slipped_probe():
    bench = heating(500, pv_mc=450_000)
    bench.run(L.SLIP_SETTLE_MS + 60_000)
    bench.seen.out_pm = 1000
    bench.dome.reads(450_000 - L.SAG_MK)
    bench.run(L.SAG_MS - TICK_MS)
    assert bench.sup.first_out == L.NONE
    bench.tick(ticks=2)
    assert bench.first == "probe-slipped"


def test_probe_that_fell_out_of_a_hot_oven_is_not_called_reversed():
    bench = heating(pv_mc=300_000)
    bench.tick()
    bench.seen.out_pm = 0
    bench.dome.reads(45_000)
    bench.tick()
    bench.seen.out_pm = 1000
    bench.tick()
    bench.dome.reads(20_000)
    bench.run(L.FELL_MS)
    assert bench.first == "probe-fell"
    assert not bench.is_present("probe-reversed")


def test_reading_that_fell_and_stays_low_trips():
    bench = heating(pv_mc=400_000)
    bench.tick()
    bench.dome.reads(250_000)
    bench.run(L.FELL_MS - TICK_MS)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "probe-fell"


@pytest.mark.parametrize("zones", [(1, 0), (0, 1), (1, 1)])
def test_rise_while_any_relay_is_driven_accuses_nobody(zones):
    bench = heating(out_pm=500, pv_mc=200_000)
    bench.relays(*zones)
    for n in range(600):
        bench.dome.reads(200_000 + 50 * n)
        bench.tick()
    assert bench.sup.first_out == L.NONE
    assert bench.sup.runaway.undriven_ms == 0


def undriven(bench, ms, step_mc=50):
    """No relay is driven and the reading climbs."""
    bench.relays(0, 0)
    bench.seen.out_pm = 0
    for _ in range(ms // TICK_MS):
        bench.dome.reads(bench.dome.pv_mc + step_mc)
        bench.tick()


def test_rise_without_any_drive_trips_and_then_says_pull_the_plug():
    bench = heating(pv_mc=300_000)
    bench.tick()
    bench.sup.runaway.calm_ms = L.UNDRIVEN_CALM_MS
    undriven(bench, L.UNDRIVEN_MS + L.UNDRIVEN_SPAN_MS - 2 * TICK_MS)
    assert bench.sup.first_out == L.NONE
    undriven(bench, TICK_MS)
    assert bench.first == "undriven-rise"
    bench.end_session()
    undriven(bench, L.UNDRIVEN_SPAN_MS)
    assert bench.is_present("heat-uncontrolled")
    assert bench.sup.pull_the_plug == 1


@pytest.mark.parametrize("spoil", ["contactor", "latch", "age", "rise"])
def test_pull_the_plug_needs_contactor_open_a_trip_the_time_and_a_rise(spoil):
    bench = heating(pv_mc=300_000)
    bench.end_session()
    bench.sup._since_session_ms = 0
    bench.sup.runaway.rising = 1
    bench.sup.runaway.undriven_ms = L.ESCALATE_MS - TICK_MS
    bench.sup.kinds[L.UNDRIVEN_RISE] = L.WARN
    if spoil != "latch":
        bench.sup.raise_event(L.BOX_HOT)
    if spoil == "contactor":
        bench.contactor(1)
    if spoil == "age":
        bench.sup.runaway.undriven_ms -= 1
    if spoil == "rise":
        bench.sup.runaway.rising = 0
    bench.tick()
    assert not bench.is_present("heat-uncontrolled")
    bench.contactor(0)
    bench.sup.raise_event(L.BOX_HOT)
    bench.sup.runaway.rising = 1
    bench.tick()
    assert bench.is_present("heat-uncontrolled")


def test_pull_the_plug_is_told_exactly_at_its_time():
    bench = heating(pv_mc=300_000)
    bench.end_session()
    bench.sup._since_session_ms = 0
    bench.sup.raise_event(L.BOX_HOT)
    bench.sup.runaway.rising = 1
    bench.sup.runaway.undriven_ms = L.ESCALATE_MS - TICK_MS
    bench.tick()
    assert bench.is_present("heat-uncontrolled")


@pytest.mark.parametrize(("since_ms", "counts"), [(L.AFTER_SESSION_MS - 251, True), (L.AFTER_SESSION_MS - 250, False)])
def test_long_after_an_evening_a_rise_accuses_nobody(since_ms, counts):
    bench = heating(pv_mc=200_000)
    bench.tick()
    assert bench.sup._since_session_ms == 0
    bench.end_session()
    bench.tick()
    assert bench.sup._since_session_ms == TICK_MS
    bench.sup._since_session_ms = since_ms
    bench.sup.runaway.undriven_ms = 10_000
    bench.tick()
    assert bench.sup.runaway.undriven_ms == (10_250 if counts else 0)


def test_rise_under_the_original_thermostat_accuses_nobody():
    bench = heating(pv_mc=200_000)
    bench.tick()
    bench.end_session()
    bench.sup.runaway.undriven_ms = 10_000
    bench.seen.selector_ours = 0
    bench.tick()
    assert bench.sup.runaway.undriven_ms == 0
    assert bench.sup.runaway.span_ms == 0


def test_reading_above_the_setpoint_trips_after_a_second():
    bench = heating(pv_mc=450_000)
    bench.tick()
    bench.dome.reads(450_000 + L.OVER_MK + 1_000)
    bench.run(750)
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "over-setpoint"


def test_slow_preheat_warns():
    bench = heating(pv_mc=99_999, learned_rise_ms=10_000)
    bench.tick()
    for n in range(17_000 // TICK_MS):
        bench.dome.reads(100_000 + n)
        bench.tick()
    assert bench.is_present("element-weak")
    assert bench.sup.first_out == L.NONE


@pytest.mark.parametrize("session", [1, 0])
def test_ripple_warns_in_a_calm_session(session):
    bench = heating(out_pm=300, pv_mc=300_000)
    bench.set_setpoint(300_000)
    bench.seen.session = session
    bench.run(L.CALM_MS)
    for n in range(2 * L.RIPPLE_SPAN_MS // TICK_MS):
        bench.dome.reads(300_000 + (5_000 if n // 20 % 2 else 0))
        bench.tick()
    assert bench.is_present("probe-near-element") == (session == 1)
    assert bench.sup.first_out == L.NONE


def test_calm_needs_its_time():
    bench = heating(out_pm=300, pv_mc=300_000)
    bench.run(L.CALM_MS - TICK_MS)
    assert bench.sup.ripple.span_ms == 0
    bench.tick()
    assert bench.sup.ripple.span_ms == TICK_MS


def test_reading_that_is_not_believed_teaches_no_rule_anything():
    bench = heating(pv_mc=200_000)
    bench.tick()
    rules = (bench.sup.no_rise, bench.sup.fell, bench.sup.runaway, bench.sup.weak, bench.sup.ripple)
    before = [dict(vars(rule)) for rule in rules]
    bench.dome.fails(1)
    bench.dome.pv_mc = 20_000
    bench.tick()
    assert [dict(vars(rule)) for rule in rules] == before
    bench.end_session()
    age_ms = bench.sup._since_session_ms
    bench.tick()
    assert bench.sup._since_session_ms == age_ms + TICK_MS


@pytest.mark.parametrize(
    "name",
    [
        "no-rise", "probe-reversed", "probe-fell", "over-setpoint", "undriven-rise", "probes-disagree",
        "probe-slipped",
    ],
)  # fmt: skip
def test_condition_of_a_rule_stays_as_it_is_while_the_reading_is_not_believed(name):
    i = L.CONDITION_NAMES.index(name)
    bench = Bench()
    bench.tick()
    bench.sup.flags[i] = 1
    bench.sup.present[i] = 1
    bench.sup._ages_ms[i] = 123
    bench.dome.fails(1)
    bench.tick()
    assert (bench.sup.flags[i], bench.sup.present[i], bench.sup._ages_ms[i]) == (2, 1, 123)


def test_reading_out_of_range_counts_only_when_it_is_believed_to_be_one():
    bench = Bench()
    bench.dome.reads(-20_000)
    bench.tick()
    assert bench.sup.unsteady.level_ms == L.UNSTEADY_WEIGHT * TICK_MS
    bench.dome.usable = False
    bench.tick()
    assert bench.sup.unsteady.level_ms == 2 * L.UNSTEADY_WEIGHT * TICK_MS


def test_one_old_reading_is_flagged_but_no_condition_yet():
    bench = Bench()
    bench.tick()
    assert (bench.sup._stale_ms, bench.sup.flags[L.READING_STALE]) == (0, 0)
    bench.is_fresh = False
    bench.tick(1)
    assert (bench.sup._stale_ms, bench.sup.flags[L.READING_STALE]) == (1, 1)


def test_unlock_bears_one_tick_without_a_reading():
    bench = Bench()
    bench.tick()
    bench.sup.locked_out = 1
    bench.is_fresh = False
    bench.tick()
    assert bench.sup._stale_ms == L.STALE_OK_MS
    assert bench.sup.unlock(bench.seen) == 1


def test_contactor_needs_each_contact_whatever_was_latched():
    for contact, i in (("limit_ok", L.LIMITER_OPEN), ("enable", L.ENABLE_OPEN), ("selector_ours", L.SELECTOR_ORIGINAL)):
        bench = Bench()
        bench.sup.kinds[i] = L.WARN
        setattr(bench.seen, contact, 0)
        assert bench.tick().contactor == 0
    bench = Bench()
    bench.sup.kinds[L.SELF_TEST] = L.WARN
    bench.sup.self_test = bench.module.FAILED
    assert bench.tick().contactor == 0


def test_stone_probe_that_is_not_believed_accuses_no_dome_probe():
    bench = Bench()
    for probe in (bench.dome, bench.stone):
        probe.reads(300_000)
    bench.set_setpoint(300_000)
    bench.run(L.CALM_MS)
    bench.stone.reads(400_000)
    bench.tick()
    assert bench.sup.flags[L.PROBES_DISAGREE] == 1
    bench.stone.usable = False
    bench.tick()
    assert bench.sup.flags[L.PROBES_DISAGREE] == 0


def test_any_hold_opens_the_contactor_whatever_its_contact_says():
    bench = Bench()
    bench.sup.kinds[L.DOOR_OPEN] = L.HOLD
    assert bench.tick().contactor == 1
    bench.seen.door_shut = 0
    assert bench.tick().contactor == 0
