"""Learning the oven over the link, in closed loop: nothing but a good end changes the tuning."""

import pytest

from host import oven
from host.shim.remote import RuntimeMissing, find_micropython
from host.simulator.rehearsal import Rehearsal

TUNING = ("kc_pct_per_k", "ti_s", "td_s", "lead_s", "rise_k_s_pct")


def made(**more):
    """A commissioned board on a light oven, past its grace window."""
    board = Rehearsal(plant=oven.preset("light", 1), **more)
    board.advance(5)
    return board


def tuning(board):
    """The tuning in force, as the board tells it."""
    return [board.send("setting " + name) for name in TUNING]


@pytest.mark.slow
def test_learning_ends_by_itself_keeps_a_tuning_and_never_passes_250():
    board = made()
    before = tuning(board)
    assert board.board.life.app.pid.adapt  # defaults listen to the first answer ...
    assert board.send("learn start") == "~ok"
    while board.state in ("running", "idle") and board.now_s < 9000:
        board.advance(60)
    board.advance(5)
    assert board.send("learn").startswith("~ok learning done:")
    assert board.rows["pv_c"].max() < 250
    assert board.trip == "none"
    after = tuning(board)
    assert after != before
    assert not board.board.life.app.pid.adapt  # ... what was learned stands
    board.advance(120)
    assert board.send("setpoint 60").startswith("~ok")
    assert tuning(board) == after


@pytest.mark.slow
def test_learning_goes_through_and_is_stored_on_a_small_heap_of_micropython():
    try:
        find_micropython()
    except RuntimeMissing:
        pytest.skip("no MicroPython unix port for this platform")
    board = made(runtime="micropython")
    before = tuning(board)
    assert board.send("learn start") == "~ok"
    while board.state in ("running", "idle") and board.now_s < 9000:
        board.advance(60)
    board.advance(5)
    assert board.send("learn").startswith("~ok learning done:")
    assert board.trip == "none" and tuning(board) != before
    board.close()


@pytest.mark.slow
@pytest.mark.parametrize("end", ["stop", "hold", "enable", "probe"])
def test_learning_that_is_ended_early_leaves_the_tuning_in_force(end):
    board = made()
    before = tuning(board)
    assert board.send("learn start") == "~ok"
    board.advance(400)
    if end == "enable":
        board.outside.enable = False
    elif end == "probe":
        board.outside.probe_chips["dome"].set_fault("open")
    else:
        board.send(end)
    board.advance(10)
    assert "failed: ended before it was through" in board.send("learn")
    assert tuning(board) == before
    levels = board.board.port.levels
    assert not any(levels.get(relay.pin) for relay in board.outside.relays)


@pytest.mark.parametrize(("state", "word"), [("uncommissioned", "release of 260"), ("evening", "starts from idle")])
def test_learning_is_refused_with_a_reason(state, word):
    board = made(commissioned=state != "uncommissioned")
    if state == "evening":
        board.send("start")
    assert word in board.send("learn start")


def test_learning_is_refused_on_a_warm_oven():
    board = made()
    board.send("start")
    board.advance(400)
    board.send("stop")
    board.advance(70)
    board.send("reset")
    assert "cold oven" in board.send("learn start")
