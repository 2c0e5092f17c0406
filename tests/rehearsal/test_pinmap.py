"""Pin maps are read, never executed."""

import pytest

from host.pins import pin_map
from host.simulator.assembly import assembled, bus_name


def test_read_gives_names_as_attributes_and_none_for_the_absent(tmp_path):
    path = tmp_path / "mine.py"
    path.write_text('"""Doc."""\n\nMCU = "rp2040"\nHEAT_TOP = 10\nPROBES = {"dome": {"cs": 17}}\nDOOR = None\n')
    pins = pin_map.read(path)
    assert (pins.MCU, pins.HEAT_TOP, pins.PROBES["dome"]["cs"]) == ("rp2040", 10, 17)
    assert pins.pin("DOOR") is None and pins.pin("ENABLE") is None


@pytest.mark.parametrize("board", ["pico", "boards/pico.py"])
def test_read_finds_a_board_by_name_and_by_path(board):
    assert pin_map.read(board).NAME == "pico"


def test_read_unknown_board_names_the_known_in_one_line():
    with pytest.raises(ValueError, match="no board 'pica' .known: .*pico") as caught:
        pin_map.read("pica")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("import os\n", "line 1: only assignments"),
        ("A = 1\nB = open('x')\n", "line 2: not a literal"),
        ("A = (\n", "not a pin map"),
        ("if True:\n    A = 1\n", "line 1: only assignments"),
    ],
)
def test_read_refuses_anything_but_literals(tmp_path, text, words):
    path = tmp_path / "bad.py"
    path.write_text(text)
    with pytest.raises(pin_map.PinMapError, match=words) as caught:
        pin_map.read(path)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("bus", "name"),
    [({"spi": 0, "sck": 18}, "spi0"), ({"i2c": 1, "scl": 5}, "i2c1"), ({"sck": 18}, "spi-18"), ({"scl": 5}, "i2c-5")],
)
def test_bus_has_the_name_that_the_board_gives_it(bus, name):
    assert bus_name(bus) == name


def test_wire_refuses_a_chip_nobody_simulates():
    pins = pin_map.read("pico")
    pins.PROBES = {"dome": {"chip": "abacus", "bus": {"spi": 0, "sck": 18}, "cs": 17}}
    with pytest.raises(ValueError, match="probe dome: nobody simulates 'abacus'"):
        assembled(pins, None)
