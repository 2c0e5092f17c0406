"""The book of breads to the number: what a record says, what a stored block may be, what two words move."""

import pytest

from host.shim.loader import world

R = world().load("tizzone.evening.breads")
NOTES = ("guess", "unready", "held", "cut", "seconds")


def book(count=1):
    made = R.Breads()
    for n in range(count):
        made.begin(n, 440 + n % 7, 450, 50, 0)
    return made


def test_new_book_is_empty_and_moves_nothing():
    made = R.Breads()
    assert (made.count, made.open, made.adjust_pct, made.direction, made.step_pct) == (0, 0, 0, 0, 4)
    assert [made.block(number) for number in range(5)] == [[]] * 5
    assert [len(block) for block in made._blocks] == [200] * 5  # the memory of a hundred breads, taken once
    assert all(value == 0 for block in made._blocks for value in block)


def test_record_is_what_was_seen_when_the_bread_was_laid():
    made = R.Breads()
    assert made.begin(905, 431, 447, 55, 2) is True
    assert (made.count, made.open) == (1, 1)
    assert made.line(0) == (
        "n=1 at_s=905 stone_c=431 sag_k=0 bake_s=0 dome_c=447 dome_sag_k=0 share=55 top=none base=none notes=unready"
    )
    for field, value in ((R.STONE_LOW, 410), (R.DOME_LOW, 401), (R.BAKED, 93), (R.TOP, 1), (R.BASE, 3)):
        made.put(field, value)
    assert made.line(0) == (
        "n=1 at_s=905 stone_c=431 sag_k=21 bake_s=93 dome_c=447 dome_sag_k=46 share=55 top=pale base=dark notes=unready"
    )
    made.put(R.TOP, 2)
    assert " top=right " in made.line(0)


def test_each_record_is_its_own():
    made = book(100)
    for n in (0, 19, 20, 21, 99):
        assert made.get(n, R.AT) == n and made.get(n, R.STONE) == 440 + n % 7
        assert made.line(n).startswith(f"n={n + 1} at_s={n} stone_c={440 + n % 7} ")
    made.put(R.BAKED, 77)
    assert [made.get(n, R.BAKED) for n in (98, 99)] == [0, 77]


@pytest.mark.parametrize("note", NOTES)
def test_flag_adds_its_note_and_leaves_the_others(note):
    bit = getattr(R, note.upper())
    made = book(2)
    made.flag(bit)
    made.flag(bit)
    assert made.line(1).endswith("notes=" + note)
    assert made.line(0).endswith("notes=none")
    made.flag(31 - bit)
    assert made.line(1).endswith("notes=guess,unready,held,cut,seconds")


@pytest.mark.parametrize(("value", "kept"), [(32767, 32767), (32768, 32767), (-32768, -32768), (-32769, -32768)])
def test_number_that_a_record_cannot_hold_is_kept_as_the_nearest(value, kept):
    made = book()
    made.put(R.AT, value)
    assert made.get(0, R.AT) == kept


def test_full_book_closes_and_keeps_what_it_has():
    made = book(100)
    last = made.line(99)
    assert made.begin(1, 2, 3, 4, 0) is False
    assert (made.count, made.open) == (100, 0)
    assert made.line(99) == last


def test_cleared_book_is_like_a_new_one():
    made = book(47)
    made.take_words(3, 1, 2, 50)
    made.take_words(4, 2, 1, 50)
    made.clear()
    new = R.Breads()
    assert vars(made) == vars(new)
    made.begin(1, 2, 3, 4, 0)
    made.take_words(0, 3, 1, 50)
    assert made.adjust_pct == -4  # a whole step again


# --- two words ----------------------------------------------------------------------------------


def test_words_are_kept_with_their_bread_and_advice_that_moves_nothing_leaves_the_next_step_whole():
    made = book(3)
    assert made.take_words(1, 1, 1, 50) == (0, "both pale", "bake 10 s longer, or 10 degrees hotter")
    assert [(made.get(n, R.TOP), made.get(n, R.BASE)) for n in range(3)] == [(0, 0), (1, 1), (0, 0)]
    assert (made.adjust_pct, made.direction, made.step_pct) == (0, 0, 4)
    assert made.take_words(2, 2, 1, 50) == (-4, "top right, base pale", "let the stone recover longer")
    assert (made.adjust_pct, made.direction, made.step_pct) == (-4, -1, 4)


def test_words_that_move_nothing_change_no_step():
    made = book()
    moves = [made.take_words(0, *words, 50 + made.adjust_pct)[0] for words in [(1, 2), (2, 2), (1, 2), (3, 3), (1, 2)]]
    assert moves == [4, 0, 4, 0, 4]
    assert made.take_words(0, 2, 2, 90)[0] == 0  # and no share, wherever it is


