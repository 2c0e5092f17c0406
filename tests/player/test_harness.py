"""Which pin goes to which, and the check that names what is wired wrongly: every swap, open and short of the table."""

import itertools
import xml.etree.ElementTree as ET

import pytest

from host.pins import pin_map
from host.player import PlayerError, drawing
from host.player.harness import CAUTIONS, HELD_DOWN, PLAYER_PINS, Harness
from host.player.wiggle import Judge, Looking
from tests.player.harness_model import ModelEnd, Nets

BOARDS = ("pico", "pico_panel", "pico2", "esp32", "esp32s3", "esp32c3", "bench")


def harness(board="pico"):
    return Harness(pin_map.read(board))


NAMES = [wire.name for wire in harness("pico_panel").checked()]


def judged(change, board="pico_panel", held=HELD_DOWN):
    made = harness(board)
    nets = Nets(made, held)
    change(nets)
    seen = Looking(made, ModelEnd(nets, "board"), ModelEnd(nets, "player")).all()
    return Judge(made, seen).findings


@pytest.mark.parametrize("board", BOARDS)
def test_harness_of_each_shipped_map_is_made_and_good_as_wired(board):
    made = harness(board)
    assert {"dome.cs", "dome.sck", "dome.miso"} <= {wire.name for wire in made.wires}
    held = [name for name in HELD_DOWN if made.wire(name)]
    assert judged(lambda nets: None, board, held) == []
    assert made.table().count("[ ]") == len(made.wires) + 1
    picture = drawing.picture(made)
    ET.fromstring(picture)
    assert all(wire.name in picture for wire in made.wires) and CAUTIONS[0] in picture


def test_player_pins_are_each_used_once_and_exist_on_a_pico():
    pins = list(PLAYER_PINS.values())
    assert len(set(pins)) == len(pins) and set(pins) <= {*range(23), 26, 27, 28}


def test_harness_of_a_map_without_what_the_player_plays_is_refused(tmp_path):
    one = '"bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 17}}'
    for text, words in (
        ('MCU = "rp2040"\nPROBES = {"dome": {"chip": "max31856", ' + one, "MAX31855"),
        ('MCU = "rp2040"\nPROBES = {}', "no probe"),
        ('MCU = "abacus"\nPROBES = {}', "abacus"),
        ('MCU = "rp2040"\nHEAT_TOP = 18\nPROBES = {"dome": {"chip": "max31855", ' + one, "twice"),
    ):  # fmt: skip
        file = tmp_path / "mine.py"
        file.write_text(text)
        with pytest.raises(PlayerError, match=words):
            Harness(pin_map.read(file))


def named(findings):
    return {word.strip(",:") for found in findings for word in found.text.split()} & set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_check_of_one_open_line_names_it_and_no_other(name):
    findings = judged(lambda nets: nets.open(name))
    assert [found.text for found in findings] == [f"{name} is open: nothing arrives at the other end"]


@pytest.mark.parametrize("level, rail", [(0, "GND"), (1, "3V3")])
@pytest.mark.parametrize("name", NAMES)
def test_check_of_a_line_short_to_a_rail_names_both(name, level, rail):
    findings = judged(lambda nets: nets.rail(name, level))
    assert len(findings) == 1 and findings[0].text.startswith(f"{name} is short to {rail}"), findings


@pytest.mark.slow
def test_check_of_every_two_swapped_lines_names_the_two():
    for one, other in itertools.combinations(NAMES, 2):
        findings = judged(lambda nets, one=one, other=other: nets.swap(one, other))
        assert [found.text for found in findings] == [f"{one} and {other} are swapped"], (one, other, findings)


@pytest.mark.slow
def test_check_of_every_two_shorted_lines_names_the_two():
    for one, other in itertools.combinations(NAMES, 2):
        findings = judged(lambda nets, one=one, other=other: nets.short(one, other))
        assert len(findings) == 1 and "short to each other" in findings[0].text, (one, other, findings)
        assert named(findings) == {one, other}


@pytest.mark.parametrize("name", HELD_DOWN)
def test_check_without_a_resistor_to_ground_names_the_output(name):
    findings = judged(lambda nets: None, held=set(HELD_DOWN) - {name})
    assert [found.code for found in findings] == [name] and "no resistor to GND" in findings[0].text


def test_check_without_common_ground_says_so():
    findings = judged(lambda nets: [nets.open(name) for name in NAMES])
    assert [found.code for found in findings] == ["GND"]


def test_check_of_three_lines_in_a_ring_says_where_each_goes():
    def ring(nets):
        nets.swap("ENABLE", "DOOR")
        nets.swap("DOOR", "FAN_OK")

    findings = judged(ring)
    assert len(findings) == 3 and all("goes to" in found.text for found in findings)
