"""What a board finds of itself at a start is believed or doubted, and never lost."""

import pytest
from memory_bench import LATCH, SETTINGS, WORLD, Board, L, used

# --- settings --------------------------------------------------------------------------------------


def test_memory_of_a_new_board_lays_its_settings_down_and_has_nothing_to_tell():
    board = Board()
    with board as memory:
        assert (memory.faults, memory.failed, memory.session_open, memory.latch_sure, memory.wrote) == ([], 0, 0, 0, 0)
        assert memory.settings() == (SETTINGS.defaults(), False)
    assert board.kept("settings") == {} and memory.faults == []


@pytest.mark.parametrize("other", ["session", "commission"])
@pytest.mark.parametrize("how", ["missing", "damaged"])
def test_memory_settings_lost_on_a_board_that_was_used_are_told_and_never_both_zones_at_once(other, how):
    board = Board(settings={"setpoint_c": 300, "exclusive": 1}, **{other: {"open": 0}})
    (board.lose if how == "missing" else board.spoil)("settings")
    with board as memory:
        values, damaged = memory.settings()
    assert damaged is True
    assert values == SETTINGS.safe() and values["exclusive"] == 1
    assert memory.faults == ["settings " + how + ": safe defaults are in force"]
    assert board.kept("settings") is None  # nobody's choice: not written over what may be read again


def test_memory_damaged_settings_are_damaged_on_a_board_that_never_ran_too():
    board = Board(settings={"setpoint_c": 300})
    board.spoil("settings")
    with board as memory:
        assert memory.settings() == (SETTINGS.safe(), True)


def test_memory_stored_settings_are_taken_one_by_one_and_a_bad_one_is_damage():
    board = used(settings={"setpoint_c": 300, "soak_min": 7})
    with board as memory:
        assert memory.settings() == ({**SETTINGS.defaults(), "setpoint_c": 300, "soak_min": 7}, False)
        assert memory.faults == []
    board.put("settings", {"setpoint_c": 9999, "soak_min": 8})
    with board as memory:
        assert memory.settings() == ({**SETTINGS.defaults(), "soak_min": 8, "exclusive": 1}, True)
        assert memory.faults == ["setting setpoint_c must lie within 30..530"]


def test_memory_keeps_of_the_settings_what_differs_from_the_defaults():
    board = used()
    with board as memory:
        assert memory.keep_settings({**SETTINGS.defaults(), "soak_min": 7, "exclusive": 1}) is True
    assert board.kept("settings") == {"soak_min": 7, "exclusive": 1}


@pytest.mark.parametrize("name", ["settings", "commission"])
def test_memory_one_copy_is_used_told_and_mended(name):
    board = used(**{name: {"soak_min": 6}})
    board.put(name, {"soak_min": 7})
    board.spoil(name, 1)
    with board as memory:
        read = {"settings": lambda: memory.settings()[0]["soak_min"], "commission": lambda: memory.commissioning()}[
            name
        ]
        in_force = read()
        assert in_force in (6, 7, {"soak_min": 6}, {"soak_min": 7})
        assert memory.faults == [name + ": one of two copies was lost, the other one is in force"]
        assert memory.store.load(name)[1] == "ok"
        assert read() == in_force and len(memory.faults) == 1


@pytest.mark.parametrize("name", ["settings", "commission"])
def test_memory_whole_copies_are_not_written_again(name):
    board = used(**{name: {"soak_min": 7}})
    units = board.fs.units
    with board as memory:
        memory.settings()
        memory.commissioning()
        assert (memory.faults, memory.wrote) == ([], 0)
    assert board.fs.units == units


# --- latch -----------------------------------------------------------------------------------------


def test_memory_whole_latch_is_sure_and_is_what_was_stored():
    board = used(latch={**LATCH, "first_out": "probe-open", "tripped": ["probe-open"], "in_a_row": 2})
    sup, memory = board.judged()
    assert (sup.first_out, sup.trips_in_a_row, memory.latch_sure) == (L.PROBE_OPEN, 2, 1)
    sup, memory = used().judged()
    assert (sup.first_out, memory.latch_sure) == (L.NONE, 1)


@pytest.mark.parametrize("other", ["session", "commission"])
def test_memory_latch_lost_on_a_board_that_was_used_is_a_trip_and_stored_as_one(other):
    board = Board(**{other: {"open": 0}})
    sup, memory = board.judged()
    assert (L.CONDITION_NAMES[sup.first_out], memory.latch_sure) == ("latch-doubt", 0)
    assert board.kept("latch")["first_out"] == "latch-doubt"
    assert sup.latch_changed == 0


