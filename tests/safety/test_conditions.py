"""Every condition of the supervisor: just below, at, and just above its limit; how soon; what it does."""

import pytest
from safety_bench import CAP_MS, Bench, L, load

P = load("probes.reading")


def ticks_until(bench, name, at_most=40):
    """Ticks until the condition is present; the number of those in which heat was permitted."""
    permitted = 0
    for count in range(1, at_most + 1):
        permitted += bench.tick().granted
        if bench.is_present(name):
            return count, permitted
    raise AssertionError(name + " was not seen")


def stays_absent(bench, name, ticks=40):
    bench.tick(ticks=ticks)
    assert not bench.is_present(name)


# --- the high limit -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked_mc", "release_mc", "limit_mc", "ceiling_mc"),
    [
        (500_000, 480_000, 500_000, 480_000),
        (499_999, 480_000, 499_999, 479_999),
        (500_000, 260_000, 300_000, 260_000),
        (500_000, 120_000, 160_000, 120_000),
        (299_999, 260_000, 299_999, 260_000),
        (550_000, 530_000, 550_000, 530_000),
        (550_001, 530_001, 550_000, 530_000),
        (999_000, 999_000, 550_000, 530_000),
        (29_999, 480_000, 30_000, 10_000),
        (30_001, 480_000, 30_001, 10_001),
        (500_000, 29_999, 70_000, 30_000),
        (500_000, 30_001, 70_001, 30_001),
    ],
)
def test_limit_in_force_is_the_lowest_of_asked_release_and_compiled(asked_mc, release_mc, limit_mc, ceiling_mc):
    sup = load("safety.supervisor").Supervisor(asked_mc, release_mc)
    assert (sup.limit_mc, sup.ceiling_mc) == (limit_mc, ceiling_mc)
    assert sup.release_mc == min(max(release_mc, 30_000), 530_000)


@pytest.mark.parametrize(("reading_mc", "trips"), [(499_999, False), (500_000, True), (500_001, True)])
def test_high_limit_trips_within_one_tick_of_the_reading(reading_mc, trips):
    bench = Bench()
    bench.tick()
    bench.dome.limit_mc = reading_mc  # unfiltered: pv_mc, the median, has not followed
    permit = bench.tick()
    assert bench.is_present("high-limit") == trips
    assert (permit.granted, permit.contactor) == ((0, 0) if trips else (1, 1))


def test_high_limit_is_judged_even_of_a_reading_that_is_not_believed():
    bench = Bench()
    bench.tick()
    bench.dome.fails(P.JUMP)
    bench.dome.limit_mc = 500_000
    bench.tick()
    assert bench.first == "high-limit"


@pytest.mark.parametrize(("reading_mc", "trips"), [(539_999, False), (540_000, True)])
def test_stone_limit_stands_40_k_above_the_dome_limit(reading_mc, trips):
    bench = Bench()
    bench.tick()
    bench.stone.limit_mc = reading_mc
    permit = bench.tick()
    assert bench.is_present("stone-limit") == trips
    assert permit.granted == (0 if trips else 1)


# --- readings ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "name"),
    [
        (P.OPEN, "probe-open"), (P.SHORT_GROUND, "probe-short-ground"), (P.SHORT_SUPPLY, "probe-short-supply"),
        (P.SILENT, "probe-silent"), (P.STUCK, "probe-silent"), (P.GARBLED, "probe-silent"),
        (P.NONE_YET, "probe-silent"), (P.WRONG_CHIP, "probe-silent"),
        (P.RANGE, "reading-wrong"), (P.JUMP, "reading-wrong"),
    ],
)  # fmt: skip
def test_bad_reading_denies_at_once_and_trips_at_the_third(fault, name):
    bench = Bench()
    bench.tick()
    bench.dome.fails(fault)
    assert ticks_until(bench, name) == (3, 0)
    assert bench.first == name
    others = {"reading-wrong", name}
    assert {L.CONDITION_NAMES[i] for i in range(L.COUNT) if bench.sup.present[i]} <= others


