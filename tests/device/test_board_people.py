"""What a person may do to a whole board, and what is refused: maintenance, holds, hand-over, lockout, corrections."""

import pytest
from device_board import app_of, cut, fault, heat_pins, hot, made, status, stored

from host.link.frames import crc16


def test_maintenance_is_refused_on_a_reading_that_is_not_usable():
    board = made()
    fault(board, "dome_open")
    assert board.send("maintenance").startswith("~no the oven is not known")
    board.advance(5)
    assert board.board.mode == "run"


@pytest.mark.parametrize(("dome_c", "word"), [(79.0, "~ok"), (81.0, "~no")])
def test_maintenance_needs_a_dome_below_80(dome_c, word):
    board = made()
    board.outside.probe_chips["dome"].temperature_c = lambda: dome_c
    cut(board, 2)
    assert board.send("maintenance").startswith(word)


def test_maintenance_is_refused_while_the_contactor_is_commanded():
    board = made()
    app = app_of(board)
    app.heater.contactor_on = 1
    assert app.acts.enter_maintenance().startswith("no an evening is on")
    app.heater.contactor_on = 0
    assert board.send("maintenance").startswith("~ok")


def test_maintenance_in_the_grace_of_a_start_keeps_the_trip_that_was_found():
    """A hung program that its watchdog restarts: the trip was in memory alone until the board armed, and a load that
    came before lost it."""
    board = made()
    app = app_of(board)
    app.supervisor.armed = 0
    app.supervisor.raise_event(board.world.load("tizzone.safety.limits").WATCHDOG_RESET)
    with board.world.running(board.board.port):
        assert app.acts.enter_maintenance().startswith("ok")
    assert stored(board, "latch")[0]["first_out"] == "watchdog-reset"


def test_setting_that_cannot_be_stored_is_not_stored_with_the_next_one_either():
    board = made()
    board.board.fs.refuse(28, times=1000)
    assert board.send("setting high_limit_c 550") == "~no the board cannot store it"
    assert "high_limit_c=500 " in board.send("setting high_limit_c")
    board.board.fs.refuse(28, times=0)
    assert board.send("setting soak_min 7").startswith("~ok stored")
    assert stored(board, "settings")[0] == {"soak_min": 7}


def test_stop_goes_before_hold_when_both_are_called_for_at_once():
    board = hot(made({"setpoint_c": 150, "session_max_min": 1}), 30)
    while board.now_s < 100 and board.state == "running":
        board.outside.enable = board.now_s < 63  # a hold and the longest evening in one tick, or nearly
        board._turn()
    board.advance(2)
    assert board.state == "stopping"
    assert heat_pins(board) == [0, 0]


@pytest.mark.parametrize("end_c", [250, 300])
def test_handover_waits_for_the_plans_end_and_never_above_260(end_c):
    board = made({"cool_c": end_c})
    dome = board.outside.probe_chips["dome"]
    limit_c = min(end_c, 260)
    for dome_c, word in ((limit_c + 2.0, "wait"), (limit_c - 2.0, "may")):
        board.outside.cut_power(2)
        dome.temperature_c = board.outside.probe_chips["stone"].temperature_c = lambda shown=dome_c: shown
        board.advance(8)
        assert status(board)["handover"] == word, dome_c
    board.outside.position = "original"
    board.advance(1)
    assert status(board)["handover"] == "theirs"
    dome.temperature_c = lambda: limit_c + 2.0
    board.advance(1)
    assert status(board)["handover"] == "back"


def test_setpoint_above_a_ceiling_that_has_come_down_comes_down_with_it():
    board = made()
    assert status(board)["setpoint_mc"] == "450000"
    assert board.send("witness restart") == "~ok"
    after = status(board)
    assert (after["release_mc"], after["limit_mc"], after["setpoint_mc"]) == ("60000", "100000", "60000")
    assert stored(board, "commission")[0]["release_c"] == 60


