"""Errors, stalls and power cuts in mid-tick through the device's own run(); and the judge, which can say no."""

import os
import types

import pytest

from host.drill import stall_judge, stalls, stalls_micropython
from host.drill.stall_judge import KINDS, Outcome, Watch
from host.drill.stall_path import Over, Path

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="the campaign forks the program")


def carried_out(count, **more):
    outcomes = []
    stalls.campaign(count, jobs=1, tell=outcomes.append, **more)
    return outcomes


@pytest.mark.slow
@needs_fork
def test_stalls_error_or_stall_or_cut_in_mid_tick_ends_the_heat_in_time_and_is_told_after_the_restart():
    outcomes = carried_out(45, seed=11)
    assert {outcome.stage for outcome in outcomes} == {*Path.STAGES, *Path.LEARNING}
    assert [outcome for outcome in outcomes if outcome.failed] == []
    ended = [outcome for outcome in outcomes if not outcome.goes_on]
    assert len(ended) > 25
    assert {outcome.trip for outcome in ended} >= {"program-fault", "power-cut", "watchdog-reset"}


@needs_fork
@pytest.mark.parametrize("kind", ["value-error", "interrupt", "late-2", pytest.param("power", marks=pytest.mark.slow)])
def test_stalls_every_kind_reaches_the_first_and_the_last_call_of_a_tick(kind):
    outcomes = carried_out(10_000, kinds=(kind,), stages=("prove",), seed=3) if kind == "power" else carried_out(
        6, kinds=(kind,), stages=("preheat",), seed=3
    )  # fmt: skip
    assert outcomes and all(outcome.where for outcome in outcomes)
    if kind == "power":  # each call of one tick
        assert [outcome.call for outcome in outcomes] == list(range(len(outcomes)))
        assert len(outcomes) > 100
        places = {outcome.where.partition(".")[0] for outcome in outcomes}
        assert {"supervisor", "heater", "conditioning", "sequence", "machine", "time"} <= places
        assert {outcome.trip for outcome in outcomes} == {"power-cut"}
    assert not any(outcome.failed for outcome in outcomes)


@pytest.mark.slow
def test_stalls_on_micropython_keep_the_same_promises(interpreter):
    for stage, kind, trip in (
        ("preheat", "value-error", "program-fault"),
        ("soak", "late-2", "tick-late"),
        ("held", "power", "power-cut"),
        ("prove", "late-10", "watchdog-reset"),
    ):
        outcome = stalls_micropython.stalled(stage, kind, 9)
        assert (outcome.failed, outcome.trip) in (("", trip), ("", "deadman")), outcome


# --- the judge -----------------------------------------------------------------------------------------


class Made:
    """Stands for a Rehearsal after a call that went wrong."""

    def __init__(self, state="running", trip="none", events=(), conducts_us=0, mode="run", hot_c=20.0, fan=True):
        self.state, self.trip, self.events = "running", "none", []
        self.relay = types.SimpleNamespace(total_us=0, commanded=0)
        self.outside = types.SimpleNamespace(
            now_us=0, relays=[self.relay], account=lambda: None, true_c=lambda place: hot_c, has_mains=True,
            fan_turns=fan, cut_power=lambda seconds: None,
        )  # fmt: skip
        self.board = types.SimpleNamespace(mode=mode)
        self.then = (state, trip, list(events), conducts_us)

    def happen(self):
        self.state, self.trip, self.events, self.relay.total_us = self.then


def judged(kind, stage="preheat", pins=0, **changes):
    made = Made(**changes)
    injection = types.SimpleNamespace(kind=kind, where="x", at_us=0, before_us=(0,), during_us=(0,), disarm=None)
    outcome = Outcome(stage, kind, 1)
    watch = Watch(made, injection, outcome)
    made.happen()
    made.relay.commanded = pins
    with pytest.raises(Over):
        for _ in range(200):
            made.outside.now_us += 250_000
            watch.look()
            made.relay.commanded = 0
    return outcome.failed


CRASH = ({"kind": "crash", "t_s": 0.0},)


@pytest.mark.parametrize(
    ("kind", "changes", "word"),
    [
        ("value-error", {"events": CRASH, "trip": "program-fault", "mode": "prompt"}, ""),
        ("value-error", {"events": CRASH, "trip": "none", "mode": "prompt"}, "promised power-cut or program-fault"),
        ("value-error", {"trip": "none"}, ""),  # borne
        ("interrupt", {"events": CRASH, "trip": "power-cut", "mode": "prompt"}, ""),
        ("interrupt", {"events": CRASH, "trip": "none", "mode": "prompt"}, "promised power-cut"),
        ("power", {"events": CRASH, "trip": "power-cut", "conducts_us": 620_000}, ""),
        ("power", {"events": CRASH, "trip": "power-cut", "conducts_us": 621_000}, "heat for 0.62 s"),
        ("late-0.3", {"trip": "none"}, ""),
        ("late-0.6", {"trip": "none"}, "went unseen"),
        ("late-0.6", {"trip": "tick-late"}, ""),
        ("late-0.6", {"trip": "tick-late", "pins": 1}, "rose again"),
        ("late-10", {"events": CRASH, "trip": "watchdog-reset"}, ""),
        ("late-2", {"trip": "tick-late", "hot_c": 156.0, "fan": False}, "fan stands"),
        ("late-2", {"trip": "tick-late", "hot_c": 154.0, "fan": False}, ""),
    ],
)
def test_stalls_judge_holds_each_promise(kind, changes, word):
    failed = judged(kind, **changes)
    assert (word in failed) if word else failed == ""


def test_stalls_every_kind_is_an_error_a_time_or_a_cut():
    assert all(what is None or isinstance(what, float) or issubclass(what, BaseException) for what in KINDS.values())
    assert stall_judge.HEAT_S <= 0.62
