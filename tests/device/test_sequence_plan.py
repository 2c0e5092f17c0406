"""Legs of a bake plan in the sequence: ramps, stone rules, lift, rest, several legs; states as in ANSI/ISA-88.00.01."""

import pytest

from host.shim.loader import world

S = world().load("tizzone.evening.sequence")
B = world().load("tizzone.evening.bake_plan")
TICK_MS = 250


def leg(**values):
    """A leg with the given fields; the rest at their lowest."""
    made = {row[0]: row[1] for row in B.FIELDS} | {"share_pct": 50} | values
    found = [made[row[0]] for row in B.FIELDS]
    assert B.leg_fault(found) is None
    return found


def evening(*legs, end_c=200):
    seq = S.Sequence(300_000)
    seq.use_plan(list(legs), end_c * 1000)
    return seq


def run(seq, pv_c, seconds=0.25, **flags):
    for _ in range(round(seconds * 1000 / TICK_MS)):
        seq.step(round(pv_c * 1000), flags.get("usable", True), False, flags.get("holding", False), False, TICK_MS)


def at_load(**values):
    """A baking leg at 450 degrees, waiting for its first bread."""
    seq = evening(leg(dome_c=450, breads=2, bake_s=60, **values))
    seq.stone_ready = 1
    seq.start(False)
    run(seq, 450, 2)
    while seq.stage == S.LIFT:
        run(seq, 450)
    assert seq.stage == S.LOAD
    return seq


def test_ramp_begins_at_the_reading_and_rises_at_its_rate():
    seq = evening(leg(dome_c=120, ramp_k_h=90, soak_min=1))
    seq.start(False)
    run(seq, 20)
    assert 30_000 <= seq.setpoint_mc <= 30_010  # never below the lowest setpoint
    run(seq, 30, 600)
    assert seq.setpoint_mc == pytest.approx(38_000, abs=50)  # it waits for an oven 8 K behind
    run(seq, 100, 600)
    assert seq.setpoint_mc == pytest.approx(38_000 + 15_000, abs=50)  # 90 K/h for ten minutes
    assert seq.setpoint_inverted == ~seq.setpoint_mc


def test_ramp_of_a_leg_begins_in_the_tick_that_begins_the_leg():
    seq = evening(leg(dome_c=95, soak_min=1), leg(dome_c=130, ramp_k_h=45, soak_min=1))
    seq.start(False)
    highest_mc = 0
    for _ in range(4 * 120):
        run(seq, 95)
        highest_mc = max(highest_mc, seq.setpoint_mc)
    assert seq.leg == 1 and seq.stage == S.PREHEAT
    assert highest_mc <= 95_000 + 760  # 45 K/h for a minute at the most, and never the leg's own 130 °C


def test_ramp_begins_during_the_start_test_and_not_when_learning():
    seq = evening(leg(dome_c=120, ramp_k_h=90, soak_min=1))
    seq.start(True)
    run(seq, 20)
    assert seq.stage == S.PROVE and 30_000 <= seq.setpoint_mc <= 30_010
    learns = evening(leg(dome_c=120, ramp_k_h=90, soak_min=1))
    learns.start(True, 250_000)
    run(learns, 20)
    assert learns.stage == S.PROVE and learns.setpoint_mc == 250_000


def test_ramp_never_passes_its_target_and_ends_in_the_soak():
    seq = evening(leg(dome_c=60, ramp_k_h=2000, soak_min=5))
    seq.start(False)
    run(seq, 59, 120)
    assert seq.setpoint_mc == 60_000
    assert seq.stage == S.SOAK


@pytest.mark.parametrize(
    ("ready", "minutes", "stage"), [(0, 9.99, S.SOAK), (1, 4.9, S.SOAK), (1, 5.1, S.LOAD), (0, 10.1, S.LOAD)]
)
def test_soak_ends_by_the_stone_after_its_time_or_at_the_longest_wait(ready, minutes, stage):
    seq = evening(leg(dome_c=450, soak_min=5, stone_c=430, wait_min=5, breads=1, bake_s=60))
    seq.start(False)
    run(seq, 450)
    seq.stone_ready = ready
    run(seq, 450, minutes * 60)
    assert seq.stage == stage
    assert seq.unready == (1 if stage == S.LOAD and not ready else 0)


def test_soak_without_a_longest_wait_waits_for_the_stone():
    seq = evening(leg(dome_c=450, soak_min=1, stone_c=430, breads=1, bake_s=60))
    seq.start(False)
    run(seq, 450, 3600)
    assert seq.stage == S.SOAK
    seq.stone_ready = 1
    run(seq, 450)
    assert seq.stage == S.LOAD


def test_recovery_needs_dome_and_stone():
    seq = at_load(stone_c=430)
    assert seq.loaded()
    run(seq, 450, 60)
    assert seq.stage == S.RECOVER
    seq.stone_ready = 0
    run(seq, 450, 300)
    assert seq.stage == S.RECOVER
    seq.stone_ready = 1
    run(seq, 440, 10)
    assert seq.stage == S.RECOVER
    run(seq, 446)
    assert seq.stage == S.LOAD


