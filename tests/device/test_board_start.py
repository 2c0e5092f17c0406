"""From the first instruction to the first tick: outputs low, what the flash holds is believed or doubted, and told."""

import types

import pytest
from device_board import app_of, cut, fault, heat_pins, hot, made, put, spoil, status, stored

from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port
from host.simulator.rehearsal import Rehearsal

OUTPUTS = {"HEAT_TOP": 10, "HEAT_DECK": 11, "CONTACTOR": 12, "COOLING_FAN": 13}


def booted(board, high=(), fails=None):
    """(levels after boot.py, what it printed); `high`: outputs that a soft reset has left high."""
    world = World()
    port = Port(Dark(), "rp2040", board)
    if fails is not None:
        load = world.load

        def broken(name):
            if name == "board":
                raise fails
            return load(name)

        world.load = broken
    with world.running(port):
        for pin in high:
            port.write(port.claim(pin, "out"), 1)
        world.run_file("boot")
    return port.levels, port.printed


@pytest.mark.parametrize("name", OUTPUTS)
def test_boot_output_left_high_by_a_soft_reset_is_driven_low(name):
    levels, printed = booted(types.SimpleNamespace(**OUTPUTS), high=[OUTPUTS[name]])
    assert levels == dict.fromkeys(OUTPUTS.values(), 0)
    assert printed == []


def test_boot_output_that_is_not_wired_is_left_alone():
    levels, printed = booted(types.SimpleNamespace(HEAT_TOP=10, HEAT_DECK=None, CONTACTOR=12))
    assert levels == {10: 0, 12: 0}  # and whatever comes behind it is not
    assert printed == []


@pytest.mark.parametrize("error", [ImportError("no board"), SyntaxError("board.py"), ValueError("x"), TypeError("x"),
                                   OSError(5)])  # fmt: skip
def test_boot_map_that_cannot_be_read_says_so_and_returns(error):
    levels, printed = booted(types.SimpleNamespace(**OUTPUTS), fails=error)
    assert levels == {}
    assert printed[0].startswith("boot: pin map unusable, outputs left to their pull-downs: ")


def test_main_runs_the_program():
    world = World()
    ran = []
    world.modules["tizzone"] = types.ModuleType("tizzone")
    world.modules["tizzone.app"] = types.SimpleNamespace(run=lambda: ran.append(1))
    world.modules["tizzone"].app = world.modules["tizzone.app"]
    with world.running(Port(Dark(), "rp2040", types.SimpleNamespace())):
        world.run_file("main")
    assert ran == [1]


# --- self-test ---------------------------------------------------------------------------------------


def restarted(board, prepare):
    """Power off, something is wrong meanwhile, power on."""
    prepare(board.outside)
    cut(board, 2)
    return board


@pytest.mark.parametrize("zone", ["HEAT_TOP", "HEAT_DECK"])
def test_start_heat_pin_that_does_not_follow_is_found_before_any_heat(zone):
    board = made()
    pin = getattr(board.pins, zone)
    outside = board.outside
    short = types.SimpleNamespace(act=lambda: outside.orders.append(["pad", pin, 1]))
    outside.cut_power(2)
    outside.at(outside.now_us + 4_000_000, short, "act")  # within the grace window
    board.advance(8)
    assert any("a heat pin does not follow" in text for text in app_of(board).memory.faults)
    assert status(board)["trip"] in ("self-test", "pin-readback")
    assert board.send("start").startswith("~no")


def test_start_closed_contactor_fails_the_self_test():
    def weld(outside):
        outside.contactor.stuck = "welded"
        outside.contactor.settle(True, outside.now_us)

    board = made()
    board.send("start")
    board.advance(5)
    board = restarted(board, weld)
    assert any("the contactor is not released" in text for text in app_of(board).memory.faults)
    assert app_of(board).supervisor.self_test == 2
    assert board.send("start").startswith("~no")


def test_start_wrong_chip_fails_the_self_test():
    board = restarted(made(), lambda outside: outside.probe_chips["dome"].set_fault("all_one"))
    assert any("dome probe" in text for text in app_of(board).memory.faults)
    assert any("dome probe" in board.send(f"log {number}") for number in range(8))  # as the alarm's sentence says
    assert "event log" in board.send("alarms self-test")
    assert app_of(board).supervisor.self_test == 2


def test_start_healthy_board_has_no_faults_to_tell():
    board = restarted(made(), lambda outside: None)
    assert app_of(board).memory.faults == []
    assert status(board)["trip"] == "none"


# --- latch, session mark, what ended the last run -------------------------------------------------------


@pytest.mark.parametrize(("copies", "trip"), [(1, "latch-doubt"), (2, "latch-doubt"), (0, "latch-doubt")])
def test_start_latch_that_is_not_whole_counts_as_a_trip(copies, trip):
    board = made()
    put(board, "latch", {"first_out": "none", "tripped": [], "in_a_row": 0, "locked_out": 0})
    put(board, "latch", {"first_out": "none", "tripped": [], "in_a_row": 0, "locked_out": 0})
    spoil(board, "latch", copies)
    cut(board, 2)
    assert status(board)["trip"] == trip
    assert stored(board, "latch")[0]["first_out"] == trip


def test_start_latch_that_makes_no_sense_counts_as_a_trip():
    board = made()
    put(board, "latch", ["none"])
    cut(board, 2)
    assert status(board)["trip"] == "latch-doubt"


def test_start_new_board_lays_its_latch_and_mark_down_and_is_not_tripped():
    board = Rehearsal(commissioned=False, cook=None)
    board.advance(5)
    assert status(board)["trip"] == "none"
    assert stored(board, "latch")[1] in ("ok", "one_copy")
    assert stored(board, "session")[0] == {"open": 0, "planned": 0}