@pytest.mark.parametrize("fault", [P.OPEN, P.SHORT_GROUND, P.SHORT_SUPPLY, P.STUCK, P.RANGE])
def test_two_bad_readings_deny_without_a_trip_and_leave_the_contactor_closed(fault):
    bench = Bench()
    bench.tick()
    bench.dome.fails(fault)
    for _ in range(2):
        permit = bench.tick()
        assert (permit.granted, permit.contactor) == (0, 1)
    bench.dome.reads(20_000)
    assert bench.tick().granted == 1
    bench.tick(ticks=7)  # eight good ones: two bad ones are forgotten
    bench.dome.fails(fault)
    bench.tick(ticks=2)
    assert bench.sup.first_out == L.NONE


@pytest.mark.parametrize(("good", "trips"), [(4, False), (3, True)])
def test_reading_that_fails_too_often_trips_though_never_three_in_a_row(good, trips):
    bench = Bench()
    for _ in range(60):
        bench.dome.fails(P.OPEN)
        bench.tick()
        bench.dome.reads(20_000)
        bench.tick(ticks=good)
    assert (bench.first == "reading-wrong") == trips


@pytest.mark.parametrize(("pv_mc", "good"), [(-15_001, False), (-15_000, False), (-14_999, True)])
def test_reading_below_any_kitchen_denies_and_trips(pv_mc, good):
    bench = Bench()
    bench.tick()
    bench.dome.reads(pv_mc)
    assert bench.tick().granted == (1 if good else 0)
    bench.tick(ticks=2)
    assert bench.is_present("reading-wrong") != good


def test_stale_reading_denies_after_one_tick_and_trips_after_three():
    bench = Bench()
    bench.tick()
    bench.is_fresh = False
    assert bench.tick().granted == 1  # a slow amplifier answers every second tick
    assert bench.tick().granted == 0
    assert bench.sup.first_out == L.NONE
    bench.tick()
    assert bench.first == "reading-stale"


def test_reading_that_is_new_every_second_tick_is_not_stale():
    bench = Bench()
    bench.tick()
    for _ in range(20):
        bench.is_fresh = not bench.is_fresh
        assert bench.tick().granted == 1
    stays_absent(bench, "reading-stale", 1)


def test_no_reading_since_start_is_stale_from_the_first_tick():
    bench = Bench()
    bench.is_fresh = False
    bench.seen.dome_serial = bench.sup._serial_seen
    assert bench.tick().granted == 0


@pytest.mark.parametrize(
    ("same_ms", "out_pm", "session", "trips"),
    [(89_999, 1, 1, False), (90_000, 1, 1, True), (90_000, 0, 1, False), (90_000, 1, 0, False), (90_001, 1, 1, True)],
)
def test_frozen_code_under_output_trips_after_90_s(same_ms, out_pm, session, trips):
    bench = Bench()
    bench.seen.session, bench.seen.out_pm, bench.dome.same_ms = session, out_pm, same_ms
    bench.tick()
    assert bench.is_present("reading-frozen") == trips


def test_stone_probe_trips_at_the_third_bad_reading():
    bench = Bench()
    bench.tick()
    bench.stone.usable = False
    assert ticks_until(bench, "stone-probe") == (3, 0)


def calm_bench(dome_mc, stone_mc):
    """Both probes have rested there long enough to count as calm."""
    bench = Bench()
    bench.dome.reads(dome_mc)
    bench.stone.reads(dome_mc)
    bench.set_setpoint(dome_mc)
    bench.run(L.CALM_MS)
    bench.stone.reads(stone_mc)
    return bench


@pytest.mark.parametrize(
    ("dome_mc", "apart_mk", "trips"),
    [(200_000, 50_000, False), (200_000, 50_001, True), (199_999, 60_000, False), (200_000, -90_000, False)],
)
def test_dome_far_below_the_stone_in_calm_trips_after_a_minute(dome_mc, apart_mk, trips):
    bench = calm_bench(dome_mc, dome_mc + apart_mk)
    bench.run(59_750)
    assert not bench.is_present("probes-disagree")
    bench.tick()
    assert bench.is_present("probes-disagree") == trips


def test_probes_that_disagree_accuse_nobody_outside_calm_or_session():
    bench = calm_bench(300_000, 360_000)
    bench.seen.session = 0
    bench.run(70_000)
    assert not bench.is_present("probes-disagree")
    bench = Bench()
    bench.dome.reads(300_000)
    bench.stone.reads(360_000)
    bench.run(L.CALM_MS + 59_500)
    assert not bench.is_present("probes-disagree")
    bench.run(500)
    assert bench.is_present("probes-disagree")


