"""Stop from every stage and every screen, by panel, link and ENABLE: heat off within one tick, tried one by one."""

import copy
import subprocess
from pathlib import Path

import pytest
from panel_bench import MODES, app_of, evening, heat, menu_of

from host.shim.loader import DEVICE
from host.shim.remote import find_micropython

pytestmark = pytest.mark.slow

HEAP = Path(__file__).parent / "heap"

TICK_US = 250_000
SENSE_US = 15_000  # a tick begins with looking at currents for three quarters of a mains period; contacts come first
HEATED = ("prove", "preheat", "soak", "lift", "load", "bake", "recover", "rest")
COLD = ("idle", "held", "stopping", "stopped", "complete", "aborted")
STAGES = HEATED + COLD
SCREENS = ("main", "stone", "breads", "needs", "oven", "board", "list", "confirm", "setpoint", "verdict", "note",
           "presence", "plug")  # fmt: skip
LEG = "100 0 1 0 0 50 2 20 0 0 5 20 80"


def until_hot(rehearsal, most=80):
    """Advance to a tick in which a heat pin is on: only then can a stop show what it does."""
    for _ in range(most):
        if any(heat(rehearsal)):
            return
        rehearsal.advance(0.25)
    raise AssertionError(f"no heat in stage {rehearsal.stage}")


def until(rehearsal, stage, most=300):
    """Advance until a stage has begun."""
    for _ in range(most):
        if rehearsal.stage == stage:
            return
        rehearsal.advance(0.25)
    raise AssertionError(f"stage {stage} did not come; it is {rehearsal.stage}")


def made():
    """{stage: (rehearsal, hand)} of one evening, each a copy of the whole board."""
    kept = {}

    def keep(name):
        kept[name] = copy.deepcopy((rehearsal, hand))

    rehearsal, hand = evening()
    keep("idle")
    for line in (f"plan begin test 60 1|plan leg 1 {LEG}|plan end|start").split("|"):
        assert rehearsal.send(line).startswith("~ok")
    until(rehearsal, "prove")
    until_hot(rehearsal)
    keep("prove")
    for stage in ("preheat", "soak", "lift", "load"):
        until(rehearsal, stage)
        until_hot(rehearsal)
        assert rehearsal.stage == stage
        keep(stage)
    other = copy.deepcopy(rehearsal)
    assert other.send("rest").startswith("~ok")
    other.outside.door(6)
    other.advance(7)
    until_hot(other)
    assert other.stage == "rest"
    kept["rest"] = copy.deepcopy((other, type(hand)(other)))
    assert rehearsal.send("loaded") == "~ok"
    until_hot(rehearsal)
    keep("bake")
    rehearsal.outside.door(6)
    until(rehearsal, "recover")
    until_hot(rehearsal)
    keep("recover")
    assert rehearsal.send("hold") == "~ok"
    keep("held")
    rehearsal.send("resume")
    until(rehearsal, "lift")
    rehearsal.send("loaded")
    rehearsal.advance(25)
    assert rehearsal.state == "complete"
    keep("complete")
    rehearsal, hand = copy.deepcopy(kept["bake"])
    rehearsal.send("stop")
    keep("stopping")
    rehearsal.plant.dome_c = 50.0
    rehearsal.advance(70)
    assert rehearsal.state == "stopped"
    keep("stopped")
    rehearsal, hand = copy.deepcopy(kept["bake"])
    rehearsal.outside.probe_chips["dome"].set_fault("open")
    rehearsal.advance(3)
    assert rehearsal.state == "aborted"
    keep("aborted")
    return kept


@pytest.fixture(scope="module")
def stages():
    """See made()."""
    return made()


def put(rehearsal, screen):
    """Bring the panel to a screen, also where a hand could not get just now."""
    app, menu = app_of(rehearsal), menu_of(rehearsal)
    device_menu = rehearsal.world.load("tizzone.panel.menu")
    pages = ("main", "stone", "breads", "needs", "oven", "board")
    if screen in pages:
        menu.mode, menu.page = device_menu.PAGE, pages.index(screen)
    elif screen == "presence":
        app.supervisor.attendance.attend_mc = 30_000
        app.supervisor.attendance.alone_ms = app.supervisor.attendance.soon_ms
    elif screen == "plug":
        app.supervisor.pull_the_plug = 1
    else:
        menu.mode = MODES.index(screen)
        menu.items = device_menu.choices(app)
        menu.title, menu.lines = "NOT DONE", ["for this test"]
        menu.value = 100
        menu.at = 1


