"""The arithmetic of a window, value by value: what is owed, and whether a zone is on in the coming tick."""

import pytest
from safety_bench import TICK_MS, L, Pins, load

WINDOW_MS, MIN_MS = 10_000, 500
HALF = L.PERIOD_MS // 2


def test_figures_of_the_window_are_those_of_the_tick():
    assert (load("board_io.heater").FULL, load("board_io.heater")._HALF_TICK_MS) == (1000, HALF)


def zone_at(zone="top", on=0, elapsed_ms=0, **more):
    """(heater, zone) at a moment of the window."""
    heater = Pins().heater
    heater.elapsed_ms = elapsed_ms
    got = getattr(heater, zone)
    got.on = on
    for name, value in more.items():
        setattr(got, name, value)
    return heater, got


# --- what is owed ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("debt", "want_pm", "on", "owed"),
    [
        (0, 300, 0, 75_000), (0, 300, 1, -175_000), (10, 0, 0, 10), (10, 1000, 1, 10), (0, 0, 1, -250_000),
        (5_000_000, 1, 0, 5_000_000), (4_999_749, 1, 0, 4_999_999), (4_999_751, 1, 0, 5_000_000),
        (-5_000_000, 999, 1, -5_000_000), (-4_999_749, 999, 1, -4_999_999), (-4_999_751, 999, 1, -5_000_000),
    ],
)  # fmt: skip
def test_debt_grows_by_what_was_asked_less_what_was_delivered_within_half_a_window(debt, want_pm, on, owed):
    heater, zone = zone_at(on=on, debt=debt, want_pm=want_pm)
    heater._account(zone, 0, TICK_MS)
    assert zone.debt == owed


@pytest.mark.parametrize(
    ("asked_pm", "want_pm"),
    [(-1000, 0), (-1, 0), (0, 0), (1, 1), (999, 999), (1000, 1000), (1001, 1000), (5000, 1000)],
)
def test_asked_share_is_held_within_nothing_and_full(asked_pm, want_pm):
    heater, zone = zone_at()
    heater._account(zone, asked_pm, TICK_MS)
    assert zone.want_pm == want_pm


# --- top: from the start -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "closed", "owed_ms", "left_ms", "goes_on", "closes"),
    [
        (0, 1, 5_000, 10_000, 0, 1),
        (0, 0, 499, 10_000, 0, 1), (0, 0, 500, 10_000, 1, 0), (0, 0, 501, 10_000, 1, 0),
        (1, 0, HALF - 1, 10_000, 0, 1), (1, 0, HALF, 10_000, 1, 0), (1, 0, HALF + 1, 10_000, 1, 0),
        (1, 0, 0, 499, 1, 0), (1, 0, 0, 500, 0, 1), (1, 0, -100, 400, 0, 1), (1, 0, -100, 399, 1, 0),
        (1, 0, 100, 599, 1, 0), (1, 0, 100, 600, 0, 1),
    ],
)  # fmt: skip
def test_top_is_on_until_what_is_owed_is_delivered_or_the_gap_would_be_too_short(
    on, closed, owed_ms, left_ms, goes_on, closes
):
    heater, zone = zone_at(on=on, closed=closed)
    assert heater._from_start(zone, owed_ms, left_ms) == goes_on
    assert zone.closed == closes


# --- deck: up to the end -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "elapsed_ms", "owed_ms", "left_ms", "goes_on"),
    [
        (0, 5_000, 4_875, 5_000, 1), (0, 5_000, 4_874, 5_000, 0), (0, 5_000, 4_876, 5_000, 1),
        (0, 9_500, 499, 500, 0), (0, 9_500, 500, 500, 1), (0, 9_500, 501, 500, 1),
        (1, 5_000, HALF, 5_000, 1), (1, 5_000, HALF - 1, 5_000, 0), (1, 5_000, HALF + 1, 5_000, 1),
        (1, 9_000, 0, 1_000, 1), (1, 8_999, 0, 1_001, 0), (1, 9_001, 0, 999, 1),
        (1, 0, HALF, 10_000, 0), (1, 1, HALF, 9_999, 1), (1, 0, 9_875, 10_000, 1),
    ],
)  # fmt: skip
def test_deck_is_on_from_the_moment_when_what_is_owed_fills_the_rest(on, elapsed_ms, owed_ms, left_ms, goes_on):
    heater, zone = zone_at("deck", on=on, elapsed_ms=elapsed_ms)
    assert heater._to_end(zone, owed_ms, left_ms) == goes_on


# --- the whole window -----------------------------------------------------------------------------------------


def test_window_ends_at_its_length_and_begins_at_nought():
    pins = Pins().settled()
    pins.drive(300, 300)
    assert pins.heater.elapsed_ms == 0
    for n in range(1, WINDOW_MS // TICK_MS):
        pins.drive(300, 300)
        assert pins.heater.elapsed_ms == n * TICK_MS
    assert pins.heater.top.closed == 1
    pins.drive(300, 300)
    assert (pins.heater.elapsed_ms, pins.heater.top.closed, pins.heater.top.on) == (0, 0, 1)


@pytest.mark.parametrize(
    ("asked", "in_force"),
    [
        ((300, 300), (300, 300)), ((0, 0), (0, 0)), ((500, 500), (500, 500)), ((600, 401), (599, 401)),
        ((1000, 1000), (500, 500)), ((900, 300), (750, 250)), ((1000, 0), (1000, 0)),
    ],
)  # fmt: skip
def test_shares_that_the_circuit_cannot_carry_are_scaled_down_together(asked, in_force):
    pins = Pins(exclusive=1).settled()
    pins.drive(*asked)
    assert (pins.heater.top.want_pm, pins.heater.deck.want_pm) == in_force
    pins = Pins(exclusive=0).settled()
    pins.drive(*asked)
    assert (pins.heater.top.want_pm, pins.heater.deck.want_pm) == asked


def test_deck_held_on_by_its_minimum_time_gives_way_to_the_top():
    pins = Pins(exclusive=1).settled()
    with pins:
        pins.heater.deck.set(1)
    pins.heater.deck.since_ms = 0
    assert pins.drive(500, 500) == (1, 0, 1)
    pins = Pins(exclusive=0).settled()
    with pins:
        pins.heater.deck.set(1)
    pins.heater.deck.since_ms = 0
    assert pins.drive(500, 500) == (1, 1, 1)
