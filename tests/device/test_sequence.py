"""The evening's states and stages. State names as in ANSI/ISA-88.00.01 (IEC 61512-1)."""

import pytest

from host.shim.loader import world
from host.simulator.rehearsal import Rehearsal

S = world().load("tizzone.evening.sequence")
TICK_MS = 250


@pytest.fixture
def evening():
    return S.Sequence(450_000, soak_ms=10_000, bake_ms=2_000, breads=2)


def run(seq, pv_mc, ticks=1, tripped=False, holding=False, stopping=False, usable=True):
    for _ in range(ticks):
        seq.step(pv_mc, usable, tripped, holding, stopping, TICK_MS)


def test_evening_walks_through_its_stages_to_complete(evening):
    stages = []
    evening.start(False)
    pv_mc = 20_000
    for _ in range(400):
        pv_mc = min(450_000, pv_mc + 10_000)
        run(evening, pv_mc)
        if not stages or stages[-1] != S.STAGES[evening.stage]:
            stages.append(S.STAGES[evening.stage])
        if evening.stage == S.LOAD:
            assert evening.loaded()
            stages.append("bake")
    assert stages == ["preheat", "soak", "load", "bake", "recover", "load", "bake", "cool"]
    assert evening.state == S.COMPLETE
    assert not evening.active
    run(evening, 249_999, ticks=S.COOLED_MS // TICK_MS)
    assert evening.stage == S.NO_STAGE
    assert evening.reset()
    assert evening.state == S.IDLE


@pytest.mark.parametrize(("pv_mc", "stage"), [(444_999, "preheat"), (445_000, "soak"), (445_001, "soak")])
def test_preheat_ends_within_five_kelvin_of_the_setpoint(evening, pv_mc, stage):
    evening.start(False)
    run(evening, pv_mc)
    assert S.STAGES[evening.stage] == stage


def test_preheat_does_not_end_on_a_reading_that_is_not_believed(evening):
    evening.start(False)
    run(evening, 450_000, usable=False)
    assert evening.stage == S.PREHEAT


@pytest.mark.parametrize("act", ["stop", "hold", "resume", "reset", "loaded"])
def test_act_in_idle_is_refused(evening, act):
    assert not getattr(evening, act)()
    assert evening.state == S.IDLE


def test_trip_aborts_from_every_state_and_only_acknowledged_leads_out(evening):
    for state in range(len(S.STATES)):
        evening.state = state
        run(evening, 400_000, tripped=True)
        assert evening.state == S.ABORTED
        assert not evening.active
        for act in ("stop", "hold", "resume", "reset", "loaded"):
            assert not getattr(evening, act)()
        assert not evening.start(False)
        run(evening, 400_000, ticks=10)
        assert evening.state == S.ABORTED
    evening.acknowledged()
    assert evening.state == S.IDLE
    assert not evening.active


def test_hold_condition_holds_and_only_a_person_resumes(evening):
    evening.start(False)
    run(evening, 100_000, holding=True)
    assert evening.state == S.HELD
    run(evening, 100_000, ticks=20)
    assert evening.state == S.HELD
    assert evening.resume()
    assert evening.stage == S.PREHEAT


def test_stop_condition_ends_the_evening(evening):
    evening.start(False)
    run(evening, 300_000, stopping=True)
    assert evening.state == S.STOPPING
    minute = S.COOLED_MS // TICK_MS
    run(evening, 250_000, ticks=2 * minute)
    assert evening.state == S.STOPPING
    run(evening, 249_999, ticks=minute - 1)
    run(evening, 250_000)  # a door made it read cold for a while
    run(evening, 249_999, ticks=minute - 1)
    assert evening.state == S.STOPPING
    run(evening, 249_999)
    assert evening.state == S.STOPPED
    assert evening.start(False)


def test_start_test_comes_first_where_current_is_sensed(evening):
    evening.start(True)
    assert evening.stage == S.PROVE
    run(evening, 20_000, ticks=40)
    assert evening.stage == S.PROVE  # however long it takes: only the heater ends it
    evening.proved()
    assert evening.stage == S.PREHEAT


def test_setpoint_is_kept_twice_inverted(evening):
    evening.set_setpoint(300_000)
    assert evening.setpoint_mc == 300_000
    assert evening.setpoint_inverted == ~300_000


def test_stage_clock_stops_before_it_could_overflow(evening):
    evening.stage_ms = 2**29
    run(evening, 20_000, ticks=100)
    assert evening.stage_ms < 2**30


# --- without a plan the stone is asked as well ----------------------------------------------------------------------


@pytest.fixture
def asking():
    seq = S.Sequence(450_000, soak_ms=10_000, bake_ms=2_000, breads=0, wait_ms=20_000, again_ms=8_000)
    seq.start(False)
    run(seq, 450_000, ticks=1 + 10_000 // TICK_MS)
    return seq


def test_soak_without_a_plan_waits_for_the_stone(asking):
    run(asking, 450_000, ticks=8)
    assert asking.stage == S.SOAK
    asking.stone_ready = 1
    run(asking, 450_000)
    assert (asking.stage, asking.unready) == (S.LOAD, 0)


def test_soak_without_a_plan_is_released_by_time_and_says_so(asking):
    run(asking, 450_000, ticks=20_000 // TICK_MS - 2)
    assert asking.stage == S.SOAK
    run(asking, 450_000, ticks=3)
    assert (asking.stage, asking.unready) == (S.LOAD, 1)


@pytest.mark.parametrize("ready", [0, 1])
def test_recovery_without_a_plan_waits_for_the_stone_or_its_time(asking, ready):
    asking.stone_ready = 1
    run(asking, 450_000)
    asking.loaded()
    asking.stone_ready = 0
    run(asking, 450_000, ticks=2_000 // TICK_MS + 8)
    assert asking.stage == S.RECOVER
    asking.stone_ready = ready
    run(asking, 450_000, ticks=1 if ready else 8_000 // TICK_MS)
    assert (asking.stage, asking.unready) == (S.LOAD, 1 - ready)


def test_settings_as_a_plan_ask_for_a_stone_ten_kelvin_below_the_dome():
    rehearsal = Rehearsal(settings={"setpoint_c": 450})
    rehearsal.advance(8)
    told = dict(part.split("=", 1) for part in rehearsal.send("stone")[4:].split() if "=" in part)
    assert told["wanted_c"] == "440"
