"""The table of the kitchen's own faults: it watches long enough, and names the hottest phase."""

from types import SimpleNamespace

import pytest

from host.drill import kitchen

NAN = float("nan")


@pytest.fixture
def watched(monkeypatch):
    """[(limiter in °C, seconds watched)] of each case; the case itself ends at `dome_c` without a reason."""
    calls = []

    def look_on(made, faults, promises, phase):
        (promise,) = promises
        calls.append((made.outside.limiter.set_c, promise.watch_s))
        return SimpleNamespace(reason="none", seen_s=NAN, highest_c=look_on.dome_c, peak_c=look_on.dome_c)

    look_on.dome_c = 450.0
    board = SimpleNamespace(outside=SimpleNamespace(limiter=SimpleNamespace(set_c=0.0)))
    monkeypatch.setattr(kitchen.campaign, "warm", lambda oven, wiring: {"cold": board})
    monkeypatch.setattr(kitchen, "watch_until_over", look_on)
    return SimpleNamespace(calls=calls, look_on=look_on)


def test_kitchen_fault_that_shows_nothing_is_watched_for_hours(watched):
    kitchen.hottest_of("cable_short_5", "cold")
    assert watched.calls == [(kitchen.ASIDE_C, 4 * 3600.0)]


def test_kitchen_fault_that_gets_near_the_limiter_is_tried_with_it_at_work_too(watched):
    watched.look_on.dome_c = 600.0
    kitchen.hottest_of("cable_short_5", "cold")
    assert [limiter_c for limiter_c, _ in watched.calls] == [kitchen.ASIDE_C, kitchen.AT_WORK_C]


def test_kitchen_row_names_the_hottest_phase_and_the_worst_with_the_limiter():
    rows = [
        kitchen.Row("cable_short_5", "cold", "none", NAN, 713.2, 520.0, "limiter-open"),
        kitchen.Row("cable_short_5", "setpoint", "reading-wrong", 0.8, 451.0, 451.0, "reading-wrong"),
    ]
    row = kitchen.table(rows).splitlines()[-1]
    assert "| 2 | cold | nothing | - | 713 °C | 520 °C |" in row
