"""Every way by which a setpoint, a limit, a release, a correction or a record can change: tried on a whole board.

What stops a way, and which ones nothing can stop, stands in boards/CLASS_B.md; a test there compares the lists.
"""

import re
from pathlib import Path

import pytest
from device_board import app_of, cut, fields, hot, made, put, spoil, status, store_of, stored

from host.link.frames import on_wire

ROOT = Path(__file__).resolve().parents[2]
FULL = ("480000", "500000")  # release, limit
LEAST = ("60000", "100000")
STOPPED, OPEN = {}, {}


def way(table):
    """Puts a function into a table under its name in plain words."""

    def put_in(function):
        table[function.__name__.replace("_", " ")] = function
        return function

    return put_in


def bounds(board):
    """(release, limit) in force."""
    told = status(board)
    return told["release_mc"], told["limit_mc"]


def permitted(board):
    return app_of(board).supervisor.permit.granted


# --- what is stopped ------------------------------------------------------------------------------------


@way(STOPPED)
def line_setpoint_above_the_ceiling():
    board = made()
    for text in ("setpoint 481", "setpoint 9999", "setpoint nan", "setpoint inf", "setpoint 450 450"):
        assert board.send(text).startswith("~no"), text
    assert status(board)["setpoint_mc"] == "450000"


@way(STOPPED)
def line_setting_out_of_bounds():
    board = made()
    for text in ("high_limit_c 551", "setpoint_c 531", "restart_c 301", "attend_c 121", "session_max_min 481"):
        assert board.send("setting " + text).startswith("~no setting"), text
    cut(board, 2)
    assert bounds(board) == FULL


@way(STOPPED)
def line_setting_high_limit():
    board = made()
    assert board.send("setting high_limit_c 550").startswith("~ok stored")
    assert bounds(board) == FULL  # in force after a restart only ...
    cut(board, 2)
    assert bounds(board) == LEAST  # ... and then the record no longer speaks of this oven


@way(STOPPED)
def line_setting_in_an_evening():
    board = hot(made({"setpoint_c": 120}), 30)
    for text in ("setting high_limit_c 550", "setting setpoint_c 480", "correction dome 0:-9000", "plan none"):
        assert board.send(text).startswith("~no"), text


@way(STOPPED)
def line_correction_below_the_truth():
    board = made()
    assert board.send("correction dome 0:-31000").startswith("~no")
    assert board.send("correction dome 0:-15000 600000:-15000").startswith("~ok stored")
    cut(board, 2)
    assert bounds(board) == FULL  # signed again: a person's act
    for shown_c, trip in ((499.0, "none"), (500.5, "high-limit")):  # the limit looks at the raw reading too
        board.outside.probe_chips["dome"].temperature_c = lambda shown_c=shown_c: shown_c
        cut(board, 2)
        assert status(board)["trip"] == trip


@way(STOPPED)
def line_plan_hotter_than_the_release():
    board = made(commissioned=False)
    leg = "plan leg 1 450 0 0 0 1 60 0 60 50 0 0 0"
    board.send("plan begin hot 60 1")
    reply = board.send(leg)
    names = board.send("plan show 1")
    assert reply.startswith(("~ok", "~no leg 1")), (reply, names)
    app = app_of(board)
    app.evening.plan.value = {"name": "hot", "end_c": 60, "legs": [[450] * 12]}
    assert board.send("start").startswith("~no the plan asks for 450, this board allows 60")


@way(STOPPED)
def line_witness_without_its_evidence():
    board = made(commissioned=False)
    assert board.send("witness accept").startswith("~no step is under way")
    assert board.send("witness attest full-heat MB 20260105").startswith("~no the next step is papers")
    for step in ("papers", "electrical"):
        assert board.send(f"witness attest {step} MB 20260105") == "~ok"
        board.advance(1)
    assert board.send("witness attest dead MB 20260105").startswith("~no the board measures this step")
    assert board.send("witness begin dead MB 20260105") == "~ok"
    assert board.send("witness accept").startswith("~no still to be seen")
    assert bounds(board) == LEAST


@way(STOPPED)
def line_replayed_after_a_trip_or_damaged():
    board = hot(made({"setpoint_c": 120}), 30)
    board.outside.probe_chips["dome"].set_fault("open")
    board.advance(3)
    board.outside.probe_chips["dome"].set_fault(None)
    board.advance(2)
    board.outside.rx += on_wire("start")  # the very bytes of the evening's beginning
    board.advance(2)
    assert (status(board)["trip"], board.state) == ("probe-open", "aborted")
    fresh = made()
    for n in range(len(on_wire("start")) - 1):
        line = bytearray(on_wire("start"))
        line[n] ^= 0x01
        fresh.outside.rx += line
        fresh.advance(0.5)
    assert fresh.state == "idle"


@way(STOPPED)
def line_unlock_or_acknowledge_on_a_hot_oven():
    board = hot(made({"setpoint_c": 300}), 260)  # the stone lags: it reads less than half of that
    board.outside.probe_chips["dome"].set_fault("open")
    board.advance(3)
    board.outside.probe_chips["dome"].set_fault(None)
    board.advance(2)
    assert board.send("acknowledge").startswith("~no too-hot")
    assert board.send("unlock").startswith("~no")
    assert board.send("spot 25").startswith("~no proof of cold")
    cut(board, 2)  # nor after a restart
    assert board.send("acknowledge").startswith("~no")