def test_commissioning_starts_anew_only_while_no_evening_is_on():
    board = made()
    board.send("start")
    assert board.send("witness restart").startswith("~no an evening is on")
    assert status(board)["release_mc"] == "480000"


def test_witness_step_that_cannot_be_stored_is_taken_back_and_earns_nothing():
    board = made(commissioned=False)
    assert board.send("witness attest papers MB 20260105") == "~ok"
    board.advance(1)
    board.board.fs.refuse(28, times=1000)
    assert board.send("witness attest electrical MB 20260105") == "~ok"
    board.advance(1)
    reply = board.send("witness")
    assert " done=1 " in reply and "cannot store" in reply
    assert board.send("witness step 1").startswith("~no")


def test_witness_step_is_not_stored_while_heat_is_permitted():
    board = made(commissioned=False)
    for step in ("papers", "electrical"):
        assert board.send(f"witness attest {step} MB 20260105") == "~ok"
    board.advance(1)
    app = app_of(board)
    board.send("start")
    board.advance(10)
    before = dict(board.board.fs.files)
    app.witness.unsaved = 1
    board.advance(5)
    assert dict(board.board.fs.files) == before
    assert app.witness.unsaved == 1
    board.send("stop")
    board.advance(2)
    assert app.witness.unsaved == 0


def test_learning_writes_nothing_while_heat_is_permitted():
    board = made(cook=None)
    assert board.send("learn start") == "~ok"
    board.advance(60)
    app = app_of(board)
    app.learning.experiment.stop("ended by the test")
    seen = []
    for _ in range(8):
        board._turn()
        seen.append((app.learning.experiment is None, app.supervisor.permit.granted, app.heater.contactor_on))
    kept = [entry for entry in seen if entry[0]]
    assert kept and all(entry[1:] == (0, 0) for entry in kept)
    assert "failed: ended by the test" in board.send("learn")


def test_acknowledge_and_unlock_need_a_usable_reading():
    board = hot(made({"setpoint_c": 100}), 40)
    fault(board, "dome_open")
    board.advance(2)
    assert board.send("acknowledge") == "~no cause-still-present"
    assert board.send("unlock").startswith("~no")


def test_line_with_a_right_checksum_in_more_or_fewer_than_four_digits_does_not_act():
    board = made()
    line = next(f"setpoint {c}" for c in range(60, 480) if crc16(f"setpoint {c}") < 0x1000)
    crc = crc16(line)
    for text in (f"{line}|0{crc:04X}", f"{line}|{crc:03X}", f"{line}| {crc:04X}", f"{line}|"):
        board.outside.rx += (text + "\n").encode()
        board.advance(1)
        assert board.lines[-1][1].startswith("~refused: checksum"), text
        assert status(board)["setpoint_mc"] == "450000"
    assert board.send(line).startswith("~ok")


def tripped_and_acknowledged(board):
    """A trip on a cool oven, its cause mended, and a person's acknowledge: the reply."""
    board.send("start")
    board.advance(8)
    board.outside.limiter.has_tripped = True
    board.advance(1)
    board.outside.limiter.has_tripped = False
    board.advance(1)
    return board.send("acknowledge")


def test_lockout_comes_with_the_third_trip_although_evenings_were_begun_and_stopped_between():
    board = made({"setpoint_c": 100})
    for count in (1, 2):
        assert tripped_and_acknowledged(board) == "~ok accepted", count
        assert board.send("start") == "~ok"
        board.advance(2)
        assert board.send("stop") == "~ok"
        board.advance(70)
        board.send("reset")
    assert tripped_and_acknowledged(board) == "~no locked-out"
    cut(board, 2)
    assert board.send("acknowledge") == "~no locked-out"


def test_lockout_is_not_reached_by_three_trips_with_finished_evenings_between():
    board = made({"setpoint_c": 60, "soak_min": 0})
    for _ in range(4):
        assert tripped_and_acknowledged(board) == "~ok accepted"
        board.send("start")
        while board.stage not in ("soak", "load"):
            board.advance(5)
        board.send("stop")
        board.advance(70)
        board.send("reset")
