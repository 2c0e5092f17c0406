"""What a board is at when the supply fails, for host/drill/cuts.py: an evening, learning, commissioning."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from host import oven
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

LONGEST_S = 20_000.0
PLAN = """
name = "cut-night"
end_c = 200
[[leg]]
dome_c = 240
soak_min = 1
breads = 3
bake_s = 40
recover_s = 60
[[leg]]
dome_c = 200
breads = 2
bake_s = 60
recover_s = 60
rest_c = 180
"""
ANSWERS: dict[str, dict[str, Any]] = {
    "by": {"name": "M. Baker, hall kitchen", "initials": "MB", "stays": True},
    "papers": {"plate": "single oven, 230 V, 2.9 kW", "rated_w": 2900, "cutouts": "cut-out 170 °C on the electronics",
               "bridged": "none", "may": "yes", "limiter": "yes", "cutouts_act": "yes", "contacts": "yes",
               "plan": "yes"},
    "electrical": {"name": "E. Lector", "initials": "EL", "licence": "E. Lector, licence 4711",
                   "instrument": "installation tester", "earth_ohm": 0.06, "insulation_mohm": 12.5, "rcd_ma": 22,
                   "rcd_ms": 28},
    "dead": {"pulldown_top_kohm": 9.8, "pulldown_deck_kohm": 9.9},
    "lamp": {"top_is_top": "yes", "deck_is_deck": "yes"},
    "transfer": {"no_jump": "yes", "fan_dead_board": "yes"},
    "cutoff": {"heard": "yes"},
    "first-heat": {"smoke_gone": "yes", "plug_c": 31},
    "identify": {"how": "defaults"},
    "limiter": {"dial_c": 110, "working_c": 520},
    "full-heat": {"plug_c": 38, "wall_c": 52},
}  # fmt: skip
SETTINGS = ("setting bake_s 75", "setting soak_min 3", "correction dome 0:150 400000:-900", "setting attend_min 10")


def evening(seed: int, watch: Callable[[Any], Any]) -> None:
    """Idle with its settings changed, a plan, breads with pauses and words, a trip, its acknowledge, cooling down."""
    from host.plans import bake_plan

    plan = bake_plan.read(PLAN)
    cook = Cook(plan=plan, verdicts=["right pale", "pale right"], acts={1: ("hold", 30), 3: ("rest", 60)})
    made = Rehearsal(plant=oven.preset("light", seed=seed), cook=None)
    made.advance(5)
    made.cook = watch(cook)
    for line in (*plan.lines(), *SETTINGS):
        made.send(line)
    made.send("start")
    while cook.out < 4:
        _on(made)
    made.outside.probe_chips["dome"].set_fault("open")
    _until(made, lambda: made.trip != "none")
    made.advance(10)
    made.outside.probe_chips["dome"].set_fault(None)
    made.advance(5)
    made.send("acknowledge")
    made.advance(20)
    made.send("start")
    _until(made, lambda: made.state in ("complete", "stopped", "aborted"))
    made.advance(60)


def learning(seed: int, watch: Callable[[Any], Any]) -> None:
    """The experiment that learns the oven, to its end and its values on the flash."""
    made = Rehearsal(plant=oven.preset("light", seed=seed), cook=None)
    made.advance(5)
    made.cook = watch(Cook())
    made.send("learn start")
    _until(made, lambda: made.stage == "learn")
    _until(made, lambda: made.state not in ("running", "held", "stopping"))
    made.advance(60)


def commissioning(seed: int, watch: Callable[[Any], Any]) -> None:
    """Every step from papers to full heat, by a person who has an answer to each question."""
    from host.commissioning.course import Course
    from host.commissioning.hands import SimulatedHands
    from host.commissioning.person import Answers
    from host.commissioning.record import Record
    from host.link.client import SimulatedClient

    plant = oven.preset("light", seed=seed)
    made = Rehearsal(plant=plant, commissioned=False, cook=None)
    made.advance(5)
    made.cook = watch(None)
    with tempfile.TemporaryDirectory(prefix="cuts-") as folder:
        record = Record.open(Path(folder) / "record.json")
        course = Course(SimulatedClient(made), Answers(ANSWERS), SimulatedHands(made, plant), record,
                        stamp=lambda: "20260105T1830")  # fmt: skip
        course.begin(True)
        done, release_c, reason = course.run()
    if reason:
        raise RuntimeError(f"the course ended after {done} steps at {release_c} °C: {reason}")


PATHS = {"evening": evening, "learning": learning, "commissioning": commissioning}


def _on(made):
    made.advance(1.0)
    if made.now_s > LONGEST_S:
        raise TimeoutError(f"the path stands still: {made.state} {made.stage} {made.trip}")


def _until(made, what):
    while not what():
        _on(made)
