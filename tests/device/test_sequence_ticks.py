"""How a running evening moves on, tick by tick: preheat, soak, lift, bake, recovery, legs, cooling."""

import pytest
from test_sequence_rules import S, leg, made, put, step


def test_states_and_stages_have_the_names_that_are_told():
    assert S.STATES == ("idle", "running", "held", "stopping", "stopped", "complete", "aborted")
    assert [S.STATES[n] for n in (S.IDLE, S.RUNNING, S.HELD, S.STOPPING, S.STOPPED, S.COMPLETE, S.ABORTED)] == [
        *S.STATES
    ]
    names = ("none", "prove", "preheat", "soak", "load", "bake", "recover", "cool", "lift", "rest", "learn")
    assert names == S.STAGES
    assert all(S.STAGES[getattr(S, name.upper())] == name for name in names[1:])


@pytest.mark.parametrize(
    ("number", "pv_mc", "ramping", "soaks"),
    [
        (0, 444_999, 0, False), (0, 445_000, 0, True), (0, 445_000, 1, False), (0, 500_000, 0, True),
        (1, 445_000, 0, True), (1, 460_000, 0, True), (1, 460_001, 0, False),
    ],
)  # fmt: skip
def test_preheat_ends_near_the_setpoint_without_a_ramp_and_a_later_leg_from_above_as_well(
    number, pv_mc, ramping, soaks
):
    seq = put(made(leg(ramp=90), leg(ramp=90)), S.RUNNING, S.PREHEAT)
    seq._take_leg(number)
    seq.ramp.on = ramping
    seq.ramp._rest = 0
    step(seq, pv_mc)
    assert seq.stage == (S.SOAK if soaks else S.PREHEAT)
    assert seq.arrived == (1 if soaks else 0)
    assert seq.stage_ms == (0 if soaks else 1_250)


@pytest.mark.parametrize("stage", range(len(S.STAGES)))
def test_reading_that_is_not_believed_moves_nothing_on(stage):
    seq = put(made(), S.RUNNING, stage, 500_000)
    step(seq, usable=False)
    assert seq.stage == stage


@pytest.mark.parametrize("stage", [S.NO_STAGE, S.PROVE, S.LOAD, S.COOL, S.REST, S.LEARN])
def test_stages_that_a_person_or_the_heater_ends_stay(stage):
    seq = put(made(), S.RUNNING, stage, 500_000)
    seq.stone_ready = 1
    assert step(seq) == (S.RUNNING, stage)


@pytest.mark.parametrize(
    ("wait", "ready", "stage_ms", "after", "unready"),
    [
        (5, 1, 59_749, "soak", 0), (5, 1, 59_750, "lift", 0), (5, 0, 359_749, "soak", 0), (5, 0, 359_750, "lift", 1),
        (5, 1, 359_750, "lift", 0), (0, 0, 900_000, "soak", 0), (0, 1, 59_750, "lift", 0),
    ],
)  # fmt: skip
def test_soak_lasts_its_time_and_then_waits_for_the_stone(wait, ready, stage_ms, after, unready):
    seq = put(made(leg(wait=wait)), S.RUNNING, S.SOAK, stage_ms)
    seq.stone_ready, seq.unready = ready, 1
    step(seq)
    assert S.STAGES[seq.stage] == after
    if stage_ms >= 59_750:
        assert seq.unready == unready


@pytest.mark.parametrize(("lift", "stage"), [(6, S.LIFT), (0, S.LOAD)])
def test_bread_is_due_after_the_lift_where_there_is_one(lift, stage):
    seq = put(made(leg(lift=lift, stone=0)), S.RUNNING, S.SOAK, 60_000)
    assert step(seq) == (S.RUNNING, stage)


@pytest.mark.parametrize(("stage_ms", "stage"), [(29_749, S.LIFT), (29_750, S.LOAD)])
def test_lift_lasts_its_time(stage_ms, stage):
    assert step(put(made(), S.RUNNING, S.LIFT, stage_ms)) == (S.RUNNING, stage)


