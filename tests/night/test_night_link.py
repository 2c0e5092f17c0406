"""The night's words over the link, on the board's own code with a simulated oven."""

import numpy as np
import pytest
from scipy.optimize import brentq

from host import oven
from host.faults import library
from host.plans import bake_plan
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

LOW = """
name = "low"
end_c = 60
[[leg]]
dome_c = 90
stone_c = 60
wait_min = 1
breads = 3
bake_s = 12
sag_k = 30
recover_s = 20
rest_c = 80
"""


def made(plan=None, board="boards/pico.py", send=True, cook=None, **more):
    rehearsal = Rehearsal(plant=oven.preset("standard", 1), board=board, cook=cook, **more)
    rehearsal.advance(5)
    if plan and send:
        for line in bake_plan.read(plan).lines():
            assert rehearsal.send(line).startswith("~ok")
    return rehearsal


def until(rehearsal, stage, longest_s=900):
    end_s = rehearsal.now_s + longest_s
    while rehearsal.stage != stage:
        assert rehearsal.now_s < end_s, f"{stage} not reached: {rehearsal.state} {rehearsal.stage} {rehearsal.trip}"
        rehearsal.advance(1)


def cut(rehearsal):
    """Power off and on."""
    fault, _ = library.parse("power_cut@0")
    fault.start(rehearsal.outside)
    rehearsal.advance(40)


def words(reply):
    assert reply.startswith("~ok "), reply
    return dict(part.split("=", 1) for part in reply[4:].split() if "=" in part)


def test_plan_sent_is_in_force_and_outlives_a_power_cut():
    board = made(LOW)
    assert words(board.send("plan"))["plan"] == "low"
    assert words(board.send("plan show 1"))["bake_s"] == "12"
    assert board.send("plan show 2") == "~no such leg"
    cut(board)
    assert words(board.send("plan"))["plan"] == "low"
    assert board.send("plan none") == "~ok plan=settings"
    cut(board)
    assert words(board.send("plan"))["plan"] == "settings"


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("plan end", "begin again"),
        ("plan leg 1 90", "begin NAME"),
        ("plan begin Low 60 1", "a-z"),
        ("plan begin low 20 1", "end_c"),
        ("plan begin low 60 9", "legs"),
        ("plan begin low 60 many", "whole numbers"),
        ("plan fly", "begin NAME"),
        ("spot", "say"),
        ("spot hot", "say"),
        ("spot nan", "say"),
        ("spot 900", "say"),
        ("verdict pale", "say"),
        ("verdict pale blue", "say"),
        ("verdict right right", "not out yet"),
        ("verdict right right 7", "not out yet"),
        ("verdict right right x", "whole number"),
        ("bread", "breads=0"),
        ("bread x", "say"),
        ("rest", "no rest"),
        ("pace", "no pace is known"),
        ("counters none", "no such"),
    ],
)
def test_line_that_cannot_be_is_answered_with_a_reason(line, word):
    reply = made().send(line)
    assert reply.startswith("~no ")
    assert word in reply


def test_plan_with_a_bad_leg_or_a_missing_one_changes_nothing():
    board = made(LOW)
    assert board.send("plan begin other 60 2") == "~ok"
    assert "dome_c" in board.send("plan leg 1 999 0 0 0 0 50 0 90 0 0 0 0 0")
    assert "leg 1 is awaited" in board.send("plan leg 2 100 0 0 0 0 50 0 90 0 0 0 0 0")
    assert "legs are missing" in board.send("plan end")
    assert words(board.send("plan"))["plan"] == "low"


def test_plan_hotter_than_the_board_allows_is_refused_with_both_figures():
    board = made(commissioned=False)
    plan = bake_plan.load("club-flatbread")
    replies = [board.send(line) for line in plan.lines()]
    assert replies[-1].startswith("~no the plan asks for 450, this board allows 60")
    assert words(board.send("plan"))["plan"] == "settings"


def test_plan_is_refused_while_an_evening_is_on():
    board = made(LOW)
    board.send("start")
    assert "only while idle" in board.send("plan none")


def test_damaged_plan_refuses_the_start_until_a_person_decides():
    board = made(LOW)
    for name in ("plan.a", "plan.b"):
        files = board.board.fs.files
        files[name] = bytes(files[name][:-3])
    cut(board)
    assert "stored plan is damaged" in board.send("start")
    assert board.send("plan none").startswith("~ok")
    assert board.send("start") == "~ok"


@pytest.fixture(scope="module")
def evening():
    """An evening of three low breads, with verdicts and records."""
    plan = bake_plan.read(LOW)
    board = made(LOW, cook=Cook(plan=plan, verdicts=["pale right", "right right", "dark pale"], spots=False))
    board.send("start")
    until(board, "bake")
    assert "a bread lies on the stone" in board.send("spot 80")
    until(board, "cool", 1500)
    board.advance(125)  # the lowest stone and dome are looked for up to two minutes after a bread
    return board