@pytest.mark.parametrize("mark", [["closed"], 7, {}, {"planned": 0}, {"open": 1, "planned": 0}])
def test_start_mark_that_does_not_say_closed_counts_as_an_evening_that_was_cut(mark):
    board = made()
    put(board, "session", mark)
    cut(board, 2)
    assert status(board)["trip"] == "power-cut"


def test_start_closed_mark_is_no_trip():
    board = made()
    put(board, "session", {"open": 0})
    cut(board, 2)
    assert status(board)["trip"] == "none"


def test_start_power_cut_between_evenings_is_no_trip_and_in_one_is():
    board = made()
    cut(board)
    assert status(board)["trip"] == "none"
    board.send("start")
    board.advance(5)
    cut(board)
    assert status(board)["trip"] == "power-cut"
    cut(board)  # and it stays, with the mark closed behind it
    assert status(board)["trip"] == "power-cut"
    assert stored(board, "session")[0]["open"] == 0


def test_start_planned_reset_speaks_for_one_reset_only():
    board = made()
    put(board, "session", {"open": 0, "planned": 1})
    board.outside.orders.append(["hang", 0])
    board.advance(20)
    assert status(board)["trip"] == "none"  # the one that was planned
    assert stored(board, "session")[0]["planned"] == 0
    board.outside.orders.append(["hang", 0])
    board.advance(20)
    assert status(board)["trip"] == "watchdog-reset"


def test_start_hang_in_an_evening_is_told_as_the_watchdogs_reset():
    board = hot(made({"setpoint_c": 120}), 40)
    board.outside.orders.append(["hang", 0])
    board.advance(20)
    assert status(board)["trip"] == "watchdog-reset"
    assert heat_pins(board) == [0, 0]


def test_latch_is_stored_before_the_mark_of_the_evening_is_closed():
    board = hot(made({"setpoint_c": 120}), 40)
    names = []
    app = app_of(board)
    save = app.memory.store.save

    def note(name, value):
        names.append((name, value.get("open") if name == "session" else None))
        return save(name, value)

    app.memory.store.save = note
    fault(board, "dome_open")
    board.advance(3)
    assert status(board)["trip"] == "probe-open"
    kept = [entry for entry in names if entry[0] in ("latch", "session")]
    assert kept == [("latch", None), ("session", 0)]


def test_medium_that_refuses_the_latch_keeps_the_mark_open_so_that_a_restart_is_a_trip():
    board = hot(made({"setpoint_c": 120}), 40)
    app = app_of(board)
    keep = app.memory.store.save

    def refuse(name, value):
        if name == "latch":
            raise app_error(board)("no room")
        return keep(name, value)

    app.memory.store.save = refuse
    fault(board, "dome_open")
    board.advance(3)
    assert stored(board, "session")[0]["open"] == 1
    board.outside.probe_chips["dome"].set_fault(None)
    cut(board, 2)
    assert status(board)["trip"] == "power-cut"


def app_error(board):
    """The store's own error."""
    return board.world.load("tizzone.memory.store").StoreError


# --- clocks --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("share", "trips"), [(1.0, False), (0.96, False), (0.9, True), (1.1, True)])
def test_clock_that_runs_wrong_against_the_second_clock_trips_within_two_minutes(share, trips):
    board = hot(made({"setpoint_c": 120}), 30)
    real = board.board.port.ticks_ms
    begun = real()
    board.board.port.ticks_ms = lambda: begun + int((real() - begun) * share)
    board.advance(130)
    assert (status(board)["trip"] == "clock-wrong") is trips


# --- a trip reaches somebody -----------------------------------------------------------------------------


def sounded(board, seconds):
    """Levels of the buzzer, a tick each."""
    levels = []
    for _ in range(int(seconds * 4)):
        board.advance(0.25)
        levels.append(board.board.port.levels.get(board.pins.BUZZER, 0))
    return levels


@pytest.mark.parametrize("tripped", [True, False])
def test_start_board_that_boots_tripped_beeps_until_somebody_acknowledges(tripped):
    board = made()
    if tripped:
        board.send("start")
        board.advance(5)
    cut(board)
    assert status(board)["trip"] == ("power-cut" if tripped else "none")
    beats = sounded(board, 12)
    assert (sum(beats) in (6, 7, 8) and max(beats[-16:]) == 1) if tripped else sum(beats) == 0
    if tripped:
        assert board.send("acknowledge").startswith("~ok")
        board.advance(1)
        assert sum(sounded(board, 8)) == 0


def test_end_of_the_program_sounds_without_a_pause_until_the_watchdog_starts_a_board_that_beeps():
    board = hot(made({"setpoint_c": 120}), 40)
    board.outside.orders.append(["fail", "pin", "OSError"])
    board.advance(0.5)
    assert board.board.life.mode == "prompt"
    assert heat_pins(board) == [0, 0]
    assert sum(sounded(board, 3)) == 12
    board.advance(10)
    assert status(board)["trip"] == "program-fault"
    assert 3 <= sum(sounded(board, 8)) <= 6


def test_end_of_the_program_before_its_watchdog_runs_sounds_until_somebody_comes():
    board = made()
    board.outside.cut_power(1)
    board.outside.at(board.outside.now_us + 2_000_000, types.SimpleNamespace(
        act=lambda: board.outside.orders.append(["fail", "pin", "OSError"])), "act")  # fmt: skip
    board.advance(3)
    assert board.board.life.mode == "prompt"
    assert sum(sounded(board, 20)) == 80


def test_boot_buzzer_left_on_is_silenced():
    levels, _ = booted(types.SimpleNamespace(**OUTPUTS, BUZZER=27), high=[27])
    assert levels[27] == 0