@pytest.mark.parametrize(
    ("box_mc", "hot", "warm"),
    [(59_999, 0, 0), (60_000, 0, 1), (69_999, 0, 1), (70_000, 1, 1), (-20_000, 1, 0), (-19_999, 0, 0)],
)
def test_box_temperature_warns_then_trips_after_two_seconds(box_mc, hot, warm):
    bench = Bench()
    bench.seen.box_mc = box_mc
    bench.run(1_750)
    assert not bench.is_present("box-hot") and not bench.is_present("box-warm")
    bench.tick()
    assert (bench.is_present("box-hot"), bench.is_present("box-warm")) == (hot, warm)


# --- time ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("gap_ms", "trips"), [(3_000, 0), (3_001, 1), (-3_000, 0), (-3_001, 1)])
def test_clocks_that_disagree_trip(gap_ms, trips):
    bench = Bench()
    bench.seen.clock_error_ms = gap_ms
    assert bench.tick().granted == 1 - trips
    assert bench.is_present("clock-wrong") == trips


@pytest.mark.parametrize(("session", "contactor", "trips"), [(1, 0, 1), (0, 1, 1), (0, 0, 0)])
def test_late_tick_trips_only_where_heat_was_possible(session, contactor, trips):
    bench = Bench()
    bench.tick()
    bench.seen.session = session
    bench.contactor(contactor)
    assert bench.tick(501).granted == 0
    assert bench.is_present("tick-late") == trips


@pytest.mark.parametrize("name", ["contactor_on", "top_on", "deck_on", "deadman_fired"])
def test_late_tick_by_a_write_of_our_own_accuses_nobody_only_while_everything_is_off(name):
    bench = Bench(sensed=False)
    bench.tick()
    bench.seen.own_write = 1
    setattr(bench.seen, name, 1)
    assert bench.tick(501).granted == 0
    assert bench.is_present("tick-late")
    assert bench.sup.own_writes.stalls == 0


@pytest.mark.parametrize(("dt_ms", "trips"), [(500, 0), (501, 0), (3_000, 0), (3_001, 1), (0, 1), (-1, 1), (-501, 1)])
def test_stall_by_a_write_of_our_own_is_excused_within_its_bound_and_never_permits_heat(dt_ms, trips):
    bench = Bench()
    bench.tick()
    bench.seen.own_write = 1
    late = dt_ms != 500
    assert bench.tick(dt_ms).granted == 1 - late
    assert bench.is_present("tick-late") == trips
    assert bench.sup.own_writes.stalls == (late and not trips)


def test_count_of_stalls_saturates():
    bench = Bench()
    bench.tick()
    bench.seen.own_write = 1
    bench.sup.own_writes.stalls = CAP_MS - 1
    for _ in range(3):
        bench.tick(501)
    assert bench.sup.own_writes.stalls == CAP_MS


@pytest.mark.parametrize("wrote", [0, 1])
def test_late_tick_is_excused_by_a_write_alone(wrote):
    bench = Bench()
    bench.tick()
    bench.seen.own_write = wrote
    bench.tick(501)
    assert bench.is_present("tick-late") == 1 - wrote


def test_late_tick_counts_as_two_periods_in_every_age():
    bench = Bench()
    bench.dome.fails(P.OPEN)
    bench.seen.session = 0
    bench.tick(2**29)
    assert bench.sup._ages_ms[L.PROBE_OPEN] == 500


# --- what a condition does ------------------------------------------------------------------------------


def test_enable_open_in_a_session_holds_and_opens_the_contactor():
    bench = Bench()
    bench.tick()
    bench.seen.enable = 0
    permit = bench.tick()
    assert (permit.granted, permit.contactor, bench.sup.holding, bench.sup.first_out) == (0, 0, 1, 0)
    assert bench.is_present("enable-open")
    bench.seen.enable = 1
    assert bench.tick().granted == 1
    assert bench.sup.holding == 0


def test_selector_away_in_a_session_holds():
    bench = Bench()
    bench.tick()
    bench.seen.selector_ours = 0
    permit = bench.tick()
    assert (permit.contactor, bench.sup.holding) == (0, 1)
    assert bench.is_present("selector-original")


def test_enable_or_selector_open_outside_a_session_is_no_condition():
    bench = Bench()
    bench.end_session()
    bench.seen.enable = bench.seen.selector_ours = 0
    assert bench.tick().contactor == 0
    assert not bench.is_present("enable-open") and not bench.is_present("selector-original")