@way(STOPPED)
def anything_in_the_program_that_asks_too_much():
    board = hot(made({"setpoint_c": 120}), 40)
    app_of(board).sequence.set_setpoint(481_000)
    board.advance(0.5)
    assert permitted(board) == 0
    app_of(board).sequence.set_setpoint(480_000)
    board.advance(0.5)
    assert permitted(board) == 1


@way(STOPPED)
def limit_or_setpoint_changed_in_memory():
    for change in (lambda app: setattr(app.supervisor, "_limit_mc", 600_000),
                   lambda app: setattr(app.supervisor, "_ceiling_mc", 500_000),
                   lambda app: setattr(app.sequence, "setpoint_mc", 470_000)):  # fmt: skip
        board = hot(made({"setpoint_c": 120}), 30)
        change(app_of(board))
        board.advance(0.5)
        assert status(board)["trip"] == "memory-fault"


@way(STOPPED)
def file_settings_within_their_bounds():
    for values in ({"high_limit_c": 550, "setpoint_c": 530}, {"calibration": {"dome": [[0, -15000]]}},
                   {"exclusive": 1}):  # fmt: skip
        board = made()
        put(board, "settings", values)
        cut(board, 2)
        assert bounds(board) == LEAST, values
        assert "changed since commissioning" in board.send("version")


@way(STOPPED)
def file_settings_out_of_bounds_or_gone():
    board = made()
    put(board, "settings", {"high_limit_c": 600, "attend_min": 9999})
    cut(board, 2)
    assert status(board)["trip"] == "settings-damaged"
    assert int(bounds(board)[1]) <= 500_000
    board = made({"exclusive": 1})
    put(board, "settings", {"exclusive": 1})
    spoil(board, "settings", 0)
    cut(board, 2)
    assert (status(board)["trip"], app_of(board).heater.exclusive) == ("settings-damaged", 1)


@way(STOPPED)
def file_record_that_promises_more_than_its_steps():
    board = made()
    record = stored(board, "commission")[0]
    put(board, "commission", {**record, "steps": [["MB", "20260105", 0]] * 3})
    cut(board, 2)
    assert bounds(board) == LEAST
    put(board, "commission", {**record, "release_c": 600})
    cut(board, 2)
    assert bounds(board) == LEAST


@way(STOPPED)
def file_record_of_another_board_or_another_map():
    board = made()
    machine = board.world.load("machine")
    real = machine.unique_id
    machine.unique_id = lambda: b"another!"
    try:
        cut(board, 2)  # the flash of one board on another
        assert bounds(board) == LEAST
    finally:
        machine.unique_id = real
    board = made()
    board.board.port.board.DOOR = None
    cut(board, 2)
    assert bounds(board) == LEAST


@way(STOPPED)
def file_latch_gone_or_all_files_gone():
    board = made()
    board.send("start")
    board.advance(3)
    spoil(board, "latch", 0)
    cut(board, 2)
    assert status(board)["trip"] == "latch-doubt"
    board.board.fs.files.clear()
    cut(board, 2)
    assert bounds(board) == LEAST  # as a new board: nothing is earned


@pytest.mark.parametrize("name", STOPPED)
def test_way_round_the_evidence_is_stopped(name):
    STOPPED[name]()


# --- what nothing on the board can stop -------------------------------------------------------------------


@way(OPEN)
def record_written_at_the_prompt():
    board = made(commissioned=False)
    port, store = store_of(board)
    with board.world.running(port):
        release = board.world.load("tizzone.commissioning.release")
        values = board.world.load("tizzone.memory.settings").defaults()
        store.save("commission", release.record(board.pins, values, 480))
    cut(board, 2)
    assert bounds(board) == FULL


@way(OPEN)
def restored_backup_of_this_very_board():
    board = made()
    backup = stored(board, "commission")[0]
    assert board.send("witness restart") == "~ok"
    assert bounds(board) == LEAST
    put(board, "commission", backup)
    cut(board, 2)
    assert bounds(board) == FULL


@way(OPEN)
def another_probe_behind_the_same_entry():
    board = made()
    board.outside.probe_chips["dome"].seed = 77  # another specimen: nothing tells it apart
    cut(board, 2)
    assert bounds(board) == FULL


@way(OPEN)
def line_start_replayed_on_an_idle_board():
    board = made()
    board.outside.rx += on_wire("start")  # recorded on another night: a line has no date
    board.advance(3)
    assert board.state == "running"


@way(OPEN)
def another_program_on_the_board():
    board = made()
    told = fields(board.send("version"))
    assert told["release"] == "full"
    with board.world.running(board.board.port):
        release = board.world.load("tizzone.commissioning.release")
        before = release.fingerprint(board.pins, app_of(board).signed)
        limits = board.world.load("tizzone.safety.limits")
        with pytest.MonkeyPatch.context() as patched:  # the world is shared with other tests
            patched.setattr(limits, "HIGH_LIMIT_MAX_MC", 900_000)  # as if other files were loaded
            assert release.fingerprint(board.pins, app_of(board).signed) == before


@pytest.mark.parametrize("name", OPEN)
def test_way_round_the_evidence_that_is_open_is_open_as_told(name):
    OPEN[name]()


def test_ways_round_the_evidence_stand_in_the_comparison_and_no_others():
    text = (ROOT / "boards" / "CLASS_B.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([a-z -]+)` \|.*\| (stopped|open) \|$", text, re.M)
    assert {name for name, end in rows if end == "stopped"} == set(STOPPED)
    assert {name for name, end in rows if end == "open"} == set(OPEN)