def test_memory_new_board_lays_its_latch_down():
    board = Board()
    sup, _ = board.judged()
    assert sup.first_out == L.NONE
    assert board.kept("latch")["first_out"] == "none"


@pytest.mark.parametrize("copies", [1, 2])
def test_memory_latch_that_is_not_whole_is_a_trip(copies):
    board = used()
    board.spoil("latch", copies)
    sup, memory = board.judged()
    assert sup.latch_changed  # due to be stored: the next start finds it whole
    assert (L.CONDITION_NAMES[sup.first_out], memory.latch_sure) == ("latch-doubt", 0)


def test_memory_latch_of_one_copy_keeps_the_lockout_and_the_first_trip_that_it_tells():
    board = used(latch={**LATCH, "first_out": "high-limit", "tripped": ["high-limit"], "in_a_row": 3, "locked_out": 1})
    board.spoil("latch", 1)
    sup, memory = board.judged()
    assert (L.CONDITION_NAMES[sup.first_out], sup.locked_out, memory.latch_sure) == ("high-limit", 1, 0)


@pytest.mark.parametrize("nonsense", [["none"], 7, {}, {"first_out": "no such trip"}])
def test_memory_latch_that_is_not_understood_is_a_trip_and_not_sure(nonsense):
    sup, memory = used(latch=nonsense).judged()
    assert sup.first_out != L.NONE and memory.latch_sure == 0


# --- how the last run ended ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mark", "cause", "trip", "after"),
    [
        ({"open": 0, "planned": 0}, "power", "none", {"open": 0, "planned": 0}),
        ({"open": 0, "planned": 0}, "watchdog", "watchdog-reset", {"open": 0, "planned": 0}),
        ({"open": 0}, "watchdog", "watchdog-reset", {"open": 0}),
        ({"open": 1, "planned": 0}, "watchdog", "watchdog-reset", {"open": 1, "planned": 0}),
        ({"open": 1, "planned": 0}, "power", "power-cut", {"open": 1, "planned": 0}),
        ({"planned": 0}, "power", "power-cut", {"planned": 0}),
        ({"open": 0, "planned": 1}, "reset", "none", {"open": 0, "planned": 0}),  # rp2 says watchdog of it too
        ({"open": 0, "planned": 1}, "power", "none", {"open": 0, "planned": 0}),
        ({"open": 1, "planned": 1}, "watchdog", "power-cut", {"open": 1, "planned": 0}),
        (["closed"], "power", "power-cut", ["closed"]),
        (0, "power", "power-cut", 0),
        (["planned"], "watchdog", "watchdog-reset", ["planned"]),
    ],
)
def test_memory_mark_and_the_reason_of_the_start_tell_how_the_last_run_ended(mark, cause, trip, after):
    board = used(session=mark)
    sup, memory = board.judged(cause)
    assert L.CONDITION_NAMES[sup.first_out] == trip
    assert memory.session_open == (0 if isinstance(mark, dict) and mark.get("open") == 0 else 1)
    assert board.kept("session") == after


def test_memory_first_start_lays_a_closed_mark_down_so_that_the_next_hang_is_told():
    board = Board()
    sup, memory = board.judged("watchdog")
    assert (sup.first_out, memory.session_open) == (L.NONE, 0)
    assert board.kept("session") == {"open": 0, "planned": 0}
    assert board.trip("watchdog") == "watchdog-reset"


def test_memory_mark_that_cannot_be_read_counts_as_an_evening_that_was_cut():
    board = used()
    board.spoil("session")
    sup, memory = board.judged()
    assert (L.CONDITION_NAMES[sup.first_out], memory.session_open) == ("power-cut", 1)


@pytest.mark.parametrize("cause", range(6))
def test_memory_port_that_cannot_tell_a_watchdogs_reset_takes_no_start_for_one(cause):
    machine = WORLD.load("machine")
    reset_cause, wdt_reset = machine.reset_cause, machine.WDT_RESET
    del machine.WDT_RESET
    machine.reset_cause = lambda: cause
    try:
        assert used().trip() == "none"
    finally:
        machine.reset_cause, machine.WDT_RESET = reset_cause, wdt_reset
