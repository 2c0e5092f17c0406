"""A night of twenty breads with doors, holds, a rest and two power cuts: nothing heats by itself, nothing is lost.

The dome is at 240 °C, where a trip is acknowledged at once, so that the night takes minutes to simulate; the same at
450 °C is a command (tests/bench/plans.py)."""

import random

import numpy as np
import pytest

from host import oven
from host.faults import library
from host.pins.pin_map import find
from host.plans import bake_plan
from host.runs.recording import RunWriter, read_run
from host.simulator.cook import Cook
from host.simulator.rehearsal import ROW, Rehearsal

pytestmark = pytest.mark.slow

PLAN = """
name = "long-night"
end_c = 200
[[leg]]
dome_c = 240
soak_min = 1
stone_c = 180
wait_min = 5
breads = 20
bake_s = 60
sag_k = 40
recover_s = 120
lift_pct = 10
lift_s = 5
rest_c = 200
"""
CUT_AFTER = (6, 13)


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    """(rehearsal, [what the oven did in the minute after each cut and before a person acted])"""
    plan = bake_plan.read(PLAN)
    cook = Cook(plan=plan, verdicts=["right right", "pale right", "right pale"],
                acts={2: ("hold", 40), 9: ("rest", 120), 16: ("hold", 90)})  # fmt: skip
    # The stone's probe lies in the very face, and the pin map says so: so records can be held to the truth.
    board = tmp_path_factory.mktemp("map") / "face.py"
    shipped = find("pico").read_text(encoding="utf-8")
    assert shipped.count('"cs": 20}') == 1
    board.write_text(shipped.replace('"cs": 20}', '"cs": 20, "depth_mm": 0}'), encoding="utf-8")
    made = Rehearsal(plant=oven.preset("light", 3, stone_probe_depth_mm=0.0), board=str(board), cook=cook)
    made.advance(5)
    for line in plan.lines():
        assert made.send(line) == "~ok" or line == "plan end"
    assert made.send("start") == "~ok"
    after = []
    for breads in (*CUT_AFTER, 20):
        while cook.out < breads:
            made.advance(2)
            assert made.now_s < 4 * 3600, f"{made.state} {made.stage} {made.trip}"
        if breads == 20:
            break
        made.advance(11)
        fault, _ = library.parse("power_cut@0")
        fault.start(made.outside)
        made.advance(90)
        story = made.send("night")
        rows = made.rows[-60:]
        after.append(
            (made.state, story, float(rows["power_top"].max() + rows["power_deck"].max()), rows["contactor"].max())
        )
        assert made.send("acknowledge").startswith("~ok")
        made.advance(60)
        assert made.rows[-1]["contactor"] == 0
        assert made.send("start") == "~ok"
    while made.state != "complete":
        made.advance(2)
    made.advance(125)
    return made, after


def test_after_each_cut_it_stands_tripped_without_heat_and_tells_where_it_was(night):
    _, after = night
    for done, (state, story, power, contactor) in zip(CUT_AFTER, after, strict=True):
        assert state == "aborted"
        assert "interrupted=power-cut" in story
        assert f"done={done}" in story
        assert (power, contactor) == (0.0, 0)


def test_all_twenty_breads_are_counted_once_and_their_records_are_whole(night):
    made, _ = night
    assert made.state == "complete"
    last_s = -1
    for n in range(1, 21):
        found = dict(part.split("=", 1) for part in made.send(f"bread {n}")[4:].split())
        assert (found["n"], found["bake_s"]) == (str(n), "60")
        assert int(found["at_s"]) > last_s
        assert found["top"] != "none"
        last_s = int(found["at_s"])
    assert "breads=20" in made.send("bread 21")
    counters = made.send("counters")
    assert "breads=20" in counters
    assert "sessions=3" in counters
    assert "cuts=2" in counters


def test_stone_of_each_record_is_the_stone_when_the_bread_was_laid(night):
    made, _ = night
    loads = [event["t_s"] for event in made.events if event["kind"] == "stage" and event["value"] == "bake"]
    assert len(loads) == 20
    t_s = made.rows["t_s"]
    for n, load_s in enumerate(loads, 1):
        found = dict(part.split("=", 1) for part in made.send(f"bread {n}")[4:].split())
        true_c = made.rows["stone_c"][np.searchsorted(t_s, load_s) - 1]
        assert float(found["stone_c"]) == pytest.approx(true_c, abs=12.0)  # the probe lies 7.5 mm deep


def test_record_on_the_laptop_has_every_second_and_is_read_to_its_last_whole_one(night, tmp_path):
    made, _ = night
    seconds = np.floor(made.rows["t_s"] + 1e-6).astype(int)
    assert np.array_equal(np.diff(seconds), np.ones(len(seconds) - 1, int))
    writer = RunWriter(tmp_path / "run", ROW.names)
    for row in made.rows:
        writer.row(row)
    for event in made.events:
        writer.event(event)
    writer.finish({})
    path = tmp_path / "run" / "run.csv"
    whole = path.read_bytes()
    draw = random.Random(4)
    for _ in range(3):
        size = draw.randrange(len(whole) // 3, len(whole))
        path.write_bytes(whole[:size])
        kept = read_run(tmp_path / "run").rows
        lines = whole[:size].count(b"\n") - 1
        assert len(kept) in (lines, lines + 1)
        assert kept["t_s"][-1] == pytest.approx(made.rows["t_s"][len(kept) - 1], abs=0.01)


def test_pace_told_at_the_end_is_the_pace_that_was(night):
    made, _ = night
    loads = [event["t_s"] for event in made.events if event["kind"] == "stage" and event["value"] == "bake"]
    cycle_s = float(np.median(np.diff(loads[-4:])))  # three cycles without a hold or a rest
    told = dict(part.split("=", 1) for part in made.send("pace")[4:].split())
    assert float(told["cycle_s"]) == pytest.approx(cycle_s, rel=0.15)
    assert float(told["breads_h"]) == pytest.approx(3600 / cycle_s, rel=0.18)
