"""The shipped maps: no error, no warning, defined names, and each starts, heats and stops when rehearsed."""

import re

import pytest

from host import oven, pins
from host.pins import pin_map, release
from host.pins.board import NAMES
from host.simulator.rehearsal import Rehearsal

BOARDS = sorted(path.stem for path in pin_map.BOARDS.glob("*.py"))
README = (pin_map.BOARDS / "README.md").read_text(encoding="utf-8")


def wanted(board):
    """The dome temperature that a board is for, °C."""
    return 60 if board in ("bench", "esp32c3") else 480


def test_boards_are_those_that_are_promised():
    assert {"pico", "pico2", "esp32", "esp32s3", "esp32c3", "bench"} <= set(BOARDS)


@pytest.mark.parametrize("board", BOARDS)
def test_shipped_map_is_clean_for_what_it_is_for(board):
    found = pins.check(f"boards/{board}.py", wanted(board))
    assert [one for one in found if one.grade != "note"] == []
    assert any(one.code == "HEAT_TOP" and "to GND" in one.mend for one in found)  # the pull-down is always told


@pytest.mark.parametrize("board", BOARDS)
def test_shipped_map_says_truly_what_commissioning_releases(board):
    """The device's own rule and steps: every step's needs are wired up to what is told, and one lacks beyond it."""
    shown = pins.usable_map(pin_map.read_source(board), 60)
    told_c = release.reach(shown).release_c
    assert told_c == (60 if board in ("bench", "esp32c3") else 480)
    for wanted_c in release.releases_c():
        stops = [one for one in pins.check(board, wanted_c) if one.grade == "stop"]
        assert (stops == []) == (wanted_c <= told_c), (wanted_c, stops)


@pytest.mark.parametrize("board", BOARDS)
def test_shipped_map_can_tell_a_trip_without_a_pc(board):
    source = pin_map.read(board)
    assert any(source.pin(name) is not None for name in ("LED", "BUZZER", "PANEL"))


@pytest.mark.parametrize("board", BOARDS)
def test_shipped_map_names_every_pin_in_its_header(board):
    """Pins in the header comment are the pins of the map: a person wires by the comment."""
    source = pin_map.read_source(board)
    text = source.path.read_text(encoding="utf-8").split('"""')[1]
    wiring = "\n".join(line for line in text.splitlines() if line.startswith("    "))
    told = {int(number) for number in re.findall(r"(?:GPIO|GP|/GPIO|/GP)(\d+)", wiring)}
    assert told == set(pins.usable_map(source).uses)


@pytest.mark.parametrize("name", NAMES)
def test_readme_defines_every_name(name):
    assert f"`{name}`" in README.partition("## Names")[2]


@pytest.mark.slow
@pytest.mark.parametrize("runtime", ["cpython", "micropython"])
@pytest.mark.parametrize("board", BOARDS)
def test_rehearsal_on_a_shipped_board_starts_heats_and_stops(board, runtime):
    plant = oven.preset("lamp" if board == "bench" else "standard")
    with Rehearsal(plant=plant, board=board, settings={"setpoint_c": 60}, runtime=runtime) as rehearsal:
        rehearsal.advance(6)
        assert rehearsal.send("start").startswith("~ok")
        rehearsal.advance(20)
        heat = [name for name in ("heat_top", "heat_deck") if rehearsal.pins.pin(name.upper()) is not None]
        assert heat and all(rehearsal.rows[name].max() > 0 for name in heat)
        assert rehearsal.state == "running" and rehearsal.trip == "none"
        assert rehearsal.send("stop").startswith("~ok")
        rehearsal.advance(3)
        after = rehearsal.rows[-2:]
        assert after["heat_top"].max() == after["heat_deck"].max() == 0 and rehearsal.trip == "none"
        if rehearsal.pins.pin("CONTACTOR") is not None:
            assert not rehearsal.outside.contactor.is_closed


@pytest.mark.parametrize(("board", "resistor", "erratum"), [("pico", "10 kohm", False), ("pico2", "4.7 kohm", True)])
def test_pull_down_is_told_with_its_reason(board, resistor, erratum):
    """RP2350 datasheet, erratum E9: a pad with an internal pull-down can stick near 2.2 V; 8.2 kohm or less hold it."""
    found = [one for one in pins.check(board) if one.code in ("HEAT_TOP", "HEAT_DECK", "CONTACTOR")]
    assert len(found) == 3
    assert all(f"fit {resistor} to GND" in one.mend and ("E9" in one.source) == erratum for one in found)
