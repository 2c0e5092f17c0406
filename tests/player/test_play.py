"""The player's loop: nothing driven unless the laptop says so; contacts and sensors follow the board."""

import json

import pytest

from host.link.frames import unframed, with_checksum
from host.pins import pin_map
from host.player.harness import PLAYER_PINS, Harness
from host.player.wire import wires_of
from tests.player.fakes.loaded import fresh

AT = PLAYER_PINS
ORDER = ["ENABLE", "LIMIT_OK", "SELECTOR", "FAN_OK", "DOOR"]
GOOD = "1f 0000001 01234568 089abcd0"


class Table:
    """A player on the laptop, its line, and the board's outputs."""

    def __init__(self, board="pico"):
        self.made = fresh()
        self.made.machine.level.update(dict.fromkeys(range(29), 0))
        self.made.machine.level.update({AT["dome.cs"]: 1, AT["stone.cs"]: 1})
        self.inbox, self.sent = bytearray(), []
        self.player = self.made.play.Player((self._read, self.sent.append))
        self.harness = Harness(pin_map.read(board))

    def _read(self):
        return bytes([self.inbox.pop(0)]) if self.inbox else None

    def ask(self, text, framed=True):
        self.inbox += (with_checksum(text) + "\n").encode() if framed else text.encode() + b"\n"
        self.player.step()
        return unframed(self.sent.pop())

    def pass_ms(self, ms):
        for _ in range(0, ms, 4):
            self.made.time.us += 4000
            self.player.step()

    def out(self, name, level):
        self.made.machine.outside(AT[name], level)

    @property
    def low(self):
        """Names of the lines that the player pulls low; it must never drive one high."""
        driven = self.made.machine.driven
        assert set(driven.values()) <= {0}
        names = {number: name for name, number in AT.items()}
        return {names[number] for number in driven}

    def waves(self, name):
        """Which program shows at a sensor: "whole", "half", "low" or "" for none."""
        number = 6 + ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK").index(name)
        machine = self.made.rp2.machines.get(number)
        if machine is not None and machine.running:
            assert machine.options["freq"] == 2000 and machine.options["set_base"].number == AT[name]
            return machine.program.__name__.partition("_")[0]
        return "low" if name in self.low else ""


@pytest.fixture
def table():
    made = Table()
    assert made.ask("wires " + json.dumps(wires_of(made.harness))) == "ok"
    assert made.ask("begin") == "ok"
    return made


def fields(reply):
    words = reply.split()
    assert words[0] == "turned" and len(words) == 10, reply
    return words


def test_player_before_begin_drives_nothing_and_refuses_turns():
    made = Table()
    assert made.low == set() and made.ask("who") == "player 1 new start"
    assert made.ask("turn " + GOOD).startswith("no resting")
    assert made.ask("begin") == "no wires first"
    assert made.ask("wires " + json.dumps(wires_of(made.harness))) == "ok"
    assert made.low == set() and not made.made.machine.watchdogs


@pytest.mark.parametrize("text", [
    "turn 1f", "turn zz 0000001 - -", "turn 1f 9000001 - -", "turn 1f 00001 - -", "restart 0", "restart 9999",
    "restart x", "fly", "wires {", "wires {}", "turn",
])  # fmt: skip
def test_line_that_is_no_use_is_refused_and_changes_nothing(table, text):
    table.ask("turn " + GOOD)
    before = table.low
    assert table.ask(text).startswith("no ")
    assert table.low == before


@pytest.mark.parametrize("text", ["turn 0 0000001 - -", "turn 0 0000001 - -|0000", "", "\xff\xfe"])
def test_line_without_its_checksum_is_refused_and_changes_nothing(table, text):
    table.ask("turn " + GOOD)
    before = table.low
    if text:
        table.inbox += text.encode("latin1") + b"\n"
        table.player.step()
        assert unframed(table.sent.pop()) == "no checksum"
    assert table.low == before and before


def test_wires_that_are_no_pins_are_refused():
    made = Table()
    wires = wires_of(made.harness)
    for change in ({"closes": {"ENABLE": 40}}, {"probes": {}}, {"hz": 55}, {"probes": {"dome": ["a", 1, 2]}}):
        assert made.ask("wires " + json.dumps({**wires, **change})).startswith("no ")


def test_contacts_follow_the_turn_and_never_drive_high(table):
    table.ask("turn " + GOOD)
    assert table.low == {*ORDER, "CONTACTOR_OPEN"}
    table.ask("turn 02 0000001 01234568 -")
    assert table.low == {"LIMIT_OK", "CONTACTOR_OPEN"}
    assert table.made.rp2.machines[0].queue == [0x01234568] and not table.made.rp2.machines[1].running


def test_contactor_and_mirror_follow_the_output_twenty_milliseconds_late(table):
    table.ask("turn " + GOOD)
    table.out("CONTACTOR", 1)
    table.pass_ms(16)
    assert "CONTACTOR_OPEN" in table.low
    table.pass_ms(8)
    assert "CONTACTOR_OPEN" not in table.low and fields(table.ask("turn " + GOOD))[4] == "1"
    table.out("CONTACTOR", 0)
    table.pass_ms(24)
    assert "CONTACTOR_OPEN" in table.low


def test_sensors_pulse_while_relay_and_contactor_are_on(table):
    table.ask("turn " + GOOD)
    table.out("HEAT_TOP", 1)
    table.pass_ms(40)
    assert table.waves("MAINS_SENSE_TOP") == ""
    table.out("CONTACTOR", 1)
    table.pass_ms(40)
    assert table.waves("MAINS_SENSE_TOP") == "whole" and table.waves("MAINS_SENSE_DECK") == ""
    table.out("HEAT_TOP", 0)
    table.pass_ms(4)
    assert table.waves("MAINS_SENSE_TOP") == ""


