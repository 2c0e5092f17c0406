"""What a stored record releases: bound to board, map, probes and limit; nothing above what its steps have earned."""

import types

import pytest

from host.pins import pin_map
from host.shim.loader import World
from host.shim.port import Port


class Nothing:
    rx, orders = bytearray(), []

    def advance(self, dt_us, levels, rose=0):
        """Time passes."""

    def level(self, pin):
        """Open."""

    def selects(self, bus):
        """No chips."""
        return ()


WORLD = World()
C = WORLD.load("tizzone.commissioning.release")
PORT = Port(Nothing(), "rp2040")


def board(**changes):
    values = vars(pin_map.read("boards/pico.py")) | changes
    return types.SimpleNamespace(**{name: value for name, value in values.items() if value != "gone"})


def done(count):
    return [["MB", "20260105", 0] for _ in range(count)]


def values(**changes):
    return {**WORLD.load("tizzone.memory.settings").defaults(), **changes}


def released(record, pins, **changes):
    with WORLD.running(PORT):
        return C.release(record, pins, values(**changes))


def record(pins, release_c, steps=None, **changes):
    with WORLD.running(PORT):
        return C.record(pins, values(**changes), release_c, steps)


@pytest.mark.parametrize(("count", "release_c"), [(0, 60), (5, 60), (6, 120), (7, 120), (8, 260), (9, 480), (10, 480)])
def test_release_is_earned_by_so_many_steps(count, release_c):
    pins = board()
    assert C.earned_c(count) == release_c
    assert released(record(pins, release_c, done(count)), pins) == (release_c, "")


@pytest.mark.parametrize(("count", "asked_c"), [(5, 120), (7, 260), (8, 480)])
def test_release_above_what_the_steps_have_earned_is_not_understood(count, asked_c):
    pins = board()
    assert released(record(pins, asked_c, done(count)), pins) == (60, "commissioning record not understood")


@pytest.mark.parametrize("stored", [7, [], {}, {"release_c": 100}, {"release_c": 480, "steps": 3},
                                    {"release_c": 60, "steps": [["MB", "x"]]},
                                    {"release_c": 60, "steps": [["MB", "x", 0]] * 11}])  # fmt: skip
def test_release_record_that_makes_no_sense_releases_the_least(stored):
    assert released(stored, board()) == (60, "commissioning record not understood")


def test_release_without_a_record_is_the_least():
    assert released(None, board()) == (60, "not commissioned")


CHANGES = [{"HEAT_TOP": 1},
           {"HEAT_DECK": None}, {"CONTACTOR": 1}, {"CONTACTOR_DRIVE": "pulse"}, {"COOLING_FAN": "gone"},
           {"ENABLE": 1}, {"LIMIT_OK": "gone"}, {"SELECTOR": "gone"}, {"CONTACTOR_OPEN": "gone"},
           {"MAINS_SENSE_TOP": "gone"}, {"MAINS_SENSE_DECK": 1}, {"FAN_OK": 1}, {"DOOR": "gone"}, {"MAINTENANCE": 1},
           {"WATCHDOG_MS": 1}, {"DEADMAN_TIMER": 1}, {"NAME": "other"}, {"MCU": "rp2350"}, {"PROBES": {}}]  # fmt: skip


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: "-".join(change))
def test_release_of_a_map_that_was_changed_since_is_the_least(change):
    kept = record(board(), 480, done(9))
    assert released(kept, board(**change)) == (
        60,
        "board, pin map, probe, limit, correction or zones changed since commissioning",
    )


def test_release_of_another_boards_record_is_the_least():
    pins = board()
    kept = record(pins, 480, done(9))
    machine = WORLD.load("machine")
    real = machine.unique_id
    machine.unique_id = lambda: b"another!"
    try:
        assert released(kept, pins)[0] == 60
    finally:
        machine.unique_id = real
    assert released(kept, pins)[0] == 480


@pytest.mark.parametrize("changes", [{"high_limit_c": 501}, {"exclusive": 1}, {"calibration": {"dome": [[0, 100]]}}])
def test_release_with_another_limit_zones_or_correction_is_the_least(changes):
    pins = board()
    kept = record(pins, 480, done(9))
    assert released(kept, pins, **changes)[0] == 60
    signed = record(pins, 480, done(9), **changes)
    assert released(signed, pins, **changes) == (480, "")
    assert released(signed, pins)[0] == 60


def test_release_with_other_comfort_settings_stands():
    pins = board()
    assert released(record(pins, 480, done(9)), pins, soak_min=3, setpoint_c=200, window_ms=5000) == (480, "")


def test_release_does_not_depend_on_the_order_in_which_a_map_is_written():
    probes = board().PROBES
    kept = record(board(), 480, done(9))
    turned = {name: dict(reversed(list(probes[name].items()))) for name in reversed(list(probes))}
    assert released(kept, board(PROBES=turned))[0] == 480


@pytest.mark.parametrize("stone", [True, False])
def test_release_without_an_independent_limiter_is_120_whatever_the_record_says(stone):
    probes = board().PROBES if stone else {"dome": board().PROBES["dome"]}
    pins = board(LIMIT_OK="gone", PROBES=probes)
    for release_c, steps in ((480, 9), (260, 8)):
        assert released(record(pins, release_c, done(steps)), pins) == (
            120,
            "no independent limiter is wired: nothing above 120 without one",
        )
    assert released(record(pins, 120, done(6)), pins) == (120, "")
    guarded = board(PROBES=probes)
    assert released(record(guarded, 480, done(9)), guarded) == (480, "")
