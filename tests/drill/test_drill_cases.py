"""Faults on a simulated oven: heat off in time with the right reason; and the judge, which must be able to say no."""

import copy
import types

import pytest

from host import oven
from host.drill import campaign, observe, page
from host.drill import judge as drilljudge
from host.drill import warm as drillwarm
from host.faults.library import FAULTS, Promise, Quiet
from host.pins import pin_map
from host.shim.remote import RuntimeMissing, find_micropython

# In the developer's loop: what a cold oven shows at once. The warm states of the others take their time to make.
QUICK = [
    ("dome_open", "probe-open"),
    ("relay_welded_top", "relay-welded start-test"),
    ("contactor_welded", "contactor-welded start-test"),
    ("bit_limit", "memory-fault"),
    ("hang", "watchdog-reset"),
    ("box_heat", "box-hot"),
]
SHOWN = [
    ("dome_open", "cold", "probe-open"),
    ("dome_ground", "preheat", "probe-short-ground"),
    ("dome_silent", "setpoint", "probe-silent"),
    ("dome_loose", "setpoint", "probe-open reading-wrong"),
    ("dome_garbled", "load", None),
    ("stone_zero", "recover", "stone-probe"),
    ("relay_welded_top", "cold", "relay-welded start-test"),
    ("relays_welded_both", "setpoint", "relay-welded"),
    ("relay_half_deck", "preheat", "half-wave"),
    ("element_open_top", "recover", "no-current"),
    ("contactor_welded", "cooling", "contactor-welded"),
    ("contactor_open", "held", "contactor-open no-current"),
    ("pin_stuck_on_deck", "held", None),
    ("limiter", "load", "limiter-open"),
    ("enable_open", "setpoint", "enable-open"),
    ("fan_stopped", "setpoint", "fan-stopped"),
    ("power_cut", "setpoint", "power-cut"),
    ("hang", "preheat", "watchdog-reset"),
    ("late_tick", "setpoint", None),
    ("exception_in_supervisor", "setpoint", "program-fault"),
    ("settings_damaged", "cold", "settings-damaged"),
    ("latch_missing", "cold", "latch-doubt"),
    ("bit_limit", "setpoint", "memory-fault"),
    ("cut_in_trip_write", "setpoint", None),
    ("box_heat", "cold", "box-hot"),
]


@pytest.mark.parametrize(("name", "reasons"), QUICK)
def test_fault_of_a_cold_oven_ends_the_heat_with_its_reason(cold, name, reasons):
    result = campaign.drilled(copy.deepcopy(cold), campaign.Case((name,), "cold", "light", "full"))
    assert result.failed == "" and result.quiet == ""
    assert result.reason in reasons.split()


@pytest.mark.slow
@pytest.mark.parametrize(("name", "phase", "reasons"), SHOWN)
def test_fault_ends_the_heat_with_its_reason(drilled, name, phase, reasons):
    result = drilled(name, phase)
    assert result.failed == "" and result.quiet == ""
    if reasons:
        assert result.reason in reasons.split()
    assert result.peak_c <= result.limit_c + 15.0


@pytest.mark.slow
@pytest.mark.parametrize("name", ["pc_not_reading", "link_garbage", "bus_error", "mains_dip", "contactor_welded"])
def test_fault_without_harm_lets_the_evening_go_on(drilled, name):
    result = drilled(name, "setpoint")
    assert result.failed == "" and result.quiet
    assert result.reason == "none"


@pytest.mark.slow
@pytest.mark.parametrize(("pair", "phase"), [("dome_frozen+relay_welded_top", "setpoint"),
                                             ("dome_out+pin_stuck_on_deck", "held")])  # fmt: skip
def test_pair_of_sensor_and_actuator_fault_ends_the_heat(drilled, pair, phase):
    result = drilled(pair, phase)
    assert result.failed == ""
    assert result.reason != "none"


@pytest.mark.slow
def test_without_any_sense_the_slow_rule_sees_both_relays_welded(drilled):
    result = drilled("relays_welded_both", "held", "plain")
    assert result.failed == ""
    assert result.reason in ("over-setpoint", "undriven-rise")


@pytest.mark.slow
def test_judge_says_no_where_the_wiring_that_sees_the_fault_is_absent(drilled):
    result = drilled("relay_welded_top", "held", "plain", told="full")
    assert "promised relay-welded or start-test within 1 s" in result.failed


