"""Stop by link and ENABLE in every stage and state of a baking evening: heat off within one tick, and it stays off.

A low plan on the simulated oven walks through every stage in minutes; at each, whole copies of board and oven are
stopped, at three moments each: when the stage begins, when a relay is on, and when the stage has lasted a while.
"""

import copy

import pytest

from host import oven
from host.plans import bake_plan
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

PLAN = """
name = "low"
end_c = 60
[[leg]]
dome_c = 50
ramp_k_h = 2000
[[leg]]
dome_c = 90
soak_min = 1
stone_c = 60
wait_min = 1
breads = 2
bake_s = 12
sag_k = 20
recover_s = 20
lift_pct = 10
lift_s = 10
rest_c = 85
"""
STAGES = {"prove", "preheat", "soak", "lift", "load", "bake", "recover", "rest"}
TICK_S = 0.25


def pins(made):
    levels = made.board.port.levels
    return [levels.get(relay.pin, 0) for relay in made.outside.relays]


@pytest.fixture(scope="module")
def moments():
    """{(state, stage, moment): copy of a whole rehearsal}"""
    plan = bake_plan.read(PLAN)
    made = Rehearsal(plant=oven.preset("standard", 1), cook=Cook(plan=plan, acts={1: ("rest", 15)}))
    made.advance(5)
    for line in plan.lines():
        assert made.send(line).startswith("~ok")
    made.say("start", "user")
    found = {}
    lasted = {}
    while made.now_s < 1500 and made.state != "complete":
        made.advance(TICK_S)
        stage = made.stage
        if made.state != "running":
            continue
        lasted[stage] = lasted.get(stage, 0) + 1
        for moment, due in (("begun", lasted[stage] == 1), ("heating", any(pins(made))), ("later", lasted[stage] == 7)):
            if due and (stage, moment) not in found:
                found[stage, moment] = copy.deepcopy(made)
    return found


@pytest.mark.slow
def test_every_stage_is_among_the_moments(moments):
    assert {stage for stage, _ in moments} >= STAGES
    assert sum(1 for _, moment in moments if moment == "heating") >= 5


def off_for_good(made):
    """No relay and no contactor for half a minute, and no state that asks for heat."""
    for _ in range(120):
        made.advance(TICK_S)
        assert pins(made) == [0, 0]
    assert not made.outside.contactor.is_closed
    assert made.state in ("stopping", "stopped", "held")


@pytest.mark.slow
def test_stop_by_the_link_takes_the_heat_off_in_the_tick_that_reads_it(moments):
    for (stage, moment), kept in moments.items():
        made = copy.deepcopy(kept)
        made.cook = None
        entry = made.say("stop", "user")
        for _ in range(2):  # sent within a tick, read in the next
            if entry[2] is None:
                made.advance(TICK_S)
        assert entry[2] == "~ok", (stage, moment)
        assert pins(made) == [0, 0], (stage, moment)
        off_for_good(made)


@pytest.mark.slow
def test_enable_takes_the_heat_off_in_the_next_tick_and_closing_it_brings_none_back(moments):
    for (stage, moment), kept in moments.items():
        made = copy.deepcopy(kept)
        made.cook = None
        made.outside.enable = False
        made.advance(TICK_S)
        assert pins(made) == [0, 0], (stage, moment)
        made.outside.enable = True
        off_for_good(made)


@pytest.mark.slow
def test_stop_of_a_held_evening_ends_it(moments):
    for kept in moments.values():
        made = copy.deepcopy(kept)
        made.cook = None
        made.send("hold")
        assert pins(made) == [0, 0]
        assert made.send("stop") == "~ok"
        off_for_good(made)
        assert made.state in ("stopping", "stopped")


@pytest.fixture(scope="module")
def preheating():
    """The first moment of a preheat at which a relay is on: quickly made, for the developer's loop."""
    made = Rehearsal(plant=oven.preset("standard", 1), cook=None)
    made.advance(5)
    assert made.send("start") == "~ok"
    for _ in range(240):
        if any(pins(made)) and made.stage == "preheat":
            break
        made.advance(TICK_S)
    assert any(pins(made)) and made.stage == "preheat"
    return made


def test_stop_and_enable_take_the_heat_off_a_preheat(preheating):
    stopped, opened = copy.deepcopy(preheating), copy.deepcopy(preheating)
    entry = stopped.say("stop", "user")
    for _ in range(2):
        if entry[2] is None:
            stopped.advance(TICK_S)
    opened.outside.enable = False
    opened.advance(TICK_S)
    for made in (stopped, opened):
        assert pins(made) == [0, 0]
        made.outside.enable = True
        off_for_good(made)
