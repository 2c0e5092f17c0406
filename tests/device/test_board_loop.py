"""The loop of a whole board: however it ends the pins are low first; heat and flash never meet; fan when in doubt."""

import pytest
from device_board import app_of, cut, fault, heat_pins, hot, made, put, status, stored


def fails(board, kind, call=0):
    """The coming call of the hardware raises."""
    board.outside.quiet_us = 0
    board.outside.orders.append(["fail", "call", [call, kind, 0]])


@pytest.mark.parametrize("kind", ["value-error", "os-error", "memory-error", "interrupt"])
def test_loop_that_ends_on_anything_ends_with_every_output_at_its_safe_level(kind):
    board = hot(made({"setpoint_c": 150}), 60)
    assert heat_pins(board) == [1, 1]
    fails(board, kind, 12)
    board.advance(1)
    assert board.board.mode == "prompt"
    assert heat_pins(board) == [0, 0]
    assert not board.outside.contactor.is_closed
    assert board.outside.fan_turns


def test_loop_that_ends_on_an_error_has_its_pins_low_before_anything_is_written():
    board = hot(made({"setpoint_c": 150}), 60)
    fs, seen = board.board.fs, []
    real = fs.io.open

    def note(path, mode="r", *more):
        if "w" in mode or "a" in mode:
            seen.append((heat_pins(board), board.board.port.levels[board.pins.CONTACTOR]))
        return real(path, mode, *more)

    fs.io.open = note
    fails(board, "value-error", 12)
    board.advance(1)
    assert seen and all(entry == ([0, 0], 0) for entry in seen)
    assert stored(board, "latch")[0]["first_out"] == "program-fault"
    cut(board, 2)
    assert status(board)["trip"] == "program-fault"
    lines = [board.send(f"log {n}") for n in range(8)]
    assert any("program fault: ValueError" in line for line in lines)


def test_planned_reset_finds_every_output_at_its_safe_level():
    board = made()
    assert not board.outside.fan_turns  # cold: at rest
    levels = []
    restart = board.board.port.restart

    def note():
        levels.append(dict(board.board.port.levels))
        restart()

    board.board.port.restart = note
    board.send("maintenance")
    board.advance(2)
    assert len(levels) == 1
    pins = board.pins
    assert [levels[0][pin] for pin in (pins.HEAT_TOP, pins.HEAT_DECK, pins.CONTACTOR, pins.COOLING_FAN)] == [0] * 4


@pytest.mark.slow
def test_last_bread_takes_permit_and_heat_away_in_the_very_tick_that_ends_the_evening():
    board = made({"setpoint_c": 100, "soak_min": 0, "breads": 1, "bake_s": 10})
    board.send("start")
    while board.stage != "bake":
        board.advance(0.25)
        if board.stage == "load":
            board.say("loaded", "user")
    fields = board.world.load("tizzone.app").REPORT
    while board.state == "running":
        board._turn()
    report = dict(zip(fields, board.board.report, strict=True))
    assert board.state == "complete"
    assert (report["permit"], report["out_pm"], heat_pins(board)) == (0, 0, [0, 0])


def writes_of(board):
    """[(file, permit, heat pins, contactor commanded)] of every write from now on."""
    found = []
    fs = board.board.fs
    real = fs.io.open

    def note(path, mode="r", *more):
        if "w" in mode or "a" in mode:
            app = app_of(board)
            found.append((path, app.supervisor.permit.granted, heat_pins(board)))
        return real(path, mode, *more)

    fs.io.open = note
    return found


def test_flash_is_never_written_while_heat_is_permitted_all_evening_long():
    board = made({"setpoint_c": 120, "soak_min": 0, "bake_s": 15, "breads": 3}, cook="default")
    found = writes_of(board)
    board.send("start")
    board.advance(30)
    sup = app_of(board).supervisor
    sup.trips_in_a_row = sup.latch_changed = 1  # something is due, and has to wait
    board.advance(600)
    assert board.send("hold").startswith("~")
    board.advance(5)
    board.send("stop")
    board.advance(5)
    assert {path.partition(".")[0] for path, *_ in found} >= {"latch", "session"}
    assert [entry for entry in found if entry[1] or entry[2] != [0, 0]] == []


def test_fan_runs_while_a_reading_cannot_be_believed_until_the_other_probe_says_cool():
    board = made()
    assert not board.outside.fan_turns
    fault(board, "dome_open")
    board.advance(0.3)
    assert board.outside.fan_turns
    board.advance(3)
    assert status(board)["trip"] == "probe-open" and not board.outside.fan_turns


@pytest.mark.slow
def test_fan_runs_on_down_to_150_degrees_and_rests_below():
    board = hot(made({"setpoint_c": 200}), 190)
    board.send("stop")
    while board.rows["pv_c"][-1] >= 151:
        board.advance(10)
        assert board.outside.fan_turns
    while board.rows["pv_c"][-1] > 148:
        board.advance(5)
    board.advance(1)
    assert not board.outside.fan_turns


@pytest.mark.parametrize("probe", ["dome", "stone"])
def test_box_is_as_hot_as_its_hottest_amplifier(probe):
    board = made()
    board.outside.probe_chips[probe].junction_c = lambda: 72.0
    other = "stone" if probe == "dome" else "dome"
    board.outside.probe_chips[other].junction_c = lambda: 30.0
    cut(board, 2)  # a jump of the junction within a tick is none that is believed
    board.advance(3)
    assert abs(int(status(board)["box_mc"]) - 72_000) < 200
    assert status(board)["trip"] == "box-hot"


def test_latch_outlives_a_restart_and_the_evening_mark_is_closed_behind_it():
    board = hot(made({"setpoint_c": 150}), 60)
    fault(board, "dome_open")
    board.advance(2)
    assert stored(board, "latch")[0]["first_out"] == "probe-open"
    assert stored(board, "session")[0]["open"] == 0
    cut(board, 2)
    assert status(board)["trip"] == "probe-open"


def test_damaged_settings_trip_and_the_defaults_are_in_force():
    board = made({"soak_min": 7})
    put(board, "settings", {"soak_min": 7, "setpoint_c": 9999})
    cut(board, 2)
    assert status(board)["trip"] == "settings-damaged"
    assert "soak_min=7" in board.send("setting soak_min")
    assert "setpoint_c=450" in board.send("setting setpoint_c")


def test_collection_and_answer_never_share_a_tick_however_fast_somebody_asks(monkeypatch):
    board = made()
    app = app_of(board)
    seen, answers = [], []
    commands = board.world.load("tizzone.link.commands")
    answer = commands.answer
    monkeypatch.setattr(board.world.modules["gc"], "collect", lambda: seen.append(app.ticks))
    monkeypatch.setattr(commands, "answer", lambda *what: answers.append(app.ticks + 1) or answer(*what))
    board.advance(20)
    assert {after - before for before, after in zip(seen, seen[1:], strict=False)} == {16}
    del seen[:]
    for _ in range(160):  # a line in every tick
        board.say("version", "user")
        board.advance(0.25)
    assert len(answers) >= 100
    assert not set(seen) & set(answers)
    assert max(after - before for before, after in zip(seen, seen[1:], strict=False)) <= 33
