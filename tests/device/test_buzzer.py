"""Buzzer and lamp beat by beat: each pattern as it sounds, when it ends, and what interrupts it."""

import types

import pytest

from host.shim.loader import world

module = world().load("tizzone.board_io.buzzer")
SOUNDS = {  # a tick a letter, from the tick that begins it; then silence, or the same again
    module.SILENT: ".",
    module.SOON: "#.",
    module.DUE: "#.#.",
    module.DONE: "###.###.###.###.",
    module.TRIPPED: "##..............",
}


class Pin:
    """A simulated output that keeps all it was told."""

    OUT = "out"

    def __init__(self, number, mode, value=None):
        self.number, self.mode, self.told = number, mode, [value]

    def value(self, level):
        self.told.append(level)


@pytest.fixture(autouse=True)
def pins(monkeypatch):
    monkeypatch.setattr(module, "Pin", Pin)


def made(**pins):
    return module.Buzzer(types.SimpleNamespace(**pins))


def beats(buzzer, count):
    """What sounds in the next ticks, a letter each."""
    pin = buzzer.buzzer
    pin.told.clear()
    for _ in range(count):
        buzzer.tick(0, 0)
    assert set(pin.told) <= {0, 1}  # any other number is high as well
    return "".join("#" if level == 1 else "." for level in pin.told)


def test_outputs_begin_silent_and_dark():
    buzzer = made(BUZZER=26, LED=27)
    for pin, number in ((buzzer.buzzer, 26), (buzzer.led, 27)):
        assert (pin.number, pin.mode, pin.told) == (number, Pin.OUT, [0])
    assert beats(buzzer, 40) == "." * 40


@pytest.mark.parametrize("pattern", [module.SOON, module.DUE, module.DONE])
def test_pattern_sounds_once_and_ends(pattern):
    sound = SOUNDS[pattern]
    buzzer = made(BUZZER=26)
    buzzer.play(pattern)
    assert beats(buzzer, len(sound) + 40) == sound + "." * 40


def test_trip_beats_slowly_until_it_is_replaced():
    buzzer = made(BUZZER=26)
    heard = ""
    for count in (0, 5, 16, 35):  # whoever says it again in each tick does not hold it at its first beat
        buzzer.play(module.TRIPPED)
        heard += beats(buzzer, count)
    assert heard == (SOUNDS[module.TRIPPED] * 4)[:56]
    buzzer.play(module.SILENT)
    assert beats(buzzer, 40) == "." * 40


@pytest.mark.parametrize("pattern", [module.SOON, module.DUE, module.DONE])
def test_pattern_that_is_played_again_begins_again(pattern):
    buzzer = made(BUZZER=26)
    buzzer.play(pattern)
    beats(buzzer, 1)
    buzzer.play(pattern)
    assert beats(buzzer, len(SOUNDS[pattern]) + 4) == SOUNDS[pattern] + "...."


def test_pattern_that_replaces_another_begins_at_its_first_beat():
    buzzer = made(BUZZER=26)
    buzzer.play(module.TRIPPED)
    beats(buzzer, 5)
    buzzer.play(module.DONE)
    beats(buzzer, 2)
    buzzer.play(module.TRIPPED)
    assert beats(buzzer, 32) == SOUNDS[module.TRIPPED] * 2


def test_lamp_is_steady_while_heat_is_permitted_and_blinks_while_a_person_is_awaited():
    buzzer = made(LED=27)
    buzzer.led.told.clear()
    for permitted, awaited in [(0, 0)] * 3 + [(1, 0)] * 5:
        buzzer.tick(permitted, awaited)
    assert buzzer.led.told == [0, 0, 0, 1, 1, 1, 1, 1]
    for permitted in (0, 1):  # two ticks on, two off, either way
        buzzer.led.told.clear()
        for _ in range(12):
            buzzer.tick(permitted, 1)
        told = "".join(map(str, buzzer.led.told))
        assert told in "0011" * 4 or told in "110011001100110", told


def test_board_with_neither_takes_everything():
    buzzer = made()
    assert buzzer.buzzer is None and buzzer.led is None
    for pattern in SOUNDS:
        buzzer.play(pattern)
        buzzer.tick(1, 1)


def test_alarm_sounds_without_a_pause_where_there_is_a_buzzer(monkeypatch):
    found = []
    monkeypatch.setattr(module, "Pin", type("Kept", (Pin,), {"value": lambda pin, level: found.append((pin, level))}))
    module.alarm(types.SimpleNamespace(BUZZER=26, LED=27))
    ((pin, level),) = found
    assert (pin.number, level) == (26, 1)
    module.alarm(types.SimpleNamespace(LED=27))
    assert len(found) == 1