@pytest.mark.slow
def test_breads_are_counted_recorded_and_judged(evening):
    records = [words(evening.send(f"bread {n}")) for n in (1, 2, 3)]
    assert [r["bake_s"] for r in records] == ["12", "12", "12"]
    assert [(r["top"], r["base"]) for r in records] == [("pale", "right"), ("right", "right"), ("dark", "pale")]
    assert [r["share"] for r in records] == ["50", "54", "54"]
    assert int(records[0]["at_s"]) < int(records[1]["at_s"]) < int(records[2]["at_s"])
    assert "breads=3" in evening.send("bread 4")
    texts = [e["text"] for e in evening.events if e["kind"] == "cook"]
    assert "~ok share 50->54: top pale, base right" in texts
    assert sum("n=" in text and "sag_k=" in text for text in texts) == 3


def test_share_goes_back_by_a_half_step_after_a_change_of_direction(evening):
    assert words(evening.send("night"))["adjust"] == "2"


def test_counters_and_story_of_a_finished_evening(evening):
    found = words(evening.send("counters"))
    assert (found["sessions"], found["breads"], found["trips"], found["cuts"]) == ("1", "3", "0", "0")
    tops = {relay.zone: relay.switchings for relay in evening.outside.relays}
    assert int(found["top"]) == pytest.approx(tops["top"], abs=2)  # the start test opens and closes it too
    assert words(evening.send("night"))["interrupted"] == "none"
    assert "minutes" in evening.send("counters hot_min")


def test_records_counters_and_learning_outlive_a_cut_after_the_evening(evening):
    before = [evening.send(line) for line in ("bread 1", "bread 3", "counters")]
    cut(evening)
    assert [evening.send(line) for line in ("bread 1", "bread 3", "counters")] == before
    assert words(evening.send("night"))["interrupted"] == "none"


@pytest.mark.slow
def test_cut_in_the_evening_is_told_nothing_heats_and_a_persons_start_goes_on():
    plan = bake_plan.read(LOW)
    board = made(LOW, cook=Cook(plan=plan, verdicts=["right right"]))
    board.send("start")
    until(board, "bake")
    until(board, "recover")
    board.advance(12)  # the door has been open
    cut(board)
    assert board.state == "aborted"
    board.advance(120)
    assert not board.outside.contactor.is_closed
    assert "power" in board.send("alarms power-cut").lower()
    story = words(board.send("night"))
    assert (story["interrupted"], story["plan"], story["done"]) == ("power-cut", "low", "1")
    assert board.send("start").startswith("~no missing: no-trip")
    assert board.send("acknowledge").startswith("~ok")
    board.advance(60)
    assert board.state == "idle"
    assert not board.outside.contactor.is_closed
    assert board.send("start") == "~ok"
    assert words(board.send("plan"))["breads"] == "1/3"
    until(board, "cool", 1500)
    assert (board.state, words(board.send("night"))["done"]) == ("complete", "3")
    found = words(board.send("counters"))
    assert (found["cuts"], found["sessions"], found["breads"]) == ("1", "2", "3")


def test_night_new_forgets_an_interrupted_evening():
    board = made(LOW)
    board.send("start")
    board.advance(30)
    cut(board)
    assert words(board.send("night"))["interrupted"] == "power-cut"
    assert board.send("night new") == "~ok"
    assert words(board.send("night"))["interrupted"] == "none"


def test_emissivity_note_keeps_to_plancks_law():
    """Planck's law over the 8..14 um of a common hand thermometer; second radiation constant of CODATA 2018."""
    wave_m = np.linspace(8e-6, 14e-6, 2001)

    def seen(temperature_k):
        return np.trapezoid(wave_m**-5 / np.expm1(0.01438776877 / (wave_m * temperature_k)), wave_m)

    got = 0.90 * seen(723.15)  # a stone of 0.90 at 450 °C, the thermometer set to 0.95
    shown_k = brentq(lambda t_k: 0.95 * seen(t_k) - got, 600.0, 723.15)
    note = made().send("spot")
    assert "0.90" in note
    assert float(note.split("it shows ")[1].split()[0]) == pytest.approx(723.15 - shown_k, abs=1.0)


@pytest.mark.slow
def test_rest_and_resume_by_the_link():
    board = made(LOW)
    board.send("start")
    until(board, "load")
    assert board.send("rest") == "~ok rest at 80 C; resume goes on"
    board.advance(5)
    assert board.stage == "rest"
    assert board.send("resume") == "~ok"
    until(board, "load")


def test_spot_teaches_and_a_far_one_is_questioned():
    board = made(LOW)
    reply = board.send("spot 22")
    assert "off_k" in reply
    assert "far" not in reply
    assert "right emissivity" in board.send("spot 400")
    board.send("stone forget")
    assert words(board.send("stone"))["spots"] == "0"


@pytest.mark.slow
def test_handover_follows_temperature_and_selector():
    board = made(LOW)
    assert words(board.send("status"))["handover"] == "may"
    assert board.send("handover").startswith("~ok handover=may")
    board.send("start")
    until(board, "load")
    assert board.send("handover").startswith("~no handover=ours")
    board.send("stop")
    board.advance(1)
    assert "below 60 first" in board.send("handover")  # the plan's end_c
    board.outside.position = "original"
    board.advance(1)
    assert "turn the selector to OFF" in board.send("handover")
    assert words(board.send("status"))["handover"] == "back"
    board.outside.door(900)
    board.advance(900)
    assert board.send("handover").startswith("~ok handover=theirs")
    assert "missing" in board.send("start")  # ours only with the selector on OURS