def test_steps_are_four_points_until_the_direction_turns_and_two_from_then_on():
    made = book()
    moves = [
        made.take_words(0, *words, 50 + made.adjust_pct)[0] for words in [(1, 2)] * 2 + [(3, 2)] * 2 + [(1, 2)] * 2
    ]
    assert moves == [4, 4, -2, -2, 2, 2]
    assert made.adjust_pct == 8 and made.direction == 1 and made.step_pct == 2


@pytest.mark.parametrize(("words", "sign"), [((1, 3), 1), ((3, 1), -1)])
def test_words_move_the_share_by_sixteen_points_at_most(words, sign):
    made = book()
    moves = [made.take_words(0, *words, 50 + made.adjust_pct)[0] for _ in range(6)]
    assert moves == [4 * sign] * 4 + [0, 0]
    assert made.adjust_pct == 16 * sign


@pytest.mark.parametrize(
    ("share_pct", "words", "change"),
    [(76, (1, 3), 4), (77, (1, 3), 3), (80, (1, 3), 0), (24, (3, 1), -4), (23, (3, 1), -3), (20, (3, 1), 0),
     (90, (1, 3), -10), (10, (3, 1), 10)],
)  # fmt: skip
def test_words_keep_the_share_within_twenty_and_eighty(share_pct, words, change):
    made = book()
    assert made.take_words(0, *words, share_pct)[0] == change == made.adjust_pct
    second = book()
    second.adjust_pct = 8  # what earlier words moved is in the share already
    assert second.take_words(0, *words, share_pct)[0] == change
    assert second.adjust_pct == 8 + change


# --- stored blocks ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "lengths"), [(0, [0] * 5), (1, [10, 0]), (20, [200, 0]), (21, [200, 10]), (100, [200] * 5)]
)
def test_block_has_the_records_of_its_twenty_breads(count, lengths):
    made = book(count)
    assert [len(made.block(number)) for number in range(len(lengths))] == lengths
    if count == 21:
        assert made.block(1)[: R.STONE + 1] == [20, 440 + 20 % 7]


RECORD = [7, 440, 431, 90, 450, 447, 50, 1, 3, 8]


def test_blocks_come_back_in_turn_and_fill_the_book():
    made = R.Breads()
    for number in range(5):
        assert made.count == 20 * number
        assert made.take_block(number, RECORD * 20) is True
    assert made.count == 100
    assert made.take_block(5, RECORD) is False
    assert all(made.block(number) == RECORD * 20 for number in range(5))


@pytest.mark.parametrize(
    "values",
    [None, {}, tuple(RECORD), [], RECORD[:9], [*RECORD, 1], RECORD * 21, [*RECORD[:9], True], [*RECORD[:9], 0.0],
     [*RECORD[:9], "0"], [32768, *RECORD[1:]], [-32769, *RECORD[1:]], RECORD * 2 + [None] * 10],
)  # fmt: skip
def test_value_that_is_no_block_is_refused_and_leaves_the_book_as_it_is(values):
    made = R.Breads()
    assert made.take_block(0, values) is False
    assert made.count == 0 and not any(made._blocks[0])


def test_block_out_of_turn_is_refused():
    made = R.Breads()
    assert made.take_block(1, RECORD) is False
    assert made.take_block(0, RECORD * 19) is True  # not full: nothing follows it
    assert made.take_block(1, RECORD) is False
    assert made.take_block(0, RECORD) is False
    assert made.count == 19


@pytest.mark.parametrize(("low", "high"), [(-32768, 32767), (-1, 4)])
def test_numbers_at_their_bounds_are_taken_and_words_that_do_not_exist_are_none(low, high):
    made = R.Breads()
    first, second = RECORD[:], RECORD[:]
    first[R.AT], first[R.TOP], first[R.BASE] = low, low, high
    second[R.AT], second[R.TOP], second[R.BASE], second[R.FLAGS] = high, 3, 3, high
    third = [*RECORD[: R.TOP], high, low, 8]
    assert made.take_block(0, first + second + third) is True
    assert [made.get(2, field) for field in (R.TOP, R.BASE, R.FLAGS)] == [3 if high == 3 else 0, 0, 8]
    assert [made.get(0, field) for field in (R.AT, R.TOP, R.BASE, R.FLAGS)] == [low, 0, 0, 8]
    assert [made.get(1, field) for field in (R.AT, R.TOP, R.BASE, R.FLAGS)] == [high, 3, 3, high]
    assert [made.get(0, field) for field in range(1, 7)] == RECORD[1:7]
