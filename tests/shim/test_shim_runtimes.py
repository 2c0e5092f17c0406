"""The same small application on CPython and on real MicroPython: same rows, same events, same serial lines."""

import copy
from pathlib import Path

import numpy as np
import pytest

from host.shim.remote import RuntimeMissing, find_micropython
from host.simulator.rehearsal import Rehearsal

SMALL = Path(__file__).parent / "small"


def has_micropython():
    try:
        find_micropython()
    except RuntimeMissing:
        return False
    return True


needs_micropython = pytest.mark.skipif(not has_micropython(), reason="no MicroPython unix port for this platform")


class Lump:
    """A plant of one temperature: power against a loss, no sheath, no noise."""

    def __init__(self):
        self.air_c = 20.0
        self.steps = 0
        self.events = []

    def step(self, dt_s, heat):
        self.steps += 1
        self.air_c += dt_s * (sum(heat.values()) * 1.5 - (self.air_c - 20.0) * 0.01)

    def temperature_c(self, place):
        return self.air_c if place in ("dome", "stone") else 20.0

    def event(self, name, **values):
        self.events.append((name, values))


def small(runtime="cpython", **options):
    """A rehearsal of the small application."""
    options.setdefault("plant", Lump())
    return Rehearsal(
        board=SMALL / "board.py", device=SMALL / "device", runtime=runtime, commissioned=False, cook=None, **options
    )


def play(runtime):
    """An hour's worth of everything: heat, faults, crash, starvation, reset, hang, no supply."""
    faults = ["relay_leaks_half_top@30", "dome_open@40", "late_tick@45"]
    faults += ["hang@120", "power_cut@150", "pc_not_reading@200"]
    with small(runtime, faults=faults) as run:
        replies = [run.send("on")]
        run.advance(50)
        for line in ("off", "crash"):
            replies.append(run.send(line))
            run.advance(10)
        for line in ("starve", "reset", "on"):
            replies.append(run.send(line))
            run.advance(15)
        run.advance(200 - run.now_s)
        run.advance(5)
        replies.append(run.send("off"))
        run.advance(20)
        return run.rows.copy(), run.events, run.lines, replies, run.outside.now_us


@needs_micropython
def test_both_runtimes_live_the_same_life():
    first, second = play("cpython"), play("micropython")
    assert len(first[0]) > 200
    for name in first[0].dtype.names:
        np.testing.assert_array_equal(first[0][name], second[0][name], err_msg=name)
    assert first[1:] == second[1:]


def test_life_on_the_board_ends_as_on_hardware():
    rows, events, _, replies, _ = play("cpython")
    assert replies == ["~did on", "~did off", "~did crash", "~did starve", "~did reset", "~did on", ""]
    happened = [(event["kind"], event["text"]) for event in events if "text" in event]
    assert ("crash", "ValueError: asked for") in happened
    boots = [text for kind, text in happened if kind == "boot"]
    # power-up; watchdog for the 3 s wait, the crash and the starvation; its own; the hang; the power cut
    assert boots == ["power", "watchdog", "watchdog", "watchdog", "reset", "watchdog", "power"]
    assert [kind for kind, _ in happened].count("hang") == 1
    assert not [text for kind, text in happened if kind == "refused"]
    dead = rows[rows["state"] == "none"]
    assert len(dead) > 20 and np.all(np.isnan(dead["pv_c"]))


def test_hung_board_keeps_its_pins_until_the_watchdog_resets_it():
    with small(faults=["hang@20"]) as run:
        run.send("on")
        run.advance(21 - run.now_s)
        assert run.board.mode == "hung"
        assert run.outside.relays[0].commanded == 1
        run.advance(2)
        assert run.outside.relays[0].commanded == 0
        assert run.board.mode in ("boot", "run")


def test_crashed_program_makes_safe_and_the_watchdog_restarts_it():
    with small() as run:
        run.send("on")
        run.advance(3)
        assert run.rows[-1]["heat_top"] == 1.0
        run.send("crash")
        assert run.board.mode == "prompt"
        run.advance(1)
        assert run.outside.relays[0].commanded == 0
        run.advance(4)
        assert run.board.mode == "run" and run.board.report[16] == 2  # its second start: files outlive resets


def test_files_of_a_board_outlive_a_power_cut():
    with small(faults=["power_cut@10"]) as run:
        run.advance(40)
        assert run.board.report[16] == 2
        assert run.board.fs.files["starts.txt"] == b"2"


def test_watchdog_reset_needs_no_sleep_of_the_program():
    with small() as run:
        run.advance(5)
        run.send("starve")
        run.advance(5)
        assert [event["text"] for event in run.events if event["kind"] == "reset"] == ["watchdog"]


def test_copy_of_a_rehearsal_goes_its_own_way():
    with small() as run:
        run.send("on")
        run.advance(20)
        twin, same = copy.deepcopy(run), copy.deepcopy(run)
        before = (run.outside.now_us, run.plant.air_c, len(run.rows))
        twin.send("off")
        twin.advance(30)
        assert (run.outside.now_us, run.plant.air_c, len(run.rows)) == before
        run.advance(30)
        same.advance(30)
        assert run.plant.air_c > twin.plant.air_c + 10
        assert run.rows.tobytes() == same.rows.tobytes()
        assert run.events == same.events


@needs_micropython
def test_micropython_that_ends_is_told_in_one_line():
    with pytest.raises(RuntimeError, match="the MicroPython process ended"):  # 4 kB cannot even hold the shim
        small("micropython", heap="4w").advance(5)


def test_several_boards_take_turns_in_one_process():
    runs = [small() for _ in range(3)]
    runs[1].send("on")
    for _ in range(5):
        for run in runs:
            run.advance(2)
    assert [run.rows[-1]["heat_top"] for run in runs] == [0.0, 1.0, 0.0]
