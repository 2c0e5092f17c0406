"""Every act and every tick of the evening's states, from every state and stage: what is taken, and where it leads."""

import itertools

import pytest

from host.shim.loader import world

S = world().load("tizzone.evening.sequence")
TICK_MS = 250
STATES = range(len(S.STATES))
STAGES = range(len(S.STAGES))
EVERYWHERE = list(itertools.product(STATES, STAGES))
#      dome ramp soak stone wait share breads bake sag recover lift lift_s rest
LEG = (450, 0, 1, 430, 5, 50, 2, 60, 20, 120, 6, 30, 300)


def everywhere(test):
    """A test of one state and stage, asked of all of them at once."""

    def asked():
        for state, stage in EVERYWHERE:
            try:
                test(state, stage)
            except AssertionError as error:
                raise AssertionError(f"{S.STATES[state]}, {S.STAGES[stage]}: {error}") from error

    asked.__name__, asked.__doc__ = test.__name__, test.__doc__
    return asked


def leg(**values):
    names = "dome ramp soak stone wait share breads bake sag recover lift lift_s rest".split()  # noqa: SIM905
    return [values.get(name, LEG[i]) for i, name in enumerate(names)]


def made(*legs):
    seq = S.Sequence(400_000)
    seq.use_plan(list(legs) or [leg()], 200_000)
    return seq


def put(seq, state, stage, stage_ms=1_000):
    seq.state, seq.stage, seq.stage_ms = state, stage, stage_ms
    return seq


def step(seq, pv_mc=450_000, usable=True, tripped=False, holding=False, stopping=False, dt_ms=TICK_MS):
    seq.step(pv_mc, usable, tripped, holding, stopping, dt_ms)
    return seq.state, seq.stage


def test_fresh_sequence_is_idle_and_asks_for_nothing():
    seq = S.Sequence(400_000)
    assert (seq.state, seq.stage, seq.stage_ms, seq.active, seq.session) == (S.IDLE, S.NO_STAGE, 0, 0, 0)
    assert (seq.soak_ms, seq.bake_ms, seq.breads, seq.cool_mc) == (900_000, 90_000, 0, 250_000)
    assert (seq.breads_done, seq.leg_done, seq.leg, seq.arrived, seq.unready, seq.cooled) == (0, 0, 0, 0, 0, 1)
    assert (seq.legs, seq.bakes, seq.stone_rule, seq.stone_ready, seq.by_heat) == ((), 1, 0, 0, 0)
    assert (seq.wait_ms, seq.recover_ms, seq.lift_ms, seq.rest_mc) == (0, 0, 0, 0)
    assert (seq.setpoint_mc, seq.setpoint_inverted, seq.ramp.on) == (400_000, ~400_000, 0)
    assert seq.first_stage == S.PREHEAT
    asks = S.Sequence(400_000, 1, 2, 3, 4, 5, 6)
    assert (asks.soak_ms, asks.bake_ms, asks.breads, asks.cool_mc, asks.wait_ms, asks.recover_ms) == (1, 2, 3, 4, 5, 6)
    assert asks.stone_rule == 1


def test_plan_gives_each_number_of_its_leg():
    seq = made(leg(ramp=90), leg(dome=300, breads=0, lift=0, soak=7))
    assert seq.cool_mc == 200_000 and seq.leg == 0 and len(seq.legs) == 2
    assert (seq.setpoint_mc, seq.soak_ms, seq.wait_ms, seq.breads, seq.bake_ms) == (450_000, 60_000, 300_000, 2, 60_000)
    assert (seq.recover_ms, seq.lift_ms, seq.rest_mc, seq.ramp.k_h) == (120_000, 30_000, 300_000, 90)
    assert (seq.stone_rule, seq.bakes, seq.leg_done) == (1, 1, 0)
    seq.leg_done = 2
    seq._take_leg(1)
    assert (seq.leg, seq.leg_done, seq.setpoint_mc, seq.soak_ms, seq.ramp.k_h) == (1, 0, 300_000, 420_000, 0)
    assert (seq.stone_rule, seq.bakes, seq.breads, seq.lift_ms) == (0, 0, 0, 0)  # no bread, no stone; no lift, no time
    assert made(leg(stone=0)).stone_rule == 0
    assert made(leg(lift_s=0)).lift_ms == 0


def test_setpoint_of_a_person_ends_ramp_and_rest():
    seq = put(made(leg(ramp=90)), S.RUNNING, S.RECOVER)
    seq.ramp.on = 1
    seq.rest()
    seq.set_setpoint(410_000)
    assert (seq.setpoint_mc, seq.setpoint_inverted, seq.ramp.on) == (410_000, ~410_000, 0)
    seq.resume()
    assert seq.setpoint_mc == 410_000


# --- acts ---------------------------------------------------------------------------------------


