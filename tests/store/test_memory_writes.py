"""What a board writes of itself: noted, counted where it is refused, and nothing that was stored before is lost."""

import json

import pytest
from memory_bench import SETTINGS, SUPERVISOR, WORLD, Board, L, used

from host.shim.simfs import EIO, ENOSPC

# --- writing ---------------------------------------------------------------------------------------


def test_memory_write_is_noted_for_the_tick_that_it_may_make_late():
    board = used()
    for write in (
        lambda memory: memory.keep("stone", {"a": 1}),
        lambda memory: memory.mark_session(1),
        lambda memory: memory.keep_settings(SETTINGS.defaults()),
        lambda memory: memory.keep_commission({"release_c": 60}),
        lambda memory: memory.log("a line"),
        lambda memory: memory.keep_latch(SUPERVISOR.Supervisor(500_000, 480_000)),
    ):
        memory = board.start()
        with board:
            write(memory)
        assert memory.wrote == 1
    assert board.kept("stone") == {"a": 1}
    assert board.kept("commission") == {"release_c": 60}


def test_memory_collects_before_a_write_so_that_the_flash_finds_room():
    board, gc, calls = used(), WORLD.load("gc"), []
    real = gc.collect
    gc.collect = lambda: calls.append(board.fs.units)
    try:
        with board as memory:
            memory.keep("stone", {"a": 1})
    finally:
        gc.collect = real
    assert calls and calls[0] < board.fs.units


@pytest.mark.parametrize("error", ["medium", "value", "memory"])
def test_memory_refused_write_is_told_counted_and_loses_nothing(error):
    board = used(stone={"a": 1})
    with board as memory:
        value = {"a": 2}
        if error == "medium":
            board.fs.refuse(ENOSPC, times=9)
        elif error == "value":
            value = {"a": float("nan")}
        else:
            memory.store.save = lambda name, value: (_ for _ in ()).throw(MemoryError("none"))
        assert memory.keep("stone", value) is False
    assert memory.failed == 1 and len(memory.faults) == 1
    assert memory.faults[0].startswith("cannot store stone: ")
    assert board.kept("stone") == {"a": 1}


def test_memory_that_refuses_for_ever_is_told_nine_times_and_counted_always():
    board = used()
    with board as memory:
        board.fs.refuse(ENOSPC, times=1000)
        for number in range(20):
            assert memory.keep("stone", {"a": number}) is False
    assert (memory.failed, len(memory.faults)) == (20, 9)


def test_memory_latch_that_was_refused_stays_due():
    board = used()
    sup = SUPERVISOR.Supervisor(500_000, 480_000)
    sup.raise_event(L.PROGRAM_FAULT)
    assert sup.latch_changed
    with board as memory:
        board.fs.refuse(ENOSPC, times=9)
        assert memory.keep_latch(sup) is False
        assert sup.latch_changed
        board.fs.refuse(ENOSPC, times=0)
        assert memory.keep_latch(sup) is True
    assert not sup.latch_changed
    assert board.kept("latch")["first_out"] == "program-fault"


@pytest.mark.parametrize("is_open", [0, 1])
def test_memory_mark_counts_only_once_it_is_stored(is_open):
    board = used(session={"open": 1 - is_open, "planned": 0})
    with board as memory:
        memory.session_open = 1 - is_open
        board.fs.refuse(ENOSPC, times=9)
        assert memory.mark_session(is_open) is False
        assert memory.session_open == 1 - is_open
        board.fs.refuse(ENOSPC, times=0)
        assert memory.mark_session(is_open) is True
        assert memory.session_open == is_open
    assert board.kept("session") == {"open": is_open, "planned": 0}


def test_memory_log_line_that_is_refused_is_counted_and_raises_nothing():
    board = used()
    with board as memory:
        board.fs.refuse(EIO, times=9)
        memory.log("one")
        assert memory.failed == 1
        board.fs.refuse(EIO, times=0)
        memory.log("two")
        memory.log("three")
        assert memory.failed == 1
        assert [memory.log_line(n) for n in range(3)] == ["two", "three", None]


# --- planned resets --------------------------------------------------------------------------------


def test_memory_maintenance_is_a_flag_and_a_mark_for_one_reset():
    board = used(session={"open": 1, "planned": 0})
    with board as memory:
        assert memory.maintenance() is False
        memory.session_open = 1
        assert memory.flag_maintenance() is True
        assert memory.maintenance() is True
        assert (memory.session_open, memory.failed) == (0, 0)
    assert board.fs.files["maintenance"] == b"1"
    assert board.kept("session") == {"open": 0, "planned": 1}


@pytest.mark.parametrize("after", [0, 3])
def test_memory_maintenance_that_cannot_be_stored_is_refused(after):
    board = used()
    with board as memory:
        board.fs.refuse(ENOSPC, times=20, after=after)
        assert memory.flag_maintenance() is False
        assert memory.failed == 1
    assert board.kept("session") == {"open": 0, "planned": 0}


@pytest.mark.parametrize(
    ("mark", "expected", "after"),
    [
        ({"open": 0, "planned": 0}, True, {"open": 0, "planned": 1}),
        ({"open": 1, "planned": 0}, False, {"open": 1, "planned": 0}),
        ({}, False, {}),
        (["closed"], False, ["closed"]),
    ],
)
def test_memory_load_is_expected_only_where_no_evening_is_marked_as_open(mark, expected, after):
    board = used(session=mark)
    with board as memory:
        assert memory.expect_reset() is expected
    assert board.kept("session") == after


def test_memory_load_onto_a_board_that_never_ran_writes_nothing():
    board = Board()
    with board as memory:
        assert memory.expect_reset() is True
    assert board.fs.files == {}


def test_memory_load_over_a_mark_that_cannot_be_read_or_written_is_refused():
    board = used()
    with board as memory:
        board.fs.refuse(ENOSPC, times=9)
        assert memory.expect_reset() is False
    board.fs.refuse(ENOSPC, times=0)
    board.spoil("session")
    with board as memory:
        assert memory.expect_reset() is False


def test_memory_commissioning_is_what_was_stored_and_none_where_it_is_damaged():
    record = {"release_c": 480, "fingerprint": "00000000"}
    board = used(commission=record)
    with board as memory:
        assert memory.commissioning() == json.loads(json.dumps(record))
    board.spoil("commission")
    with board as memory:
        assert memory.commissioning() is None
    with used() as memory:
        assert memory.commissioning() is None