@pytest.mark.parametrize("modes, on, off", [
    ("0000001", "whole", ""), ("1000001", "whole", "whole"), ("2000001", "", ""), ("3000001", "half", ""),
    ("4000001", "whole", "half"), ("0010001", "", ""), ("0020001", "low", "low"), ("0000000", "", ""),
    ("0000201", "", ""), ("1000101", "whole", "whole"),
])  # fmt: skip
def test_sensor_of_each_broken_relay_shows_what_flows(table, modes, on, off):
    table.out("CONTACTOR", 1)
    table.out("HEAT_TOP", 1)
    table.ask(f"turn 1f {modes} 01234568 -")
    table.pass_ms(40)
    assert table.waves("MAINS_SENSE_TOP") == on
    table.out("HEAT_TOP", 0)
    table.pass_ms(40)
    assert table.waves("MAINS_SENSE_TOP") == off


def test_welded_contactor_stays_closed_and_its_mirror_says_so(table):
    table.ask("turn 1f 0000101 01234568 -")
    table.pass_ms(40)
    assert "CONTACTOR_OPEN" not in table.low
    table.ask("turn 1f 0000021 01234568 -")  # and a mirror wire short to GND
    assert "CONTACTOR_OPEN" in table.low


def test_pulse_drive_holds_the_contactor_for_six_hundred_milliseconds_after_an_edge():
    table = Table("esp32")
    table.ask("wires " + json.dumps(wires_of(table.harness)))
    table.ask("begin")
    for _ in range(12):
        table.ask("turn " + GOOD)
        table.out("CONTACTOR", 1)
        table.out("CONTACTOR", 0)
        table.out("CONTACTOR", 1)  # its low is shorter than any look at it
        table.pass_ms(248)
    assert fields(table.ask("turn " + GOOD))[4] == "1"
    table.ask("turn " + GOOD)
    table.pass_ms(400)
    table.ask("turn " + GOOD)
    table.pass_ms(400)
    assert fields(table.ask("turn " + GOOD))[4] == "0"


def test_edges_and_ticks_are_told_with_their_times(table):
    table.ask("turn " + GOOD)
    table.made.time.us = 500_123
    table.out("HEAT_TOP", 1)
    table.made.time.us = 500_999
    table.made.machine.outside(AT["dome.cs"], 0)
    table.made.machine.outside(AT["dome.cs"], 1)
    table.made.time.us = 501_500
    table.out("HEAT_TOP", 0)
    words = fields(table.ask("turn " + GOOD))
    bit = 1 << AT["HEAT_TOP"]
    assert words[5] == f"{500_123:x}:{bit:x},{501_500:x}:0" and words[6] == f"{500_999:x}"
    assert int(words[3], 16) == bit  # it has risen, though it is low again
    assert fields(table.ask("turn " + GOOD))[5] == "-"


def test_more_edges_than_the_ring_holds_are_counted_as_lost(table):
    for level in [1, 0] * 60:
        table.out("HEAT_DECK", level)
    words = fields(table.ask("turn " + GOOD))
    assert int(words[8]) == 120 - 63 and words[5].count(":") == 16


def test_laptop_that_goes_away_leaves_nothing_driven_after_a_second(table):
    table.ask("turn 1f 0021021 01234568 089abcd0")
    table.pass_ms(900)
    assert table.low
    table.pass_ms(200)
    assert table.low == set()
    assert any(machine.running for machine in table.made.rp2.machines.values())  # the probes go a second later:
    table.pass_ms(1000)  # the board has seen by then that its heat is off, and how hot the oven is
    assert all(not machine.running for machine in table.made.rp2.machines.values())
    table.out("HEAT_TOP", 1)  # it goes on looking: when the board lets go of its heat is worth knowing
    assert table.ask("turn " + GOOD) == "no resting: silent" and table.low == set()
    assert table.ask("begin") == "ok"
    assert fields(table.ask("turn " + GOOD))[5].endswith(f":{1 << AT['HEAT_TOP']:x}")


def test_laptop_that_is_back_while_the_probes_still_answer_plays_on(table):
    table.ask("turn 1f 0021021 01234568 089abcd0")
    table.pass_ms(1200)
    assert table.ask("begin") == "ok"
    for _ in range(3):
        assert table.ask("turn " + GOOD).startswith("turned")
        table.pass_ms(700)
    assert any(machine.running for machine in table.made.rp2.machines.values())
    table.player.rest("end")
    assert all(not machine.running for machine in table.made.rp2.machines.values())


def test_watchdog_is_armed_at_the_first_begin_and_fed_by_the_loop_alone(table):
    (watchdog,) = table.made.machine.watchdogs
    assert watchdog.timeout == 2000
    fed = watchdog.fed
    table.pass_ms(40)
    assert watchdog.fed == fed + 10
    table.ask("begin")
    assert len(table.made.machine.watchdogs) == 1


def test_end_lets_go_and_restarts(table):
    table.ask("turn " + GOOD)
    assert table.ask("end") == "ok"
    assert table.low == set() and table.made.machine.resets


def test_restart_holds_the_reset_line_for_as_long_as_said(table):
    assert table.ask("restart 100") == "ok" and "RESET" in table.low
    table.pass_ms(92)
    table.ask("turn " + GOOD)
    assert "RESET" in table.low
    table.pass_ms(16)
    assert "RESET" not in table.low


def test_program_that_ends_lets_everything_go(table, monkeypatch):
    play = table.made.play
    table.ask("turn " + GOOD)
    monkeypatch.setattr(play, "Player", lambda: table.player)
    monkeypatch.setattr(table.player, "step", lambda: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        play.run()
    assert table.low == set()