@everywhere
def test_start_is_taken_between_evenings_only(state, stage):
    for prove, learn_mc in itertools.product((False, True), (0, 240_000)):
        seq = put(made(leg(), leg(dome=300)), state, stage)
        seq._take_leg(1)
        seq.breads_done = seq.leg_done = seq.arrived = 3
        taken = state in (S.IDLE, S.STOPPED, S.COMPLETE)
        assert seq.start(prove, learn_mc) is taken
        if not taken:
            assert (seq.state, seq.stage, seq.stage_ms, seq.breads_done) == (state, stage, 1_000, 3)
            continue
        first = S.LEARN if learn_mc else S.PREHEAT
        assert (seq.state, seq.stage, seq.stage_ms) == (S.RUNNING, S.PROVE if prove else first, 0)
        assert (seq.breads_done, seq.leg_done, seq.arrived, seq.active, seq.session) == (0, 0, 0, 1, 1)
        assert seq.setpoint_mc == (learn_mc or 450_000) and seq.leg == (1 if learn_mc else 0)
        seq.proved()
        assert seq.stage == first


def test_start_without_a_plan_keeps_the_setpoint_and_begins_the_ramp_of_one():
    seq = S.Sequence(400_000)
    assert seq.start(False) is True
    assert (seq.setpoint_mc, seq.leg, seq.ramp.on) == (400_000, 0, 0)
    ramps = made(leg(ramp=90))
    ramps.start(False)
    assert ramps.ramp.on == 1


@everywhere
def test_stop_ends_an_evening_running_or_held(state, stage):
    seq = put(made(), state, stage)
    seq._below_ms = 5
    taken = state in (S.RUNNING, S.HELD)
    assert seq.session == (1 if taken else 0) and seq.active == (1 if state == S.RUNNING else 0)
    assert seq.stop() is taken
    assert (seq.state, seq.stage, seq.stage_ms) == ((S.STOPPING, S.COOL, 0) if taken else (state, stage, 1_000))
    assert seq._below_ms == (0 if taken else 5)


@everywhere
def test_hold_keeps_the_stage_of_a_running_evening(state, stage):
    seq = put(made(), state, stage)
    assert seq.hold() is (state == S.RUNNING)
    assert (seq.state, seq.stage, seq.stage_ms) == (S.HELD if state == S.RUNNING else state, stage, 1_000)


@everywhere
def test_resume_goes_back_to_preheat_or_recovery(state, stage):
    for leg_done in (0, 1):
        goes_back(state, stage, leg_done)


def goes_back(state, stage, leg_done):
    seq = put(made(leg(ramp=90)), state, stage)
    seq.leg_done = leg_done
    seq._set(310_000)
    taken = state == S.HELD or (state == S.RUNNING and stage == S.REST)
    assert seq.resume() is taken
    if not taken:
        assert (seq.state, seq.stage, seq.stage_ms, seq.setpoint_mc) == (state, stage, 1_000, 310_000)
        return
    stays = stage in (S.SOAK, S.PROVE)
    assert seq.state == S.RUNNING
    assert seq.stage == (stage if stays else S.RECOVER if leg_done else S.PREHEAT)
    assert seq.stage_ms == (1_000 if stays else 0)
    assert seq.setpoint_mc == (450_000 if stage == S.REST else 310_000)
    assert seq.ramp.on == (0 if stays or stage == S.REST else 1)  # a ramp begins anew with its stage


@pytest.mark.parametrize("stage", [S.RECOVER, S.REST, S.SOAK])
def test_resume_after_the_last_bread_of_a_leg_goes_on_to_the_next_leg(stage):
    seq = put(made(leg(), leg(dome=300)), S.HELD, stage)
    seq.leg_done = 2
    assert seq.resume()
    assert (seq.state, seq.leg, seq.stage, seq.setpoint_mc) == (S.RUNNING, 1, S.PREHEAT, 300_000)
    last = put(made(), S.HELD, stage)
    last.leg_done = 2
    last._set(300_000)
    assert last.resume()
    assert (last.state, last.stage, last.setpoint_mc) == (S.COMPLETE, S.COOL, 450_000)


@everywhere
def test_rest_is_taken_while_nothing_bakes_and_the_plan_has_one(state, stage):
    for rest in (300, 0):
        seq = put(made(leg(rest=rest)), state, stage)
        taken = bool(rest) and state == S.RUNNING and stage in (S.SOAK, S.LIFT, S.LOAD, S.RECOVER)
        assert seq.rest() is taken
        assert (seq.stage, seq.stage_ms) == ((S.REST, 0) if taken else (stage, 1_000))
        assert seq.setpoint_mc == (300_000 if taken else 450_000) == ~seq.setpoint_inverted


def test_rest_is_never_above_the_setpoint():
    seq = put(made(leg(rest=400)), S.RUNNING, S.LOAD)
    seq.set_setpoint(350_000)
    seq.rest()
    assert seq.setpoint_mc == 350_000


@everywhere
def test_reset_ends_what_is_finished(state, stage):
    seq = put(made(), state, stage)
    taken = state in (S.STOPPED, S.COMPLETE)
    assert seq.reset() is taken
    assert (seq.state, seq.stage) == ((S.IDLE, S.NO_STAGE) if taken else (state, stage))


