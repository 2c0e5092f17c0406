"""The application through its link, in closed loop with the simulated oven: what a person may do, what is refused."""

import pytest

from host import oven
from host.faults import library
from host.simulator.rehearsal import Rehearsal


def made(settings=None, **more):
    """A board wired in full on a standard oven, past its grace window."""
    rehearsal = Rehearsal(plant=oven.preset("standard", 1), board="boards/pico.py", settings=settings or {}, **more)
    rehearsal.advance(5)
    return rehearsal


def fields(reply):
    """A status reply as a dict."""
    assert reply.startswith("~ok ")
    return dict(part.split("=", 1) for part in reply[4:].split())


def heat_pins(rehearsal):
    """Levels of the heat pins."""
    levels = rehearsal.board.port.levels
    return [levels.get(relay.pin, 0) for relay in rehearsal.outside.relays]


def test_board_after_power_up_is_idle_with_every_output_off():
    board = made()
    status = fields(board.send("status"))
    assert (status["state"], status["trip"], status["permit"], status["contactor"]) == ("idle", "none", "0", "0")
    assert heat_pins(board) == [0, 0]
    board.advance(60)
    assert heat_pins(board) == [0, 0]


def test_heat_is_impossible_during_the_grace_window():
    board = Rehearsal(plant=oven.preset("standard", 1), board="boards/pico.py")
    board.say("start", "user")
    board.advance(2.5)
    assert heat_pins(board) == [0, 0]
    assert not board.outside.contactor.is_closed


def test_start_heats_and_stop_takes_the_heat_off_within_one_tick():
    board = made()
    assert board.send("start") == "~ok"
    board.advance(30)
    assert heat_pins(board) == [1, 1]
    before_s = board.now_s
    assert board.send("stop") == "~ok"
    assert heat_pins(board) == [0, 0]
    assert board.now_s - before_s <= 0.5  # the line waits at most one tick to be read
    assert fields(board.send("status"))["state"] == "stopping"
    board.advance(0.5)  # in good order: the contactor opens one tick after the relays
    assert not board.outside.contactor.is_closed


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("setpoint", "say"),
        ("setpoint hot", "say"),
        ("setpoint nan", "say"),
        ("setpoint inf", "say"),
        ("setpoint 481", "within"),
        ("setpoint 29", "within"),
        ("setpoint 450 460", "say"),
        ("fly", "unknown"),
        ("stop", "nothing runs"),
        ("hold", "nothing to hold"),
        ("resume", "nothing is held"),
        ("loaded", "no bread is due"),
        ("reset", "not finished"),
        ("acknowledge", "nothing-to-acknowledge"),
        ("unlock", "nothing locked"),
        ("setting colour red", "not known"),
        ("setting setpoint_c 999", "within"),
        ("alarms nonsense", "no such"),
    ],
)
def test_line_that_cannot_be_is_answered_with_a_reason_and_does_nothing(line, word):
    board = made()
    before = fields(board.send("status"))
    reply = board.send(line)
    assert reply.startswith("~no ")
    assert word in reply
    after = fields(board.send("status"))
    for name in ("state", "setpoint_mc", "trip", "permit", "contactor"):
        assert after[name] == before[name]


def test_setpoint_within_its_bounds_is_taken():
    board = made()
    assert board.send("setpoint 480") == "~ok setpoint_c=480"
    assert board.send("setpoint 30") == "~ok setpoint_c=30"
    assert fields(board.send("status"))["setpoint_mc"] == "30000"


def test_damaged_line_gets_a_reply_and_never_acts():
    board = made()
    assert board.send("start|0000") == "~no checksum wrong"
    board.advance(2)
    assert fields(board.send("status"))["state"] == "idle"


def test_new_board_releases_the_lowest_setpoint_and_says_why():
    board = made(commissioned=False)
    status = fields(board.send("status"))
    assert status["release_mc"] == "60000"
    assert status["limit_mc"] == "100000"
    assert status["setpoint_mc"] == "60000"
    assert "not commissioned" in board.send("setpoint 100")
    assert "not-commissioned" in board.send("alarms")


def test_setting_is_stored_and_in_force_after_the_next_start():
    board = made()
    assert board.send("setting soak_min 7").startswith("~ok stored")
    fault, _ = library.parse("power_cut@0")
    fault.start(board.outside)
    board.advance(40)
    assert "soak_min=7" in board.send("setting soak_min")


