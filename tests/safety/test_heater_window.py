"""The two zones of a window: shares delivered, minimum times, zones that exclude each other, clock values."""

import pytest
from safety_bench import CAP_MS, TICK_MS, Pins

OFF, CONTACTOR_ONLY, ALL = (0, 0, 0), (0, 0, 1), (1, 1, 1)


def pattern(pins, top_pm, deck_pm, windows=1, **more):
    """On/off of both zones, tick by tick, from a window's start, as two strings."""
    pins.settled()
    ticks = pins.heater.window_ms // TICK_MS * windows
    rows = [pins.drive(top_pm, deck_pm, **more) for _ in range(ticks)]
    return "".join(str(row[0]) for row in rows), "".join(str(row[1]) for row in rows)


def share(text):
    return text.count("1") / len(text)


@pytest.mark.parametrize("asked_pm", [0, 100, 250, 333, 500, 667, 900, 1000])
def test_delivered_share_is_the_asked_one_over_some_windows(asked_pm):
    for top, deck in ((asked_pm, 0), (0, asked_pm), (asked_pm, asked_pm)):
        shares = pattern(Pins(), top, deck, windows=12)
        for text, pm in zip(shares, (top, deck), strict=True):
            assert abs(share(text) - pm / 1000) < 0.013, (top, deck)


def test_top_is_on_from_the_start_and_deck_up_to_the_end():
    top, deck = pattern(Pins(), 500, 500)
    assert top == "1" * 20 + "0" * 20
    assert deck == "0" * 20 + "1" * 20


@pytest.mark.parametrize(("min_ms", "ticks"), [(250, 1), (500, 2), (1_000, 4)])
def test_no_relay_is_on_or_off_for_less_than_its_minimum_time(min_ms, ticks):
    for pm in (10, 30, 60, 120, 500, 880, 940, 970, 990):
        for text in pattern(Pins(min_ms=min_ms), pm, pm, windows=10):
            runs = [run for run in text.replace("01", "0 1").replace("10", "1 0").split()][1:-1]
            assert all(len(run) >= ticks for run in runs), (pm, text)


def test_small_share_is_carried_until_it_makes_a_minimum_time():
    top, deck = pattern(Pins(min_ms=1_000), 20, 20, windows=20)
    for text in (top, deck):
        assert text.count("1") == pytest.approx(0.02 * len(text), abs=4)
        assert "0" * 40 in text


def test_demand_for_nothing_is_off_at_once():
    pins = Pins(min_ms=30_000).settled()
    assert pins.drive(1000, 1000) == ALL
    assert pins.drive(0, 1000) == (0, 1, 1)
    assert pins.drive(0, 0) == CONTACTOR_ONLY


def test_demand_for_everything_is_on_at_once_even_where_the_window_has_had_its_share():
    pins = Pins().settled()
    for _ in range(20):
        pins.drive(200, 200)
    assert (pins.heater.top.closed, pins.heater.top.on) == (1, 0)
    assert pins.drive(1000, 1000) == ALL


def test_relay_that_has_just_gone_off_waits_its_minimum_time():
    pins = Pins(min_ms=1_000).settled()
    pins.drive(1000, 1000)
    pins.drive(0, 0)
    assert [pins.drive(1000, 1000)[:2] for _ in range(4)] == [(0, 0)] * 3 + [(1, 1)]


def test_time_off_counts_while_heat_is_not_granted():
    pins = Pins(min_ms=1_000).settled()
    pins.drive(1000, 1000)
    for _ in range(4):
        pins.drive(granted=0)
    assert pins.drive() == ALL


def test_denied_heat_is_not_owed_afterwards():
    pins = Pins().settled()
    pins.drive(500, 500)
    for _ in range(40):
        pins.drive(500, 500, granted=0)
    assert (pins.heater.top.debt, pins.heater.deck.debt) == (0, 0)
    top, deck = pattern(pins, 500, 500)
    assert (top.count("1"), deck.count("1")) == (20, 20)
    pins.heater.top.debt = pins.heater.deck.debt = 99
    pins.drive(500, 500, contactor=0)
    assert (pins.heater.top.debt, pins.heater.deck.debt) == (0, 0)
    pins.heater.top.debt = pins.heater.deck.debt = 99
    pins.drive(500, 500, tripped=1)
    assert (pins.heater.top.debt, pins.heater.deck.debt, pins.heater.elapsed_ms) == (0, 0, 10_000)