@pytest.mark.slow
def test_case_leaves_the_warm_state_as_it_was(warm, drilled):
    state = warm["full"]["setpoint"]
    before = (state.now_s, len(state.events), state.plant.true_c("dome"), state.outside.probe_chips["dome"].fault)
    drilled("dome_open", "setpoint")
    now = (state.now_s, len(state.events), state.plant.true_c("dome"), state.outside.probe_chips["dome"].fault)
    assert now == before


@pytest.mark.slow
def test_same_case_twice_is_the_same_to_the_last_bit(drilled):
    first, second = drilled("dome_noise", "load").plain(), drilled("dome_noise", "load").plain()
    assert first == second


def seen(**changes):
    """What drillwatch.watch might give: a fault at 100 s, its trip 0.75 s later, heat gone at once."""
    made = types.SimpleNamespace(now_s=100.0)
    found = observe.Seen(made)
    found.reason, found.seen_s, found.heat_off_s, found.end_trip = "probe-open", 0.75, 0.3, "probe-open"
    found.reasons = [(0.75, "trip", "probe-open")]
    found.stop_c = found.peak_c = found.highest_c = 450.0
    for name, value in changes.items():
        setattr(found, name, value)
    return found


PROMISE = Promise("probe-open", 1.0, inhibit_s=0.5)


def judged(promise=PROMISE, wiring="full", fault="dome_open", **changes):
    """The `failed` text of a made-up outcome."""
    found = seen(**changes)
    result = campaign.Result(campaign.Case((fault,), "setpoint", "light", wiring), found.reason, found.seen_s,
                          found.heat_off_s, found.stop_c, found.peak_c, 500.0)  # fmt: skip
    drilljudge.hold_to_promises(result, found, [FAULTS[fault]], [promise])
    return result.failed


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({}, ""),
        ({"seen_s": 1.29}, ""),
        ({"seen_s": 1.31}, "promised probe-open within 1 s"),
        ({"reason": "high-limit"}, "unexpected reason high-limit"),
        ({"reason": "none", "reasons": []}, "nothing shown"),
        ({"heat_off_s": 0.81}, "heat ended after 0.81 s"),
        ({"after_reason_s": 0.06}, "after the reason"),
        ({"end_trip": "none"}, "forgotten"),
        ({"highest_c": 515.0}, ""),
        ({"highest_c": 515.1}, "above limit + 15 K"),
    ],
)
def test_judge_holds_each_promise_to_its_edge(changes, word):
    failed = judged(**changes)
    assert (word in failed) if word else failed == ""


MISSING = Promise("no-current", 1.5, "on_top", while_on=True)


@pytest.mark.parametrize(
    ("on", "seen_s", "word"),
    [
        # a zone that is on for half a second a window: 1.5 s of on time have passed 21 s after the fault
        ([(100.0, 0.0), (101.0, 0.5), (111.0, 1.0), (121.0, 1.5)], 21.29, ""),
        ([(100.0, 0.0), (101.0, 0.5), (111.0, 1.0), (121.0, 1.5)], 21.31, "within 1.5 s of its time on"),
        ([(100.0, 0.0), (101.5, 1.5)], 1.79, ""),
        ([(100.0, 0.0), (101.5, 1.5)], 1.81, "within 1.5 s of its time on"),
        ([(100.0, 0.0), (101.0, 1.4)], 50.0, ""),  # told early: nothing was owed yet
    ],
)
def test_judge_counts_a_missing_current_only_while_its_relay_is_on(on, seen_s, word):
    shown = {"reason": "no-current", "reasons": [(seen_s, "trip", "no-current")], "end_trip": "no-current"}
    moments = dict.fromkeys(observe.SINCE[1:], observe.NEVER) | {"on_top": 100.0}
    failed = judged(MISSING, fault="relay_open_top", seen_s=seen_s, moments=moments, asked_s={"on_top": on}, **shown)
    assert (word in failed) if word else failed == ""


def test_judge_owes_nothing_where_the_relay_was_hardly_on_but_asks_once_it_was():
    moments = dict.fromkeys(observe.SINCE[1:], observe.NEVER) | {"on_top": 100.0}
    silent = {"reason": "none", "reasons": [], "end_trip": "none", "moments": moments}
    assert judged(MISSING, fault="relay_open_top", asked_s={"on_top": [(101.0, 1.4)]}, **silent) == ""
    assert "nothing shown" in judged(MISSING, fault="relay_open_top", asked_s={"on_top": [(101.5, 1.5)]}, **silent)


