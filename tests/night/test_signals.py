"""Buzzer and lamp: what they do when, on the board's own code; and that a board without them does the same evening."""

from pathlib import Path

import pytest

from host import oven
from host.pins.pin_map import find
from host.plans import bake_plan
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

PLAN = """
name = "short"
end_c = 60
[[leg]]
dome_c = 60
breads = 2
bake_s = 14
"""
PINS = {"BUZZER": 26, "LED": 27}


def board_with_signals(folder):
    """The full wiring with a buzzer and a lamp on free pins."""
    text = Path("boards/pico.py").read_text(encoding="utf-8")
    path = folder / "signalled.py"
    path.write_text(text + "".join(f"\n{name} = {pin}\n" for name, pin in PINS.items()), encoding="utf-8")
    return str(path)


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    """[(t_s, state, stage, permit, buzzer, led), ...] a tick each."""
    plan = bake_plan.read(PLAN)
    board = board_with_signals(tmp_path_factory.mktemp("board"))
    made = Rehearsal(plant=oven.preset("standard", 1), board=board, cook=Cook(plan=plan))
    made.advance(5)
    for line in plan.lines():
        made.send(line)
    made.send("start")
    ticks = []
    while made.state != "complete" and made.now_s < 900:
        made.advance(0.25)
        levels = made.board.port.levels
        permit = made.board.life.app.supervisor.permit.granted
        ticks.append((made.now_s, made.state, made.stage, permit, levels.get(26, 0), levels.get(27, 0)))
    for _ in range(40):
        made.advance(0.25)
        levels = made.board.port.levels
        ticks.append((made.now_s, made.state, made.stage, 0, levels.get(26, 0), levels.get(27, 0)))
    return ticks


def sounds(ticks):
    return [(t_s, stage) for t_s, _, stage, _, buzzer, _ in ticks if buzzer]


def changes(evening, before, after):
    return [b[0] for a, b in zip(evening, evening[1:], strict=False) if (a[2], b[2]) == (before, after)]


def test_end_of_a_bake_is_sounded_at_once_in_four_long_rows_and_then_it_is_quiet(evening):
    for end_s in changes(evening, "bake", "recover") + changes(evening, "bake", "cool"):
        after = [tick[4] for tick in evening if end_s - 0.01 <= tick[0] < end_s + 4.0]
        assert sum(after) >= 11  # four times three beats of a quarter second, the last may be cut by the next signal
        assert after[0] == 1
    assert not [t_s for t_s, stage in sounds(evening) if stage == "preheat"]


def test_ten_seconds_before_the_end_one_beat_is_sounded(evening):
    for end_s in changes(evening, "bake", "recover"):
        beats = [t_s for t_s, stage in sounds(evening) if stage == "bake" and end_s - 13 < t_s < end_s]
        assert len(beats) == 1
        assert end_s - beats[0] == pytest.approx(10.0, abs=0.6)


def test_lamp_is_steady_with_heat_and_blinks_while_a_bread_is_awaited(evening):
    assert all(led == permit for _, _, stage, permit, _, led in evening if stage == "preheat")
    waiting = [led for _, _, stage, _, _, led in evening if stage == "load"]
    assert 0 < sum(waiting) < len(waiting)


def test_evening_without_buzzer_and_lamp_has_no_such_pins_driven(tmp_path):
    shipped = find("pico").read_text(encoding="utf-8").splitlines()
    signals = [line for line in shipped if line.startswith(("BUZZER", "LED"))]
    assert len(signals) == 2
    bare = tmp_path / "bare.py"
    bare.write_text("\n".join(line for line in shipped if line not in signals), encoding="utf-8")
    made = Rehearsal(plant=oven.preset("standard", 1), board=str(bare), cook=None)
    made.advance(10)
    assert not {int(line.split("=")[1].split("#")[0]) for line in signals} & set(made.board.port.levels)