@pytest.mark.parametrize(("asked_pm", "on"), [(-1, 0), (-5_000, 0), (1_001, 1), (9_999, 1)])
def test_shares_out_of_range_are_held_within_it(asked_pm, on):
    top, deck = pattern(Pins(), asked_pm, asked_pm, windows=2)
    assert set(top) == set(deck) == {str(on)}


def test_zones_that_exclude_each_other_are_never_on_together():
    for pair in ((1000, 1000), (700, 700), (600, 400), (400, 600), (900, 300), (300, 900), (500, 500)):
        pins = Pins(exclusive=1)
        top, deck = pattern(pins, *pair, windows=12)
        assert not any(a == b == "1" for a, b in zip(top, deck, strict=True)), pair
        total = max(1000, sum(pair))
        assert share(top) == pytest.approx(pair[0] / total, abs=0.02), pair
        assert share(deck) == pytest.approx(pair[1] / total, abs=0.06), pair


def test_zones_that_exclude_each_other_switch_off_before_on():
    pins = Pins(exclusive=1).settled()
    for _ in range(400):
        pins.drive(500, 500)
    changes = sorted(pins.port.history(10) + pins.port.history(11), key=lambda change: change[0])
    levels = {10: 0, 11: 0}
    log = [entry for entry in pins.port.log[: pins.port.log_count]]
    for entry in log:
        number, level = entry >> 1 & 63, entry & 1
        if number in levels:
            levels[number] = level
            assert levels[10] + levels[11] <= 1
    assert len(changes) > 20


@pytest.mark.parametrize("dt_ms", [-(2**29), -1, 501, 2**29])
def test_no_clock_value_moves_an_age_beyond_two_periods(dt_ms):
    pins = Pins()
    pins.drive(granted=0)
    pins.heater.top.since_ms = pins.heater.deck.since_ms = 0
    pins.drive(granted=0, dt_ms=dt_ms)
    heater = pins.heater
    assert (heater.contactor_ms, heater.top.since_ms, heater.deck.since_ms) == (500, 500, 500)
    for accepted in (0, 1, 500):
        heater.contactor_ms = 0
        pins.drive(granted=0, dt_ms=accepted)
        assert heater.contactor_ms == accepted


def test_ages_saturate():
    pins = Pins()
    pins.drive(granted=0)
    heater = pins.heater
    heater.contactor_ms = heater.top.since_ms = heater.deck.since_ms = CAP_MS
    pins.drive(granted=0)
    assert (heater.contactor_ms, heater.top.since_ms, heater.deck.since_ms) == (CAP_MS,) * 3


def test_switchings_are_counted_once_per_closing():
    pins = Pins().settled()
    for on in (1, 1, 0, 1, 1, 0, 0):
        pins.drive(granted=on)
    assert (pins.heater.top.switchings, pins.heater.deck.switchings, pins.heater.contactor_switchings) == (2, 2, 1)
    assert pins.heater.top.since_ms == 250


def ints(thing):
    return {name: value for name, value in vars(thing).items() if isinstance(value, (int, str))}


def test_new_heater_and_zones_have_nothing_on_nothing_owed():
    heater = Pins().heater
    assert ints(heater) == {
        "pulse_drive": False, "window_ms": 10_000, "min_ms": 500, "exclusive": 0, "elapsed_ms": 0, "contactor_on": 0,
        "contactor_ms": 0, "contactor_switchings": 0, "fan_on": 1, "proof_step": 0, "deadman_fired": 0, "missed": 0,
        "deadman_hard": 0, "_armed": 0, "_silent": 0, "_soft_only": False, "_serial": -1, "_timer_id": -1,
    }  # fmt: skip
    for zone, from_start in ((heater.top, 1), (heater.deck, 0)):
        assert ints(zone) == {
            "from_start": from_start, "on": 0, "want_pm": 0, "debt": 0, "switchings": 0, "since_ms": CAP_MS,
            "closed": 0,
        }  # fmt: skip
    assert Pins(pulse=True).heater.pulse_drive is True


def test_answers_are_numbers_that_a_record_can_hold():
    pins = Pins()
    with pins:
        heater = pins.heater
        assert [heater.follows(), heater.take_deadman(), heater.prove(pins.allow(), TICK_MS)] == [1, 0, 0]
        heater.run_fan(0)
        assert heater.fan_on == 0
        heater.run_fan(1)
        assert heater.fan_on == 1
