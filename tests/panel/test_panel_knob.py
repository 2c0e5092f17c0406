"""Contacts of the panel by themselves: what a turn, a bounce, a missed look and a stuck contact count."""

import itertools
import random

import pytest
from panel_bench import app_of, evening, menu_of

from host.shim.loader import world

KNOB = world().load("tizzone.panel.knob")
CLOCKWISE = ((0, 1), (0, 0), (1, 0), (1, 1))  # levels (a, b): 0 = closed; every click ends with both open


def turned(knob, states, ms=5):
    """Sum of what a knob counts over states of one look each."""
    return sum(knob.sense(a, b, ms) for a, b in states)


def other_way(states):
    return [(b, a) for a, b in states]


@pytest.mark.parametrize("missed", [None, 0, 1, 2])
def test_click_counts_one_its_way_also_with_one_state_missed(missed):
    states = [state for n, state in enumerate(CLOCKWISE) if n != missed]
    assert turned(KNOB.Knob(), states, 50) == 1
    assert turned(KNOB.Knob(), other_way(states), 50) == -1


@pytest.mark.parametrize("states", [
    [(0, 1), (1, 1)], [(1, 0), (1, 1)], [(0, 1), (0, 0), (0, 1), (1, 1)], [(1, 0), (0, 0), (1, 0), (1, 1)],
    [(0, 0), (1, 1)], [(0, 1)] * 50 + [(1, 1)],
])  # fmt: skip
def test_movement_to_and_fro_counts_nothing(states):
    assert turned(KNOB.Knob(), states) == 0


def test_bouncing_contacts_count_every_click_once():
    dice = random.Random(4)
    for way, number in itertools.product((1, -1), range(1, 20)):
        knob, total = KNOB.Knob(), 0
        for _ in range(number):
            before = (1, 1)
            for state in CLOCKWISE if way > 0 else other_way(CLOCKWISE):
                bounce = [dice.choice((before, state)) for _ in range(dice.randrange(4))]
                total += turned(knob, [*bounce, state], 60)
                before = state
            total += turned(knob, [(1, 1)] * 3, 60)
        assert total == way * number


def test_contact_that_is_stuck_closed_counts_nothing():
    for stuck in ((0, None), (None, 0)):
        states = [(stuck[0] if stuck[0] is not None else a, stuck[1] if stuck[1] is not None else b)
                  for a, b in CLOCKWISE * 10]  # fmt: skip
        assert turned(KNOB.Knob(), states) == 0


@pytest.mark.parametrize(
    ("click_ms", "steps"),
    [(44, KNOB.FAST), (45, KNOB.BRISK), (46, KNOB.BRISK), (109, KNOB.BRISK), (110, 1), (111, 1), (400, 1)],
)
def test_acceleration_follows_the_time_from_click_to_click(click_ms, steps):
    knob = KNOB.Knob()
    turned(knob, CLOCKWISE, 200)
    assert turned(knob, CLOCKWISE[:3], 0) + knob.sense(1, 1, click_ms) == steps


def test_first_click_after_a_change_of_direction_is_one_step():
    knob = KNOB.Knob()
    assert turned(knob, CLOCKWISE, 5) == 1
    assert turned(knob, CLOCKWISE, 5) == KNOB.FAST
    assert turned(knob, other_way(CLOCKWISE), 5) == -1


@pytest.mark.parametrize(("closed_ms", "presses"), [(10, 0), (14, 0), (15, 1), (16, 1), (5000, 1)])
def test_push_counts_once_when_it_lasts_longer_than_a_bounce(closed_ms, presses):
    push = KNOB.Push()
    push.sense(1, 100)
    total = sum(push.sense(0, 1) for _ in range(closed_ms))
    assert total == presses


def test_push_that_is_closed_from_the_start_presses_nothing():
    push = KNOB.Push()
    assert sum(push.sense(0, 5) for _ in range(1000)) == 0
    push.sense(1, 20)
    assert sum(push.sense(0, 5) for _ in range(1000)) == 1


@pytest.mark.slow
@pytest.mark.parametrize("click_ms", [24, 60, 160])
def test_setpoint_never_leaves_its_bounds_however_the_knob_is_turned(click_ms):
    rehearsal, hand = evening({"setpoint_c": 470})
    hand.push()
    hand.turn(1)
    hand.push()
    menu = menu_of(rehearsal)
    hand.turn(30, click_ms, seconds=0.3)
    assert menu.value == 480  # what commissioning has earned
    hand.turn(-160, min(click_ms, 40), seconds=0.3)
    assert menu.value == 30
    hand.turn(200, 30, seconds=0.3)
    hand.push()
    assert app_of(rehearsal).sequence.setpoint_mc == 480_000
    assert not rehearsal.board.port.refusals
