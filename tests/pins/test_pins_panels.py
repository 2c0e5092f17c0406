"""Wrong panels and probes are refused, each with an alternative that itself passes."""

import copy
import json

import pytest
from pins_further import BY_A_PERSON, FURTHER
from pins_maps import text, values
from pins_panels import GOOD, MCP, WRONG

from host import pins
from host.pins import panelspec, pin_map
from host.pins.board import TAKE_OUT
from host.shim.loader import world

GOOD_SPI = {"spi": 0, "sck": 18, "miso": 16}
EVERY = {**WRONG, **FURTHER}


def checked(path, names, wanted_c=480):
    """Findings of a map with these names."""
    path.write_text(text(names), encoding="utf-8")
    return pins.check(path, wanted_c)


def stops(found):
    """Those that refuse the map."""
    return [one for one in found if one.grade == "stop"]


def follow(names, remedy):
    """The map with every value of a remedy put in."""
    made = copy.deepcopy(names)
    for name, value in remedy.items():
        *path, key = name.split(".")
        target = made
        for step in path:
            target = target[step] if isinstance(target.get(step), dict) else target.setdefault(step, {})
        if value == TAKE_OUT:
            target.pop(key, None)
        else:
            target[key] = copy.deepcopy(value)
    return made


def test_pins_wrong_panels_and_probes_are_many():
    assert len(EVERY) == len(WRONG) + len(FURTHER) >= 140


@pytest.mark.parametrize("name", EVERY)
def test_pins_wrong_panel_or_probe_is_refused_with_an_alternative_that_passes(name, tmp_path):
    board, changes = EVERY[name]
    names, wanted_c = values(board, **changes), 60 if board == "esp32c3" else 480
    found = stops(checked(tmp_path / "map.py", names, wanted_c))
    assert found and all(one.mend and one.source for one in found)
    for _ in range(4):  # a missing bus first, then its neighbours
        for one in found:
            names = follow(names, one.remedy)
        found = stops(checked(tmp_path / "map.py", names, wanted_c))
        if not found:
            break
    assert found == []
    if isinstance(names.get("PANEL"), dict):
        assert isinstance(names["PANEL"]["stop"], int)  # whatever was wrong, the stop button is there afterwards


@pytest.mark.parametrize("name", BY_A_PERSON)
def test_pins_wrong_map_that_only_a_person_can_mend_says_what_there_is(name, tmp_path):
    board, changes, words = BY_A_PERSON[name]
    found = stops(checked(tmp_path / "map.py", values(board, **changes)))
    assert found and any(words in one.mend for one in found)


def test_pins_probe_of_another_letter_is_never_advised(tmp_path):
    """A couple read with another letter's table is wrong by hundreds of degrees: the advice keeps the letter."""
    for wrong, good in (("k", "K"), ("n", "N"), ("K-type", "K"), (5, "K")):
        dome = {"chip": "max31856", "type": wrong, "bus": {**GOOD_SPI, "mosi": 19}, "cs": 17}
        found = stops(checked(tmp_path / "map.py", values("pico", PROBES={"dome": dome})))
        assert [one.remedy for one in found] == [{"PROBES.dome.type": good}]


@pytest.mark.parametrize("wanted_c", [100, 250, 480])
def test_pins_chip_that_is_refused_alone_at_the_dome_is_never_advised(tmp_path, wanted_c):
    dome = {"chip": "max31865", "bus": {**GOOD_SPI, "mosi": 19}, "cs": 17, "type": "B"}
    found = checked(tmp_path / "map.py", values("pico", PROBES={"dome": dome | {"chip": "max31856"}}), wanted_c)
    advised = [one.mend for one in found if "serve" in one.mend]
    assert advised and not any("mcp9600" in words for words in advised)


@pytest.mark.parametrize("wrong", ["stopp", "Stop", "halt", "estop", "button", "x"])
def test_pins_misspelt_stop_button_never_passes(wrong, tmp_path):
    panel = {key: value for key, value in GOOD.items() if key != "stop"} | {wrong: 26}
    for extra in ({}, {"stop": None}):
        assert stops(checked(tmp_path / "map.py", values("pico_panel", PANEL={**panel, **extra})))


def test_pins_panel_beside_a_probe_on_its_bus_is_told_and_accepted(tmp_path):
    panel = {**GOOD, "bus": {"i2c": 1, "sda": 18, "scl": 19}}
    found = checked(tmp_path / "map.py", values("pico_panel", PANEL=panel, PROBES={"dome": MCP}))
    assert stops(found) == []
    assert any(one.code == "PANEL.bus" and "probe's bus" in one.text for one in found)


def test_pins_displays_are_those_of_the_driver():
    assert panelspec.displays() == world().load("tizzone.panel.display").CHIPS


def test_pins_panel_entries_are_those_that_the_device_reads():
    """Every entry that the check knows is read by the panel, and every one that it reads is known."""
    code = (pin_map.BOARDS.parent / "device/tizzone/panel/panel.py").read_text(encoding="utf-8")
    read = {key for key in panelspec.KEYS if f'spec["{key}"]' in code or f'spec.get("{key}"' in code}
    assert read == set(panelspec.KEYS)
    assert code.count("spec[") + code.count("spec.get(") == len(panelspec.KEYS)


def test_pins_remedies_are_json(tmp_path):
    found = checked(tmp_path / "map.py", values("pico_panel", PANEL={"stopp": 26}))
    assert json.loads(json.dumps([one.as_json() for one in found]))[0]["grade"] == "stop"


@pytest.mark.parametrize("name", ["STOP", "STOP_BUTTON", "E_STOP", "EMERGENCY", "KEY", "THERMOSTAT"])
def test_pins_unknown_name_with_a_pin_never_passes(name, tmp_path):
    found = stops(checked(tmp_path / "map.py", values("pico", **{name: 26})))
    assert [one.code for one in found] == [name] and found[0].remedy == {name: TAKE_OUT}
