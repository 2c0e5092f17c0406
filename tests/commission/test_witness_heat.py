"""What must never pass for evidence under heat: cutoff, first heat and full heat, to the kelvin and the millisecond."""

import pytest
from looks_bench import App, L, Witness, cutting, look

# --- cutoff --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("top", "deck", "bits"), [(2, 0, 1), (0, 2, 1), (1, 0, 1), (1, -1, 1), (-1, 1, 1), (0, 0, 0), (-1, 0, 0),
                              (0, -1, 0), (-1, -1, 1)]
)  # fmt: skip
def test_cutoff_wants_current_where_any_sensor_could_show_it(top, deck, bits):
    w, app = cutting(top_sense=top, deck_sense=deck)
    assert look("cutoff", w, app).bits == bits


@pytest.mark.parametrize(("top", "deck", "granted", "bits"), [(1, 0, 1, 1), (0, 1, 1, 1), (0, 0, 1, 0), (1, 1, 0, 0)])
def test_cutoff_wants_a_relay_on_and_a_permit(top, deck, granted, bits):
    w, app = cutting()
    app.heater.top.on, app.heater.deck.on, app.supervisor.permit.granted = top, deck, granted
    assert look("cutoff", w, app).bits == bits


@pytest.mark.parametrize(("limit_mc", "bits"), [(34_999, 0), (35_000, 1)])
def test_cutoff_lowers_no_limit_below_the_lowest_that_there_is(limit_mc, bits):
    w, app = cutting(limit_mc)
    look("cutoff", w, app)
    assert (w.bits, w.value_mc) == (bits, limit_mc if bits else 0)
    assert app.limit_mc == (33_000 if bits else None)


def stopped(mirror, current):
    """A cutoff whose heat has stopped in one tick, with contactor and current as they are now."""
    w, app = cutting()
    look("cutoff", w, app)
    app.supervisor.first_out, app.supervisor.permit.granted, app.heater.top.on = L.HIGH_LIMIT, 0, 0
    look("cutoff", w, app)
    app.seen.mirror_open, app.seen.top_sense = mirror, current
    return w, app


@pytest.mark.parametrize(("mirror", "current"), [(0, 0), (1, 2), (1, 1)])
@pytest.mark.parametrize(("ticks", "dt_ms", "fails"), [(3, 333, False), (2, 500, True), (4, 250, True)])
def test_cutoff_gives_contactor_and_current_a_second(mirror, current, ticks, dt_ms, fails):
    w, app = stopped(mirror, current)
    look("cutoff", w, app, ticks, dt_ms)
    assert ("did not fall" in w.fault, w.bits, app.limit_mc) == (fails, 3, 38_000)


@pytest.mark.parametrize("current", [0, -1])
def test_cutoff_contactor_that_opens_after_exactly_a_second_has_fallen(current):
    w, app = stopped(0, current)
    look("cutoff", w, app, 3)
    app.seen.mirror_open, app.seen.deck_sense = 1, current
    look("cutoff", w, app)
    assert (w.bits, w.fault, app.limit_mc) == (7, "", 500_000)


def test_cutoff_that_has_stopped_the_heat_only_waits_for_the_contactor():
    w, app = stopped(0, 2)
    app.limit_mc, app.dome.limit_mc = None, 60_000
    app.heater.top.on = app.supervisor.permit.granted = 1
    look("cutoff", w, app)
    assert (w.bits, app.limit_mc, w.value_mc, w.count_ms) == (3, None, 40_000, 250)


# --- heat ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("step", ["first-heat", "full-heat"])
def test_figure_of_a_heat_is_its_highest_reading(step):
    app, w = App(), Witness()
    for pv_mc in (100_000, 130_000, 120_000):
        app.dome.pv_mc = pv_mc
        look(step, w, app)
    assert w.value_mc == 130_000


@pytest.mark.parametrize(("pv_mc", "last_ms", "bits"), [(110_000, 249, 0), (110_000, 250, 2), (109_999, 250, 0)])
def test_first_heat_burns_off_for_ten_minutes_to_the_millisecond(pv_mc, last_ms, bits):
    app, w = App(), Witness()
    app.dome.pv_mc = pv_mc
    look("first-heat", w, app, 2_399)
    assert look("first-heat", w, app, 1, last_ms).bits == bits


@pytest.mark.parametrize(("last_ms", "bits"), [(249, 0), (250, 1)])
@pytest.mark.parametrize("fallen", [False, True])
def test_full_heat_is_a_minute_to_the_millisecond_and_anew_after_a_fall(last_ms, bits, fallen):
    app, w = App(), Witness()
    if fallen:
        app.dome.pv_mc = 444_999
        look("full-heat", w, app)
    app.dome.pv_mc = 445_000
    look("full-heat", w, app, 239)
    assert look("full-heat", w, app, 1, last_ms).bits == bits


@pytest.mark.parametrize(("pv_mc", "bits"), [(254_999, 0), (255_000, 1)])
def test_full_heat_of_a_board_whose_ceiling_is_lower_reaches_for_that(pv_mc, bits):
    app = App()
    app.supervisor.ceiling_mc, app.dome.pv_mc = 260_000, pv_mc
    assert look("full-heat", Witness(), app, 240).bits == bits
