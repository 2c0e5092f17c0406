"""The oven behind a pseudo-terminal goes on with the device's life, never with a time in which it was not let run.

Outside source: proc(5) of the Linux manual pages, /proc/pid/stat: state (R runs or would like to, S sleeps, T stopped),
utime and stime, in clock ticks.
"""

import os
import signal
import sys
from pathlib import Path

import pytest

if not sys.platform.startswith("linux"):
    pytest.skip("pseudo-terminal boards are for Linux", allow_module_level=True)

from host import oven
from host.board_pty import process as board_process
from host.board_pty import world as board_world
from host.board_pty.world import IDLE_S, World
from host.pins import pin_map

SPEED = 100.0
WATCHDOG_MS = 8000


class Wall:
    """This laptop's clock, moved by hand."""

    def __init__(self):
        self.now_s = 1000.0

    def monotonic(self):
        return self.now_s


class Device:
    """What the world asks of a process."""

    def __init__(self):
        self.life_s = 0.0
        self.waits = False
        self.answers = []

    def lived_s(self):
        return self.life_s

    def doing(self):
        return self.life_s, self.waits

    def answer(self, number, value):
        self.answers.append(number)


@pytest.fixture
def wall(monkeypatch):
    made = Wall()
    monkeypatch.setattr(board_world, "time", made)
    monkeypatch.setattr(board_process, "time", made)
    return made


@pytest.fixture
def around(wall):
    """(world, device): a watchdog that was fed, and a device that has just been given its time."""
    world = World(pin_map.read("boards/pico.py"), oven.preset("standard", 1), 1, SPEED)
    device = Device()
    world.arm(WATCHDOG_MS, device.lived_s())
    assert not world.advance(7, 250_000, 0, 0, 0)
    wall.now_s += 1.0
    assert not world.pass_time(device) and device.answers == [7]
    return world, device


def test_board_pty_device_that_is_not_let_run_lives_through_no_time_and_is_not_bitten(around, wall):
    world, device = around
    stood_us = world.outside.now_us
    for _ in range(60):
        wall.now_s += 1.0
        assert not world.pass_time(device)
    assert world.outside.now_us == stood_us


def test_board_pty_late_wake_of_a_sleeping_device_is_no_longer_sleep(around, wall):
    world, device = around
    stood_us = world.outside.now_us
    world.advance(8, 250_000, 0, 0, 0)
    wall.now_s += 60.0
    world.pass_time(device)
    assert device.answers == [7, 8] and world.outside.now_us == stood_us + 250_000


@pytest.mark.parametrize(("computed_s", "goes_on"), [(0.99, False), (1.0, True), (1.01, True)])
def test_board_pty_computing_takes_no_time_of_the_oven_up_to_a_second_of_it(around, computed_s, goes_on):
    world, device = around
    stood_us = world.outside.now_us
    device.life_s = computed_s
    world.pass_time(device)
    assert world.outside.now_us - stood_us == (round(computed_s * SPEED * 1e6) if goes_on else 0)


@pytest.mark.parametrize(("waited_s", "goes_on"), [(0.99 * IDLE_S, False), (1.01 * IDLE_S, True)])
def test_board_pty_oven_goes_on_beside_a_device_at_its_prompt(around, waited_s, goes_on):
    world, device = around
    stood_us = world.outside.now_us
    device.life_s, device.waits = waited_s, True
    world.pass_time(device)
    assert world.outside.now_us - stood_us == (round(waited_s * SPEED * 1e6) if goes_on else 0)


@pytest.mark.parametrize("waits", [False, True])
def test_board_pty_watchdog_bites_a_hang_and_a_prompt_after_their_own_life(around, waits):
    world, device = around
    device.waits = waits
    device.life_s = 1.0
    assert not world.pass_time(device)
    device.life_s = 1.01
    assert world.pass_time(device)


def test_board_pty_new_start_begins_a_new_life(around):
    world, device = around
    device.life_s = 0.9
    world.pass_time(device)
    world.config(is_soft=True)
    again = Device()
    again.life_s = 0.99
    assert not world.pass_time(again)


def test_board_pty_stopped_process_does_not_live_and_a_running_one_does(boards):
    board = boards(files={"main.py": b"while True:\n    pass\n"})
    process = board._process
    assert board.wait_until(lambda: process.doing()[0] > 0.1)
    number = process._process.pid
    os.kill(number, signal.SIGSTOP)
    assert board.wait_until(lambda: b") T " in Path(f"/proc/{number}/stat").read_bytes())
    stood_s, waits = process.doing()
    assert not waits
    assert process.doing() == (stood_s, False)
    os.kill(number, signal.SIGCONT)
    assert board.wait_until(lambda: process.doing()[0] > stood_s)


def test_board_pty_waiting_process_lives_by_the_wall_but_no_look_adds_more_than_a_turn(boards, wall):
    board = boards(metered=True)  # empty: it sits at its prompt, where the thread asks nothing of it
    process = board._process
    assert board.wait_until(lambda: process.doing()[1])
    process.lived_s()
    wall.now_s += 1.0
    before_s = process.lived_s()
    wall.now_s += 3600.0
    assert process.lived_s() == pytest.approx(before_s + board_process.TURN_S)
    wall.now_s += 0.05
    assert process.lived_s() == pytest.approx(before_s + board_process.TURN_S + 0.05)