def test_recovery_by_time_is_told():
    seq = at_load(stone_c=430, recover_s=120)
    seq.loaded()
    run(seq, 450, 60)
    seq.stone_ready = 0
    run(seq, 450, 119)
    assert seq.stage == S.RECOVER
    run(seq, 450, 1.5)
    assert seq.stage == S.LOAD
    assert seq.unready


def test_lift_lasts_its_time_before_each_load():
    seq = evening(leg(dome_c=450, breads=2, bake_s=60, lift_pct=10, lift_s=20))
    seq.start(False)
    run(seq, 450, 0.75)
    assert seq.stage == S.LIFT
    run(seq, 450, 19.5)
    assert seq.stage == S.LIFT
    run(seq, 450, 0.75)
    assert seq.stage == S.LOAD


def test_rest_lowers_the_setpoint_and_resume_brings_it_back_by_way_of_recovery():
    seq = at_load(rest_c=380)
    assert seq.rest()
    assert (seq.stage, seq.setpoint_mc, seq.active) == (S.REST, 380_000, 1)
    run(seq, 380, 3600)
    assert seq.stage == S.REST
    assert not seq.loaded()
    assert seq.resume()
    assert seq.setpoint_mc == 450_000
    run(seq, 400, 5)
    assert seq.stage in (S.PREHEAT, S.RECOVER)
    run(seq, 447, 5)
    assert seq.stage == S.LOAD


def test_rest_is_refused_where_the_plan_has_none_and_while_a_bread_bakes():
    seq = at_load()
    assert not seq.rest()
    seq = at_load(rest_c=380)
    seq.loaded()
    assert not seq.rest()


def test_hold_in_a_rest_ends_at_the_plans_setpoint():
    seq = at_load(rest_c=380)
    seq.rest()
    assert seq.hold()
    assert seq.resume()
    assert seq.setpoint_mc == 450_000


def test_soak_does_not_go_on_while_held():
    seq = evening(leg(dome_c=450, soak_min=5, breads=1, bake_s=60))
    seq.start(False)
    run(seq, 450, 60)
    seq.hold()
    run(seq, 450, 600)
    seq.resume()
    run(seq, 450, 230)
    assert seq.stage == S.SOAK
    run(seq, 450, 20)
    assert seq.stage == S.LOAD


def test_bread_that_lies_there_while_held_is_baked_and_counted_once():
    seq = at_load()
    seq.loaded()
    run(seq, 450, 30)
    seq.hold()
    run(seq, 440, 31)
    assert (seq.state, seq.stage, seq.breads_done) == (S.HELD, S.RECOVER, 1)
    run(seq, 440, 600)
    assert seq.breads_done == 1
    assert not seq.active
    seq.resume()
    run(seq, 450)
    assert seq.stage == S.LOAD


def test_last_bread_baked_while_held_ends_the_evening_only_when_a_person_resumes():
    seq = at_load()
    seq.leg_done = seq.breads_done = 1
    seq.loaded()
    seq.hold()
    run(seq, 440, 61)
    assert seq.state == S.HELD
    seq.resume()
    assert seq.state == S.COMPLETE
    assert not seq.active


def test_legs_follow_each_other_and_a_cooler_one_waits_for_the_oven_to_cool():
    seq = evening(leg(dome_c=450, breads=1, bake_s=60), leg(dome_c=280, breads=1, bake_s=600))
    seq.start(False)
    run(seq, 450, 1)
    seq.loaded()
    run(seq, 450, 60)
    assert (seq.leg, seq.stage, seq.setpoint_mc) == (1, S.PREHEAT, 280_000)
    run(seq, 300, 60)
    assert seq.stage == S.PREHEAT
    run(seq, 290, 1)
    assert seq.stage == S.LOAD
    seq.loaded()
    run(seq, 280, 600)
    assert (seq.state, seq.breads_done) == (S.COMPLETE, 2)


def test_leg_without_breads_goes_on_to_the_next_after_its_soak():
    seq = evening(leg(dome_c=100, soak_min=1), leg(dome_c=200, soak_min=1), end_c=100)
    seq.start(False)
    run(seq, 100, 61)
    assert (seq.leg, seq.setpoint_mc) == (1, 200_000)
    run(seq, 200, 61)
    assert (seq.state, seq.stage) == (S.COMPLETE, S.COOL)
    run(seq, 99, 61)
    assert seq.stage == S.NO_STAGE


def test_start_after_a_cut_goes_on_at_the_leg_and_count_it_is_told():
    seq = evening(leg(dome_c=450, breads=1, bake_s=60), leg(dome_c=350, breads=3, bake_s=60))
    seq.start(True)
    seq.continue_from(1, 2, 3)
    assert (seq.stage, seq.leg, seq.setpoint_mc) == (S.PROVE, 1, 350_000)
    seq.proved()
    run(seq, 350, 1)
    assert seq.stage == S.LOAD
    seq.loaded()
    run(seq, 350, 60)
    assert (seq.state, seq.breads_done) == (S.COMPLETE, 4)


def test_person_may_lay_a_bread_before_the_stone_is_ready_and_it_is_told():
    seq = at_load(stone_c=430)
    seq.loaded()
    run(seq, 450, 60)
    seq.stone_ready = 0
    assert seq.loaded()
    assert seq.unready