def test_setting_is_refused_while_an_evening_is_on():
    board = made()
    board.send("start")
    assert "only while idle" in board.send("setting soak_min 7")


def test_second_start_is_refused():
    board = made()
    assert board.send("start") == "~ok"
    assert "an evening is on" in board.send("start")


@pytest.mark.parametrize(("attribute", "value", "word"), [("enable", False, "enable"), ("position", "off", "selector")])
def test_start_names_the_missing_permissive(attribute, value, word):
    board = made()
    setattr(board.outside, attribute, value)
    board.advance(1)
    reply = board.send("start")
    assert reply.startswith("~no missing:")
    assert word in reply
    assert heat_pins(board) == [0, 0]


def test_enable_opened_takes_the_heat_off_within_one_tick_and_closing_does_not_bring_it_back():
    board = made()
    board.send("start")
    board.advance(60)
    assert heat_pins(board) == [1, 1]
    board.outside.enable = False
    board.advance(0.25)
    assert heat_pins(board) == [0, 0]
    assert fields(board.send("status"))["state"] == "held"
    board.outside.enable = True
    board.advance(60)
    assert heat_pins(board) == [0, 0]
    assert board.send("resume") == "~ok"
    board.advance(5)
    assert heat_pins(board) == [1, 1]


def test_every_alarm_tells_its_sentence_and_what_to_do():
    board = made()
    limits = board.world.load("tizzone.safety.limits")
    sentences = board.world.load("tizzone.safety.sentences").rows()
    for name, (sentence, todo) in list(zip(limits.CONDITION_NAMES, sentences, strict=True))[1:]:
        reply = board.send("alarms " + name)
        assert sentence in reply
        assert todo in reply


def test_maintenance_resets_into_a_board_that_arms_nothing():
    board = made()
    assert board.send("maintenance") == "~ok resetting into maintenance"
    board.advance(20)
    assert board.board.mode == "prompt"
    assert heat_pins(board) == [0, 0]
    assert not board.outside.contactor.is_closed
    assert not [event for event in board.events if event["kind"] == "reset" and event["text"] == "watchdog"]


def test_maintenance_is_refused_while_an_evening_is_on_and_while_the_dome_is_hot():
    board = made()
    board.send("start")
    board.advance(300)
    assert "stop it first" in board.send("maintenance")
    board.send("stop")
    assert "the fan must run on" in board.send("maintenance")
    assert board.board.mode == "run"


def test_maintenance_jumper_keeps_the_board_at_its_prompt():
    board = made()
    board.outside.contacts.maintenance_fitted = True
    fault, _ = library.parse("power_cut@0")
    fault.start(board.outside)
    board.advance(40)
    assert board.board.mode == "prompt"
    assert heat_pins(board) == [0, 0]


def test_event_log_is_read_line_by_line():
    board = made(faults=["dome_open@6"])
    board.advance(5)
    replies = []
    while not replies or replies[-1].startswith("~ok"):
        replies.append(board.send(f"log {len(replies)}"))
    assert any("trip probe-open" in reply for reply in replies)
    assert replies[-1] == "~no end of the log"
    assert "say" in board.send("log x")


def test_correction_is_checked_stored_and_in_force_after_the_next_start():
    board = made()
    assert "more than 15 K" in board.send("correction dome 0:16000")
    assert "say" in board.send("correction dome 0:x")
    assert "no probe is called" in board.send("correction lid 0:100")
    assert board.send("correction dome 0:5000 100000:5000").startswith("~ok stored")
    before_mc = int(fields(board.send("status"))["pv_mc"])
    fault, _ = library.parse("power_cut@0")
    fault.start(board.outside)
    board.advance(40)
    after_mc = int(fields(board.send("status"))["pv_mc"])
    assert 4_000 < after_mc - before_mc < 6_000


def test_welded_relay_and_contactor_say_pull_the_plug_on_the_link():
    board = made()
    assert fields(board.send("status"))["pull_plug"] == "0"
    board.send("start")
    board.advance(60)
    board.outside.contactor.stuck = "welded"
    board.send("stop")
    board.advance(5)
    status = fields(board.send("status"))
    assert (status["trip"], status["pull_plug"]) == ("contactor-welded", "1")
    assert "PULL THE PLUG" in board.send("alarms contactor-welded")
