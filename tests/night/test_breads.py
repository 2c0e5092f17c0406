"""Records of breads, verdicts, counters, signals: each by itself."""

import itertools
import types

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.shim.loader import world

W = world()
R = W.load("tizzone.evening.breads")
C = W.load("tizzone.evening.counters")


def book(count=1):
    made = R.Breads()
    for n in range(count):
        made.begin(n * 200, 440, 450, 50, 0)
        made.open = 0
    return made


@pytest.mark.parametrize(("top", "base"), list(itertools.product((1, 2, 3), repeat=2)))
def test_verdict_moves_the_share_towards_what_was_pale(top, base):
    made = book()
    change, why, advice = made.take_words(0, top, base, 50)
    wish = (base - top > 0) - (base - top < 0)  # the paler side gets more
    assert change == 4 * wish
    assert why
    if top == base != 2:
        assert advice  # both sides alike: only time or heat helps, which a person decides


def test_second_thoughts_move_in_half_steps():
    made = book(3)
    assert made.take_words(0, 1, 2, 50)[0] == 4
    assert made.take_words(1, 3, 2, 54)[0] == -2
    assert made.take_words(2, 1, 2, 52)[0] == 2


def test_share_stays_within_its_bounds_and_within_sixteen_points():
    made = book()
    for _ in range(20):
        made.take_words(0, 1, 3, 50 + made.adjust_pct)
    assert made.adjust_pct == 16
    made = book()
    assert made.take_words(0, 1, 3, 79)[0] == 1
    assert made.take_words(0, 1, 3, 80)[0] == 0
    made = book()
    assert made.take_words(0, 3, 1, 21)[0] == -1


def test_book_holds_a_hundred_breads_and_takes_no_more():
    made = book(100)
    assert not made.begin(1, 2, 3, 4, 0)
    assert made.count == 100
    assert made.line(99).startswith("n=100 ")


def test_blocks_bring_every_record_back():
    made = book(47)
    made.take_words(46, 1, 3, 50)
    back = R.Breads()
    for number in range(3):
        assert back.take_block(number, made.block(number))
    assert back.count == 47
    assert [back.line(n) for n in range(47)] == [made.line(n) for n in range(47)]


def test_block_out_of_turn_is_refused():
    back = R.Breads()
    assert not back.take_block(1, book(30).block(1))
    assert back.count == 0


@given(
    st.none()
    | st.integers()
    | st.lists(st.integers(-40000, 40000) | st.booleans() | st.text() | st.none(), max_size=210)
)
def test_damaged_block_never_raises_and_gives_readable_records(values):
    back = R.Breads()
    back.take_block(0, values)
    for n in range(back.count):
        assert back.line(n)


def heater(top=0, deck=0):
    zone = lambda on: types.SimpleNamespace(on=on, switchings=0)  # noqa: E731
    return types.SimpleNamespace(top=zone(top), deck=zone(deck), contactor_switchings=0)


def test_counters_count_minutes_and_switchings():
    made, box = C.Counters(None), heater(top=1)
    for _ in range(4 * 60):
        made.tick(True, box, 250)
    assert (made.values["hot_min"], made.values["heat_min"]) == (1, 1)
    box.top.switchings = 7
    box.contactor_switchings = 2
    made.tick(False, box, 250)
    assert (made.values["top"], made.values["deck"], made.values["contactor"]) == (7, 0, 2)


def test_counters_go_on_from_what_was_stored_and_mark_what_was_not_believed():
    made = C.Counters({"top": 1000, "sessions": 3})
    assert (made.values["top"], made.doubtful) == (1000, 0)
    made.tick(False, heater(), 250)
    assert made.values["top"] == 1000
    assert C.Counters({"top": -1}).doubtful
    assert "doubtful=1" in C.Counters({"top": "many"}).line()


def test_counter_stops_below_the_boards_largest_plain_integer():
    made = C.Counters({"top": C.MOST - 1})
    made.add("top", 5)
    assert made.values["top"] == C.MOST - 1 < 2**30
