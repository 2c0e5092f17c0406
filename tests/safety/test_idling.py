"""Thirty days of doing nothing change nothing: ages saturate, the tick counter wraps, the evening is as the first."""

from safety_bench import CAP_MS, TICK_MS, Bench, L, Pins, load

from host import oven
from host.simulator.rehearsal import Rehearsal

MONTH_MS = 30 * 24 * 3_600_000


def integers(thing):
    """Every integer of an object."""
    return {name: value for name, value in vars(thing).items() if isinstance(value, int)}


def test_supervisor_after_thirty_days_of_idling_judges_as_on_the_first_day():
    bench = Bench()
    bench.end_session()
    bench.tick(ticks=10)
    sup = bench.sup
    parts = (sup, sup.runaway, sup.attendance, sup.wiring_rules.top, sup.no_rise, sup.fell)
    before = [integers(part) for part in parts]
    # The ages that still grow while idling are put where thirty days leave them: at their end.
    for part in parts:
        for name, value in integers(part).items():
            if name.endswith("_ms") and value and name not in ("attend_ms", "soon_ms", "session_max_ms"):
                setattr(part, name, CAP_MS)
    bench.tick(ticks=10_000)
    for part, values in zip(parts, before, strict=True):
        for name, value in integers(part).items():
            assert abs(value) < 1 << 30
            if name not in ("_serial_seen", "latch_changed") and not name.endswith("_ms"):
                assert value == values[name], name
    assert bench.sup.first_out == L.NONE
    bench.seen.active = bench.seen.session = 1
    assert bench.tick().granted == 1


def test_age_that_saturates_needs_less_than_thirty_days_and_never_passes_its_end():
    aged = load("integers").aged
    assert MONTH_MS > CAP_MS
    age_ms = CAP_MS - 3 * TICK_MS
    for _ in range(10):
        age_ms = aged(age_ms, TICK_MS)
    assert age_ms == CAP_MS


def test_heater_after_thirty_days_of_idling_drives_as_on_the_first_day():
    first, later = Pins(), Pins()
    later.drive(0, 0, granted=0, contactor=0)
    for part in (later.heater, later.heater.top, later.heater.deck):
        for name, value in integers(part).items():
            if name in ("contactor_ms", "since_ms"):
                setattr(part, name, min(CAP_MS, value + MONTH_MS))
    assert [first.drive(400, 600) for _ in range(80)] == [later.drive(400, 600) for _ in range(80)]


def test_board_that_idles_over_the_wrap_of_its_tick_counter_notices_nothing():
    # the simulated counter starts 30 s before its wrap
    board = Rehearsal(plant=oven.preset("standard", 1), board="boards/pico.py")
    for _ in range(45):
        board.advance(1)
        status = board.send("status")
        assert "state=idle" in status and "trip=none" in status and "contactor=0" in status
    assert board.send("start") == "~ok"
    board.advance(5)
    assert "state=running" in board.send("status")
    board.close()