def test_leg_that_only_heats_goes_on_after_its_soak():
    seq = put(made(leg(breads=0), leg(dome=500, ramp=90)), S.RUNNING, S.SOAK, 60_000)
    assert step(seq) == (S.RUNNING, S.PREHEAT)
    assert (seq.leg, seq.ramp.on) == (1, 1)
    seq = put(made(leg(breads=0)), S.RUNNING, S.SOAK, 60_000)
    assert step(seq) == (S.COMPLETE, S.COOL)


@pytest.mark.parametrize("state", [S.RUNNING, S.HELD])
@pytest.mark.parametrize(("stage_ms", "out"), [(59_749, False), (59_750, True)])
def test_bread_is_out_after_its_time_also_while_held(state, stage_ms, out):
    seq = put(made(), state, S.BAKE, stage_ms)
    assert step(seq, 100_000, usable=state == S.RUNNING) == (state, S.RECOVER if out else S.BAKE)
    assert (seq.breads_done, seq.leg_done) == ((1, 1) if out else (0, 0))
    assert seq.stage_ms == (0 if out else 59_999)


def test_last_bread_ends_the_leg_or_the_evening_and_a_held_one_waits_for_a_person():
    for legs, after in (((leg(), leg()), (S.RUNNING, S.PREHEAT)), ((leg(),), (S.COMPLETE, S.COOL))):
        seq = put(made(*legs), S.RUNNING, S.BAKE, 60_000)
        seq.breads_done, seq.leg_done = 4, 1
        assert step(seq) == after
        assert seq.breads_done == 5
        held = put(made(*legs), S.HELD, S.BAKE, 60_000)
        held.leg_done = 1
        assert step(held) == (S.HELD, S.RECOVER)
        assert held.leg_done == 2 and held.leg == 0


def test_without_a_number_of_breads_the_evening_goes_on_until_it_is_stopped():
    seq = put(S.Sequence(450_000, bake_ms=60_000), S.RUNNING, S.BAKE, 60_000)
    seq.leg_done = 99
    assert step(seq) == (S.RUNNING, S.RECOVER)
    assert step(seq) == (S.RUNNING, S.LOAD)


@pytest.mark.parametrize(
    ("pv_mc", "ready", "stage_ms", "due", "unready"),
    [
        (445_000, 1, 0, True, 0), (444_999, 1, 119_750, False, 0), (445_000, 0, 119_749, False, 0),
        (445_000, 0, 119_750, True, 1), (445_000, 1, 119_750, True, 0),
    ],
)  # fmt: skip
def test_recovery_needs_the_dome_and_the_stone_or_its_longest_time(pv_mc, ready, stage_ms, due, unready):
    seq = put(made(), S.RUNNING, S.RECOVER, stage_ms)
    seq.stone_ready = ready
    step(seq, pv_mc)
    assert seq.stage == (S.LIFT if due else S.RECOVER)
    assert seq.unready == unready


@pytest.mark.parametrize(
    ("pv_mc", "by_heat", "ready", "due"),
    [
        (410_000, 1, 1, True), (409_999, 1, 1, False), (444_999, 1, 1, True), (410_000, 0, 1, False),
        (410_000, 1, 0, False), (445_000, 1, 1, True), (445_000, 1, 0, False),
    ],
)  # fmt: skip
def test_by_heat_a_bread_may_be_due_40_kelvin_before_the_dome_is_back(pv_mc, by_heat, ready, due):
    seq = put(made(), S.RUNNING, S.RECOVER)
    seq.by_heat, seq.stone_ready, seq.unready = by_heat, ready, 1
    step(seq, pv_mc)
    assert seq.stage == (S.LIFT if due else S.RECOVER)
    if due:
        assert seq.unready == 0 and seq.by_heat == 0  # told anew in the stage that begins
    late = put(made(), S.RUNNING, S.RECOVER, 119_750)
    late.by_heat = 1
    assert step(late, min(pv_mc, 444_999)) == (S.RUNNING, S.RECOVER)  # time alone releases none before the dome is back
    other = put(made(), S.RUNNING, S.LOAD)  # and in no other stage
    other.by_heat = other.stone_ready = 1
    assert step(other, pv_mc) == (S.RUNNING, S.LOAD)