def pressed(by, rehearsal, hand, after_ms):
    """Stop; returns when it was asked for, µs."""
    start_us = max(rehearsal.outside.now_us, rehearsal.outside.quiet_us)
    if by == "panel":
        hand.later(after_ms, "stop", False)
        hand.later(after_ms + 400, "stop", True)
    elif by == "enable":
        rehearsal.outside.at(start_us + after_ms * 1000, rehearsal.outside, "__setattr__", "enable", False)
    else:
        rehearsal.outside.at(start_us + after_ms * 1000, rehearsal, "say", "stop", "user")
    rehearsal.advance(2.0)
    return start_us + after_ms * 1000


@pytest.mark.parametrize("by", ["panel", "link", "enable"])
@pytest.mark.parametrize("stage", STAGES)
def test_stop_from_any_stage_and_screen_takes_the_heat_off_within_one_tick(stages, stage, by):
    for number, screen in enumerate(SCREENS):
        rehearsal, hand = copy.deepcopy(stages[stage])
        port = rehearsal.board.port
        pins = [relay.pin for relay in rehearsal.outside.relays]
        assert any(heat(rehearsal)) == (stage in HEATED), f"{stage} is not what it is called"
        put(rehearsal, screen)
        asked_us = pressed(by, rehearsal, hand, (1, 45, 97, 140, 188, 203, 249)[number % 7])
        at_most_us = asked_us + TICK_US + (SENSE_US if by == "enable" else 0)
        for pin in pins:
            late = [us for us, level in port.history(pin) if level and us > at_most_us]
            off = [us for us, level in port.history(pin) if us <= at_most_us][-1:]
            assert not late, f"{stage}, {screen}: pin {pin} on again"
            assert not off or not dict(port.history(pin))[off[0]], f"{stage}, {screen}: pin {pin} still on"
        assert heat(rehearsal) == [0, 0]
        assert not rehearsal.outside.contactor.is_closed, f"{stage}, {screen}"
        assert not port.refusals


def test_stop_at_the_panel_ends_the_evening_within_twenty_milliseconds_of_a_free_loop(stages):
    for after_ms in range(1, 250, 31):
        rehearsal, hand = copy.deepcopy(stages["preheat"])
        asked_us = pressed("panel", rehearsal, hand, after_ms)
        falls = [us for r in rehearsal.outside.relays for us, level in rehearsal.board.port.history(r.pin) if not level]
        assert max(falls) - asked_us <= 20_000
        assert rehearsal.state == "stopping"
        assert (menu_of(rehearsal).mode, menu_of(rehearsal).page) == (0, 0)


def test_stop_pressed_for_a_moment_keeps_the_heat_off_for_good(stages):
    rehearsal, hand = copy.deepcopy(stages["bake"])
    hand.press_stop(for_ms=30)
    rehearsal.advance(60)
    assert heat(rehearsal) == [0, 0]
    assert rehearsal.state == "stopping"


def test_broken_stop_wire_stops_and_no_evening_lasts_while_it_is_broken(stages):
    rehearsal, hand = copy.deepcopy(stages["soak"])
    hand.close("stop", False)
    rehearsal.advance(1)
    assert rehearsal.state == "stopping"
    rehearsal.plant.dome_c = 50.0
    rehearsal.advance(65)
    assert rehearsal.state == "stopped"
    rehearsal.send("start")
    rehearsal.advance(1)
    assert heat(rehearsal) == [0, 0]
    assert rehearsal.state != "running"
    assert not rehearsal.outside.contactor.is_closed


@pytest.mark.parametrize("trouble", ["silent", "late"])
def test_stop_works_with_a_dead_display_and_in_a_late_tick(stages, trouble):
    rehearsal, hand = copy.deepcopy(stages["preheat"])
    if trouble == "silent":
        rehearsal.outside.display.set_fault("silent")
        rehearsal.advance(5)
        until_hot(rehearsal)
    else:
        rehearsal.outside.orders.append(["late", 240_000])
    asked_us = pressed("panel", rehearsal, hand, 20)
    falls = [us for r in rehearsal.outside.relays for us, level in rehearsal.board.port.history(r.pin) if not level]
    assert max(falls) - asked_us <= TICK_US
    assert heat(rehearsal) == [0, 0]


def test_spike_shorter_than_two_looks_does_not_end_an_evening(stages):
    rehearsal, hand = copy.deepcopy(stages["preheat"])
    hand.later(10, "stop", False)
    hand.later(14, "stop", True)
    rehearsal.advance(1)
    assert rehearsal.state == "running"


def test_stop_allocates_nothing_on_micropython():
    done = subprocess.run(
        [find_micropython(), "-X", "heapsize=145wK", str(HEAP / "heap_stop.py")],
        capture_output=True, text=True, timeout=60, check=False, env={"MICROPYPATH": f"{HEAP}:{DEVICE}:.frozen"},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.split() == ["2000", "200"]
