"""The commands that speak to a board, each typed against the device's own code."""

import json

import pytest

from host.files import kinds


def test_say_sends_any_line_and_tells_a_refusal_in_one_line(on_port, typed):
    on_port()
    assert typed("say", "permissives") == 0
    assert "door-shut=1" in typed.out
    assert typed("say", "resume", "--yes") == 1
    assert typed.err == "tizzone say: the board refuses: nothing is held (idle)\n"
    assert typed("say", "--list") == 0 and "acknowledge\n" in typed.out


@pytest.mark.parametrize("words", [["start"], ["resume"], ["learn", "start"]])
def test_say_asks_back_before_heat(on_port, typed, words):
    board = on_port()
    assert typed("say", *words, answers=["no"]) == 2
    assert typed("say", *words) == 2 and "say --yes" in typed.err
    assert "state=idle" in board.send("status")


def test_settings_are_shown_with_meaning_unit_and_bounds_and_set(on_port, typed):
    on_port()
    assert typed("settings") == 0
    assert typed.out.count("\n") == 26 and "°C" in typed.out
    assert typed("settings", "show", "attend_min", "--json") == 0
    (row,) = json.loads(typed.out)
    assert (row["value"], row["lowest"], row["highest"], row["unit"]) == (15, 1, 30, "min") and row["why"]
    assert typed("settings", "set", "attend_min", "10") == 0
    assert "attend_min: 15 -> 10 min" in typed.out
    assert typed("settings", "set", "attend_min", "31") == 1
    assert "1..30" in typed.err and typed.err.count("\n") == 1


def test_settings_come_back_from_their_copy_and_a_bad_copy_changes_nothing(on_port, typed, tmp_path):
    board = on_port()
    copy = tmp_path / "hall.settings.json"
    board.send("correction dome 0:150 100000:-200")
    assert typed("settings", "backup", str(copy)) == 0
    assert kinds.kind_of(copy) == kinds.SETTINGS
    assert typed("settings", "backup", str(copy)) == 2 and "is there already" in typed.err
    board.send("setting attend_min 9")
    board.send("correction dome")
    assert typed("settings", "restore", str(copy), "--json") == 0
    assert sorted(json.loads(typed.out)["changed"]) == ["attend_min", "calibration"]
    assert typed("settings", "restore", str(copy)) == 0
    assert typed.out.splitlines()[-2:] == ["changed: nothing", "next: tizzone next"]  # no reset that changes nothing
    assert "attend_min=15" in board.send("setting attend_min")
    assert "[[0, 150], [100000, -200]]" in board.send("setting calibration")
    bad = tmp_path / "bad.json"
    bad.write_text('{"attend_min": 9, "bake_s": 5}', encoding="utf-8")
    assert typed("settings", "restore", str(bad)) == 1 and "bake_s must lie within" in typed.err
    assert "attend_min=15" in board.send("setting attend_min")


def test_bake_plan_is_sent_shown_started_and_stopped(on_port, typed):
    board = on_port()
    assert typed("bake", "list") == 0 and "rye-crisp" in typed.out
    assert typed("bake", "send", "rye-crisp") == 0
    assert typed("bake", "show") == 0
    assert "plan in force: rye-crisp" in typed.out and "leg 1: dome 350 °C" in typed.out
    assert typed("bake", "start", answers=["no"]) == 2
    assert "state=idle" in board.send("status")
    assert typed("bake", "start", answers=["yes"]) == 0
    assert "state=running" in board.send("status")
    assert typed("bake", "send", "tray-bread") == 1 and "only while idle" in typed.err
    assert typed("bake", "stop") == 0
    board.advance(5)
    assert "top=0 deck=0" in board.send("status")


def test_bake_plan_hotter_than_the_release_is_refused_with_the_boards_reason(on_port, typed):
    on_port(commissioned=False)
    assert typed("bake", "send", "rye-crisp") == 1
    assert typed.err.count("\n") == 1 and "350" in typed.err and "60" in typed.err