def test_a_hold_or_stop_present_denies_even_if_the_contacts_are_good():
    bench = Bench()
    bench.tick()
    bench.sup.attendance.session_ms = CAP_MS
    permit = bench.tick()
    assert (permit.granted, permit.contactor, bench.sup.stopping, bench.sup.holding) == (0, 0, 1, 0)
    assert bench.is_present("session-long")
    bench.seen.enable = 0
    bench.tick()
    assert (bench.sup.stopping, bench.sup.holding) == (1, 1)


def test_nobody_present_stops_the_evening():
    bench = Bench(attend_mc=100_000, attend_min=1)
    assert bench.run(59_750).granted == 1
    assert bench.is_present("attend-soon") and not bench.is_present("attendance")
    assert bench.tick().granted == 0
    assert bench.is_present("attendance") and bench.sup.stopping


def test_attendance_is_counted_while_the_reading_is_bad():
    bench = Bench(attend_mc=100_000, attend_min=1)
    bench.dome.fails(P.OPEN)
    bench.run(60_000)
    assert bench.is_present("attendance")


def test_attendance_looks_at_the_reading_and_at_the_setpoint():
    bench = Bench(attend_mc=150_000, attend_min=1, session_min=2)
    bench.set_setpoint(100_000)
    bench.run(60_000)
    assert not bench.is_present("attendance")
    bench.dome.reads(150_000)
    bench.run(60_000)
    assert bench.is_present("attendance") and bench.is_present("session-long")


def test_low_release_and_lockout_are_told():
    bench = Bench()
    bench.sup.release_reduced = 1
    bench.sup.locked_out = 1
    permit = bench.tick()
    assert bench.is_present("not-commissioned") and bench.is_present("repeated-trips")
    assert (permit.granted, permit.contactor) == (0, 0)


def test_deadman_and_pin_readback_trip_at_once():
    for field, value, name in (("deadman_fired", 1, "deadman"), ("readback_ok", 0, "pin-readback")):
        bench = Bench()
        bench.tick()
        setattr(bench.seen, field, value)
        permit = bench.tick()
        assert (permit.granted, permit.contactor, bench.first) == (0, 0, name)


def test_a_permit_needs_the_dead_man_and_the_pins_whatever_was_latched():
    for field, value in (("deadman_fired", 1), ("readback_ok", 0)):
        bench = Bench()
        bench.sup.kinds[L.DEADMAN] = bench.sup.kinds[L.PIN_READBACK] = L.WARN
        setattr(bench.seen, field, value)
        permit = bench.tick()
        assert (permit.granted, permit.contactor) == (0, 1)


@pytest.mark.parametrize("name", ["high-limit", "memory-fault", "tick-late", "reading-wrong"])
def test_permit_is_denied_by_its_own_expression_and_not_only_by_the_latch(name):
    bench = Bench()
    bench.sup.kinds[L.CONDITION_NAMES.index(name)] = L.WARN
    bench.tick()
    dt_ms = 250
    if name == "high-limit":
        bench.dome.limit_mc = 500_000
    elif name == "memory-fault":
        bench.sup._ceiling_inverted ^= 1
    elif name == "tick-late":
        dt_ms = 501
    else:
        bench.dome.pv_mc = -15_000
    permit = bench.tick(dt_ms)
    assert (permit.granted, permit.contactor, bench.sup.first_out) == (0, 1, 0)


def test_every_condition_has_a_plain_sentence_that_fits_a_panel_and_an_act():
    conditions = load("safety.conditions").CONDITIONS
    assert tuple(row[0] for row in conditions) == L.CONDITION_NAMES
    assert len(conditions) == L.COUNT == len(set(L.CONDITION_NAMES))
    sentences = load("safety.sentences").rows()
    assert len(sentences) == L.COUNT
    for (name, kind, debounce_ms), (sentence, act) in list(zip(conditions, sentences, strict=True))[1:]:
        assert kind in (L.WARN, L.STOP, L.HOLD, L.TRIP)
        assert 0 <= debounce_ms <= 60_000
        assert 10 < len(sentence) <= 40 and sentence.endswith("."), name
        assert 10 < len(act) <= 70 and act.endswith((".", "?")), name
    for i in L.PULL_THE_PLUG:
        assert sentences[i][0].startswith("PULL THE PLUG")