def test_recovery_without_a_longest_time_waits_for_the_stone():
    seq = put(made(leg(recover=0)), S.RUNNING, S.RECOVER, 900_000)
    assert step(seq) == (S.RUNNING, S.RECOVER)
    assert seq.unready == 0


@pytest.mark.parametrize("stage", range(len(S.STAGES)))
def test_ramp_moves_the_setpoint_while_preheating_and_in_the_start_test_before_it(stage):
    for first in (S.PREHEAT, S.LEARN):
        seq = made(leg(ramp=90, soak=8))
        seq.ramp.begin()
        put(seq, S.RUNNING, stage).first_stage = first
        step(seq, 100_000)
        moves = stage == S.PREHEAT or (stage == S.PROVE and first == S.PREHEAT)
        assert seq.setpoint_mc == (100_006 if moves else 450_000) == ~seq.setpoint_inverted
        step(seq, 100_000)
        assert seq.setpoint_mc == (100_012 if moves else 450_000) == ~seq.setpoint_inverted
        plain = put(made(leg(soak=8)), S.RUNNING, stage)
        step(plain, 100_000)
        assert plain.setpoint_mc == 450_000  # a leg without one


def test_ramp_begins_in_the_tick_of_the_last_bread_of_the_leg_before():
    """The leg's own setpoint, for one tick, would be answered by full output."""
    seq = put(made(leg(), leg(dome=500, ramp=90)), S.RUNNING, S.BAKE, 60_000)
    seq.leg_done = 1
    step(seq, 440_000)
    assert (seq.leg, seq.stage, seq.ramp.on) == (1, S.PREHEAT, 1)
    assert seq.setpoint_mc == 440_006 == ~seq.setpoint_inverted


# --- cooling ------------------------------------------------------------------------------------


def cool(state=S.STOPPING, pv_mc=199_999, ticks=240, **told):
    seq = put(made(), state, S.COOL)
    for name in ("cooled",):
        setattr(seq, name, told.pop(name, 1))
    for _ in range(ticks):
        step(seq, pv_mc, **told)
    return seq


@pytest.mark.parametrize(("ticks", "ends"), [(239, False), (240, True)])
def test_oven_has_cooled_when_it_has_been_below_for_a_minute(ticks, ends):
    seq = cool(ticks=ticks)
    assert (seq.state, seq.stage) == ((S.STOPPED, S.NO_STAGE) if ends else (S.STOPPING, S.COOL))


@pytest.mark.parametrize("told", [{"pv_mc": 200_000}, {"usable": False}, {"cooled": 0}])
def test_oven_has_not_cooled_by_a_reading_that_is_too_high_or_not_believed(told):
    assert cool(ticks=500, **told).state == S.STOPPING


def test_minute_is_a_minute():
    seq = put(made(), S.STOPPING, S.COOL)
    assert step(seq, 100_000, dt_ms=59_999) == (S.STOPPING, S.COOL)
    assert step(seq, 100_000, dt_ms=1) == (S.STOPPED, S.NO_STAGE)


@pytest.mark.parametrize("stage", [stage for stage in range(len(S.STAGES)) if stage not in (S.BAKE, S.COOL)])
def test_held_evening_that_cools_stays_where_it_was_and_counts_no_bread(stage):
    seq = put(made(), S.HELD, stage, 100_000)
    for _ in range(300):
        assert step(seq, 100_000) == (S.HELD, stage)
    assert seq.breads_done == 0 and seq.stage_ms == 100_000


def test_moment_above_starts_the_minute_again():
    seq = cool(ticks=239)
    step(seq, 200_000)
    for _ in range(239):
        step(seq, 199_999)
    assert seq.state == S.STOPPING
    assert step(seq, 199_999) == (S.STOPPED, S.NO_STAGE)


@pytest.mark.parametrize(("state", "after"), [
    (S.COMPLETE, (S.COMPLETE, S.NO_STAGE)), (S.ABORTED, (S.ABORTED, S.COOL)), (S.IDLE, (S.IDLE, S.NO_STAGE)),
])  # fmt: skip
def test_cooled_evening_keeps_its_end_and_an_aborted_one_its_stage(state, after):
    seq = cool(state)
    assert (seq.state, seq.stage) == after