@pytest.mark.parametrize(
    ("seen_s", "heat_off_s", "is_kept"), [(0.25, 0.3, True), (1.29, 0.3, True), (1.31, 0.3, False), (0.25, 0.81, False)]
)
def test_judge_accepts_the_other_fault_of_a_pair_only_in_time(seen_s, heat_off_s, is_kept):
    """The stuck pin's own time counts from an 'off' that never comes."""
    stuck = Promise("pin-readback", 1.0, "off_top")
    found = seen(reason="pin-readback", seen_s=seen_s, heat_off_s=heat_off_s)
    case = campaign.Case(("dome_open", "pin_stuck_on_top"), "setpoint", "light", "full")
    result = campaign.Result(case, found.reason,
                          found.seen_s, found.heat_off_s, found.stop_c, found.peak_c, 500.0)  # fmt: skip
    drilljudge.hold_to_promises(result, found, [FAULTS["dome_open"], FAULTS["pin_stuck_on_top"]], [PROMISE, stuck])
    assert (result.failed == "") is is_kept


def test_judge_lets_a_quiet_fault_be_but_not_an_unexpected_reason():
    quiet = Quiet("no harm", "no-current")
    assert judged(quiet, reason="none", reasons=[], end_trip="none") == ""
    assert judged(quiet, reason="no-current") == ""
    assert "unexpected" in judged(quiet, reason="no-rise")


def test_judge_excuses_no_temperature_in_any_wiring():
    hot = {"highest_c": 540.0, "reason": "none", "reasons": [], "end_trip": "none"}
    quiet = Quiet("slow")
    for wiring in drillwarm.WIRINGS:
        assert "above limit" in judged(quiet, wiring, "dome_half_out", **hot)


def test_plan_holds_every_fault_phase_and_pair_that_can_exist():
    pins = pin_map.read("boards/pico.py")
    singles = campaign.planned_cases(["light"], pins)
    assert len(singles) == len(FAULTS) * len(drillwarm.PHASES)
    plain = campaign.planned_cases(["light"], pins, ("plain",), ("cold",))
    assert {c.faults[0] for c in singles} - {c.faults[0] for c in plain} >= {"stone_open", "mirror_wire_cut"}
    pairs = campaign.planned_cases(["light"], pins, phases=(), pairs=("setpoint",))
    groups = [f.group for f in FAULTS.values()]
    assert len(pairs) == groups.count("sensor") * groups.count("actuator")


@pytest.mark.slow
def test_drill_on_real_micropython_gives_the_same_reason():
    try:
        find_micropython()
    except RuntimeMissing:
        pytest.skip("no micropython command is installed here")
    for name in ("dome_open", "relay_welded_top"):
        case = campaign.Case((name,), "cold", "lamp", "full")
        result = campaign.on_micropython(case)
        assert result.failed == "", result
        assert result.reason == campaign.drilled(copy.deepcopy(cold_lamp()), case).reason


def cold_lamp():
    """A cold lamp bench on CPython."""
    made = drillwarm.rehearsal("lamp")
    made.advance(6.0)
    campaign.ask_limit(made)
    return made


@pytest.mark.slow
def test_case_tells_the_hottest_true_air_wall_and_stone(drilled):
    result = drilled("dome_open", "setpoint")
    assert set(result.hottest) == {"air", "wall", "stone"}
    assert result.hottest["air"] >= result.peak_c - 0.01
    assert 130.0 < result.hottest["air"] < 160.0 and 40.0 < result.hottest["stone"] < result.hottest["wall"] < 160.0
    line = page.hottest([result])
    assert line.startswith("highest true air") and line.count("dome_open setpoint") == 3


def test_ovens_of_every_structure_tell_their_hottest_places():
    assert {name for name, _ in observe.places(oven.preset("standard"))} == {"air", "wall", "stone"}
    assert {name for name, _ in observe.places(oven.third(1))} == {"air", "wall", "stone"}
    assert {name for name, _ in observe.places(oven.other(1))} == {"air", "stone"}  # its chamber is air and wall
    assert observe.places(object()) == []
    assert page.hottest([]) == ""
