"""What commissioning can release with a map: the device is asked, and what is told as missing helps."""

import pytest
from pins_maps import REMOVE, text, values

from host import pins
from host.pins import pin_map, release
from host.pins.board import Board
from host.shim.loader import world

SENSED = ("LIMIT_OK", "ENABLE", "SELECTOR", "CONTACTOR_OPEN")


def board(path, **changes):
    """A Board of the pico's map with changes."""
    path.write_text(text(values("pico", **changes)), encoding="utf-8")
    return Board(pin_map.read_source(path), 480)


def by_hand(names):
    """Release of a map with these names wired, worked out from the device's tables alone, degC."""
    load = world().load
    rule, witness = load("tizzone.commissioning.release"), load("tizzone.commissioning.witness")
    done = 0
    for needs in witness.NEEDS:
        if not set(needs) <= set(names):
            break
        done += 1
    earned = [
        c for c, count in zip(load("tizzone.safety.limits").RELEASES_C, rule.STEPS_FOR, strict=True) if done >= count
    ]
    return max(earned)


@pytest.mark.parametrize("left_out", [(), *((name,) for name in SENSED), ("LIMIT_OK", "SELECTOR"), SENSED])
def test_pins_release_is_what_the_devices_steps_allow(left_out, tmp_path):
    made = board(tmp_path / "map.py", **dict.fromkeys(left_out, REMOVE))
    wired = [name for name in SENSED if name not in left_out]
    assert release.reach(made).release_c == by_hand(wired)


@pytest.mark.parametrize("left_out", [("LIMIT_OK",), ("ENABLE", "SELECTOR"), SENSED])
def test_pins_wiring_what_is_told_as_missing_reaches_what_is_wanted(left_out, tmp_path):
    path = tmp_path / "map.py"
    names = values("pico", **dict.fromkeys(left_out, REMOVE))
    path.write_text(text(names), encoding="utf-8")
    found = [one for one in pins.check(path, 480) if one.grade == "stop"]
    assert {one.code for one in found} == set(left_out)
    for one in found:
        names |= one.remedy
    path.write_text(text(names), encoding="utf-8")
    assert [one for one in pins.check(path, 480) if one.grade == "stop"] == []
    assert release.reach(Board(pin_map.read_source(path), 480)).release_c == release.releases_c()[-1]


def test_pins_no_stone_probe_and_no_limiter_is_held_by_the_devices_rule(tmp_path):
    made = board(tmp_path / "map.py", LIMIT_OK=REMOVE, stone=REMOVE)
    assert release.reach(made).release_c < release.releases_c()[-1]
    assert any(name == "LIMIT_OK" for name, _ in release.missing_for(made, 480))


@pytest.mark.parametrize("odd", [{}, {"PROBES": 3}, {"PROBES": {"dome": {1, 2}}}, {"LIMIT_OK": "3"}, {"ENABLE": True}])
def test_pins_release_can_be_asked_of_any_map(odd, tmp_path):
    made = board(tmp_path / "map.py", **odd)
    assert release.reach(made).release_c in release.releases_c()


@pytest.mark.parametrize("wanted_c", [30, 60, 61, 120, 121, 480, 530])
def test_pins_wanted_is_refused_just_above_what_is_released(wanted_c, tmp_path):
    found = pins.check("esp32c3", wanted_c)
    assert any(one.grade == "stop" and one.code == "SELECTOR" for one in found) == (wanted_c > 60)