@pytest.mark.slow
@pytest.mark.parametrize("says, kept", [("yes", True), ("no", False)])
def test_learning_is_looked_on_and_its_tuning_kept_or_dropped(on_port, typed, says, kept):
    board = on_port()
    before = board.send("setting kc_pct_per_k").partition(" (")[0]
    assert typed("learn", answers=["yes", says]) == 0
    assert "dome " in typed.out and "->" in typed.out
    after = board.send("setting kc_pct_per_k").partition(" (")[0]
    assert (after != before) is kept
    assert typed("learn", "--status", "--json") == 0 and json.loads(typed.out)["learning"].startswith("done")


def test_learning_on_a_board_that_is_not_released_says_why(on_port, typed):
    on_port(commissioned=False)
    assert typed("learn", "--yes") == 1
    assert "release of 260" in typed.err and typed.err.count("\n") == 1


@pytest.mark.slow
def test_calibration_lets_the_board_read_both_baths_and_takes_its_correction(on_port, typed, baths):
    board = on_port(baths)
    answers = [baths.dip(1.5), baths.dip(99.7), "yes"]
    assert typed("calibrate", "--live", "--altitude-m", "540", answers=answers) == 0, typed.err
    assert "ice" in typed.out and "98.18" in typed.out  # IAPWS R7-97 at the standard atmosphere's 950 hPa
    told = board.send("setting calibration")
    (ice, boil) = json.loads(told.partition("'dome': ")[2].partition("}")[0])
    assert abs(ice[1] + 1500) < 200 and abs(boil[1] + 1520) < 200
    assert "trip=none" in board.send("status")


@pytest.mark.slow
def test_calibration_without_a_yes_writes_nothing(on_port, typed, baths):
    board = on_port(baths)
    answers = [baths.dip(0.5), "skip", "no"]
    assert typed("calibrate", "--live", "--altitude-m", "540", answers=answers) == 0
    assert "calibration={}" in board.send("setting calibration")
    assert typed("calibrate", "--live", "--altitude-m", "540", answers=[baths.dip(60.0)]) == 1
    assert "right bath" in typed.err and typed.err.count("\n") == 1


def test_spot_reading_moves_the_boards_estimate(on_port, typed):
    on_port()
    assert typed("spot", "30") == 0 and "K off" in typed.out
    assert typed("spot") == 0 and "surface" in typed.out


def test_fetch_brings_every_part_as_a_file_and_keeps_what_is_there(on_port, typed, tmp_path):
    board = on_port(faults=["dome_open@30"])
    board.send("start")
    board.advance(60)
    folder = tmp_path / "board"
    assert typed("fetch", "--out", str(folder)) == 0
    assert sorted(path.name for path in folder.iterdir()) == [
        "board.log", "breads.json", "counters.json", "settings.json", "witness.json"
    ]  # fmt: skip
    assert "trip probe-open" in (folder / "board.log").read_text(encoding="utf-8")
    assert json.loads((folder / "counters.json").read_text(encoding="utf-8"))["counters"]["trips"] == 1
    mine = folder / "counters.json"
    mine.write_text("my own", encoding="utf-8")
    assert typed("fetch", "--out", str(folder)) == 2 and "is there already" in typed.err
    assert mine.read_text(encoding="utf-8") == "my own"


def test_explain_tells_every_condition_permissive_and_setting(typed):
    assert typed("explain", "--list", "--json") == 0
    found = json.loads(typed.out)
    assert len(found) > 70 and all(one["what"] and one["why"] and one["do"] for one in found)
    assert typed("explain", "undriven-rise") == 0 and "stuck relay" in typed.out
    assert typed("explain", "undriven") == 2 and "undriven-rise" in typed.err


@pytest.mark.parametrize("line", ["bake send rye-crisp", "learn --yes"])
def test_board_that_is_not_commissioned_points_to_commission(on_port, typed, line):
    on_port(commissioned=False)
    assert typed(*line.split()) == 1
    assert typed.err.count("\n") == 1 and typed.err.strip().endswith("; first: tizzone commission")


def test_setting_during_an_evening_says_how_to_make_the_board_idle(on_port, typed):
    on_port()
    assert typed("bake", "start", "--yes") == 0
    assert typed("settings", "set", "attend_min", "9") == 1
    assert "only while idle; first: tizzone bake stop" in typed.err