@everywhere
def test_bread_may_be_laid_when_it_is_due_or_soon_due(state, stage):
    seq = put(made(), state, stage)
    taken = state == S.RUNNING and stage in (S.LOAD, S.LIFT, S.RECOVER)
    assert seq.loaded() is taken
    assert (seq.stage, seq.stage_ms) == ((S.BAKE, 0) if taken else (stage, 1_000))
    assert seq.unready == (1 if taken and stage != S.LOAD else 0)  # a person's choice, not the stone's


@everywhere
def test_start_test_is_ended_by_the_heater_and_an_aborted_evening_by_a_person(state, stage):
    seq = put(made(), state, stage)
    seq.first_stage = S.LEARN
    seq.proved()
    proving = (state, stage) == (S.RUNNING, S.PROVE)
    assert (seq.state, seq.stage) == (state, S.LEARN if proving else stage)
    seq = put(made(), state, stage)
    seq.acknowledged()
    assert (seq.state, seq.stage) == ((S.IDLE, S.NO_STAGE) if state == S.ABORTED else (state, stage))


@pytest.mark.parametrize(("number", "taken"), [(-1, False), (0, True), (1, True), (2, False)])
def test_evening_goes_on_from_the_leg_that_was_stored_if_there_is_one(number, taken):
    seq = made(leg(), leg(dome=300, ramp=90))
    seq.start(True)
    seq.continue_from(number, 1, 5)
    assert (seq.leg_done, seq.breads_done, seq.stage) == (1, 5, S.PROVE)
    assert seq.leg == (number if taken else 0)
    assert seq.setpoint_mc == (300_000 if number == 1 else 450_000) and seq.ramp.on == (1 if number == 1 else 0)
    done = made(leg(), leg(dome=300))
    done.start(False)
    done.continue_from(0, 2, 2)  # cut right after the leg's last bread: it soaks, and the next leg begins
    done.stone_ready = 1
    step(put(done, S.RUNNING, S.SOAK, 60_000))
    assert (done.leg, done.stage) == (1, S.PREHEAT)
    plain = S.Sequence(400_000)
    plain.continue_from(0, 1, 5)
    assert (plain.leg_done, plain.breads_done, plain.setpoint_mc) == (1, 5, 400_000)


# --- ticks --------------------------------------------------------------------------------------


@everywhere
def test_tick_that_trips_aborts_and_one_that_stops_or_holds_ends_or_holds(state, stage):
    told = dict(usable=False)
    assert step(put(made(), state, stage), tripped=True, **told)[0] == S.ABORTED
    if state != S.ABORTED:
        assert step(put(made(), state, stage), tripped=True, stopping=True, holding=True, **told) == (S.ABORTED, S.COOL)
    session = state in (S.RUNNING, S.HELD)
    for holding in (False, True):  # a stop is more than a hold
        after = step(put(made(), state, stage), stopping=True, holding=holding, **told)
        assert after[0] == (S.STOPPING if session else state)
    after = step(put(made(), state, stage, 0), holding=True, **told)
    assert after == (S.HELD if state == S.RUNNING else state, stage)


def test_tick_that_holds_counts_no_more_of_its_stage_and_one_that_trips_is_the_first_of_cooling():
    seq = put(made(), S.RUNNING, S.SOAK)
    step(seq, holding=True)
    assert seq.stage_ms == 1_000
    step(seq, tripped=True)
    assert seq.stage_ms == 250


def test_aborted_evening_that_trips_again_goes_on_cooling():
    seq = put(made(), S.ABORTED, S.COOL)
    step(seq, tripped=True, usable=False)
    assert seq.stage_ms == 1_250


@everywhere
def test_clock_of_a_stage_rests_while_held_unless_a_bread_lies_on_its_stone(state, stage):
    seq = put(made(leg(bake=60)), state, stage)
    step(seq, usable=False, dt_ms=70)
    counts = state != S.HELD or stage == S.BAKE
    assert seq.stage_ms == (1_070 if counts else 1_000)


def test_clock_of_a_stage_stops_at_its_cap():
    for before, after in ((S.CAP_MS - 1, S.CAP_MS + 249), (S.CAP_MS, S.CAP_MS)):
        seq = put(made(), S.IDLE, S.NO_STAGE, before)
        step(seq, usable=False)
        assert seq.stage_ms == after < 2**30


@pytest.mark.parametrize(("stage", "span_s"), [(S.SOAK, 60), (S.LIFT, 30), (S.BAKE, 60), (S.LOAD, 0), (S.PREHEAT, 0)])
def test_seconds_left_of_soak_lift_and_bake(stage, span_s):
    seq = put(made(leg(bake=60)), S.RUNNING, stage, 0)
    assert seq.seconds_left == span_s
    seq.stage_ms = 1
    assert seq.seconds_left == max(span_s - 1, 0)
    for stage_ms in (span_s * 1000 - 999, span_s * 1000 - 1, span_s * 1000, span_s * 1000 + 5_000):
        seq.stage_ms = stage_ms
        assert seq.seconds_left == 0
