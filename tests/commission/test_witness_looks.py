"""What each measured step looks at, tick by tick: edges of temperature and time, and every reason to fail."""

import pytest
from looks_bench import App, L, Witness, cutting, look

# --- dead ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"top_sense": 2}, "current flows"),
        ({"deck_sense": 1}, "current flows"),
        ({"mirror_open": 0}, "contactor is closed"),
        ({"readback_ok": 0}, "does not follow"),
        ({"session": 1}, "heat was asked for"),
        ({"top_sense": -1, "deck_sense": -1, "mirror_open": -1}, ""),
    ],
)
def test_dead_anything_live_fails_it(changes, word):
    app = App(**{"session": 0, **changes})
    w = look("dead", Witness(), app)
    assert (word in w.fault) if word else w.fault == ""


def test_dead_a_board_that_has_heated_fails_it():
    w = Witness()
    w.heated = 1
    assert "heat was asked for" in look("dead", w, App(session=0)).fault


@pytest.mark.parametrize(("rise_mk", "bits"), [(2_999, 0), (3_000, 1)])
def test_dead_dome_warmed_by_a_hand_is_seen_from_three_kelvin(rise_mk, bits):
    app = App(session=0)
    app.dome.pv_mc += rise_mk
    w = look("dead", Witness(), app)
    assert (w.bits, w.fault) == (bits, "")


@pytest.mark.parametrize(("stone_mk", "bits", "word"), [(1_999, 1, ""), (2_000, 0, ""), (3_000, 0, "swapped")])
def test_dead_stone_that_warms_with_or_before_the_dome_is_no_proof(stone_mk, bits, word):
    app = App(session=0)
    app.dome.pv_mc += 3_000
    app.stone.pv_mc += stone_mk
    w = look("dead", Witness(), app)
    assert w.bits == bits and word in w.fault


@pytest.mark.parametrize("name", ["dome", "stone"])
def test_dead_reading_that_falls_is_a_reversed_couple(name):
    app = App(session=0)
    getattr(app, name).pv_mc -= 3_000
    assert "reversed" in look("dead", Witness(), app).fault


# --- limiter, first heat, full heat --------------------------------------------------------------------


@pytest.mark.parametrize(("dome_mc", "bits"), [(99_999, 0), (100_000, 1), (120_000, 1)])
def test_limiter_counts_only_when_heat_has_opened_it(dome_mc, bits):
    app, w = App(), Witness()
    app.dome.pv_mc = dome_mc
    app.seen.mirror_open = 0
    look("limiter", w, app)
    w.was_closed = 1
    app.seen.limit_ok, app.seen.mirror_open = 0, 1
    look("limiter", w, app)
    assert w.bits == bits
    if bits:
        assert w.value_mc == dome_mc
        app.seen.limit_ok = 1
        assert look("limiter", w, app).bits == 3


def test_limiter_that_the_board_only_hears_of_is_no_proof():
    app, w = App(), Witness()
    app.dome.pv_mc = 120_000
    w.was_closed = 1
    app.seen.limit_ok, app.seen.mirror_open = 0, 0  # the contactor stays closed: it does not break the coil
    look("limiter", w, app)
    assert w.bits == 0
    look("limiter", w, app, ticks=4)
    assert "did not fall" in w.fault


def test_limiter_a_reading_that_is_not_usable_proves_nothing():
    app, w = App(), Witness()
    app.dome.pv_mc, app.dome.usable = 120_000, False
    w.was_closed = 1
    app.seen.limit_ok = 0
    assert look("limiter", w, app).bits == 0


@pytest.mark.parametrize(("pv_mc", "ticks", "bits"), [(114_999, 3000, 2), (115_000, 2399, 1), (115_000, 2400, 3),
                                                     (109_999, 3000, 0)])  # fmt: skip
def test_first_heat_reaches_its_release_and_burns_off_for_ten_minutes(pv_mc, ticks, bits):
    app = App()
    app.dome.pv_mc = pv_mc
    w = look("first-heat", Witness(), app, ticks)
    assert w.bits == bits
    assert w.value_mc == pv_mc


@pytest.mark.parametrize(("pv_mc", "ticks", "bits"), [(444_999, 500, 0), (445_000, 239, 0), (445_000, 240, 1)])
def test_full_heat_holds_its_goal_for_a_minute(pv_mc, ticks, bits):
    app = App()
    app.dome.pv_mc = pv_mc
    assert look("full-heat", Witness(), app, ticks).bits == bits


def test_full_heat_counts_anew_after_a_fall():
    app, w = App(), Witness()
    app.dome.pv_mc = 445_000
    look("full-heat", w, app, 200)
    app.dome.pv_mc = 440_000
    look("full-heat", w, app)
    app.dome.pv_mc = 445_000
    assert look("full-heat", w, app, 239).bits == 0


@pytest.mark.parametrize("step", ["first-heat", "full-heat"])
@pytest.mark.parametrize("lacking", ["session", "usable"])
def test_heat_without_a_session_or_a_usable_reading_proves_nothing(step, lacking):
    app = App(session=0 if lacking == "session" else 1)
    app.dome.pv_mc, app.dome.usable = 470_000, lacking != "usable"
    assert look(step, Witness(), app, 3000).bits == 0


@pytest.mark.parametrize(
    ("step", "own"), [("lamp", None), ("transfer", None), ("cutoff", L.HIGH_LIMIT), ("first-heat", None),
                      ("limiter", L.LIMITER_OPEN), ("full-heat", None)]
)  # fmt: skip
def test_a_trip_that_the_step_did_not_ask_for_ends_it(step, own):
    for trip in (L.HIGH_LIMIT, L.LIMITER_OPEN, L.NO_RISE):
        app, w = App(), Witness()
        app.supervisor.first_out = trip
        look(step, w, app)
        assert (w.fault == "") is (trip == own), (step, trip)


# --- transfer ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("contact", "bit"), [("selector_ours", 1), ("enable", 2)])
def test_transfer_contact_that_opens_the_contactor_in_the_same_tick_is_seen(contact, bit):
    app, w = App(), Witness()
    w.was_closed = 1
    setattr(app.seen, contact, 0)
    assert look("transfer", w, app).bits & 3 == bit


def test_transfer_heat_pins_still_on_are_no_proof():
    app, w = App(), Witness()
    w.was_closed = 1
    app.seen.enable = 0
    app.heater.deck.on = 1
    assert look("transfer", w, app).bits & 3 == 0


def test_transfer_fan_turns_in_an_evening_and_rests_afterwards():
    app, w = App(), Witness()
    assert look("transfer", w, app).bits & 12 == 4
    app.seen.fan_on = app.seen.fan_ok = 0
    assert look("transfer", w, app).bits & 12 == 12


def test_transfer_fan_that_never_rests_fails_after_a_minute():
    app, w = App(), Witness()
    look("transfer", w, app)
    app.seen.fan_on = 0
    look("transfer", w, app, 239)
    assert w.fault == ""
    assert "still turns" in look("transfer", w, app).fault


# --- lamp, cutoff ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("sense", "seen"), [(2, 1), (1, 0), (0, 0), (-1, 0)])
def test_lamp_each_zone_shows_its_full_current(sense, seen):
    app = App(top_on=1, top_sense=sense, deck_on=0)
    assert look("lamp", Witness(), app).bits & 1 == seen
    app = App(deck_on=1, deck_sense=sense, top_on=0)
    assert look("lamp", Witness(), app).bits >> 1 & 1 == seen


@pytest.mark.parametrize(("rise_mk", "bit"), [(4_999, 0), (5_000, 4)])
def test_lamp_the_reading_rises_by_five_kelvin(rise_mk, bit):
    app = App()
    app.dome.pv_mc += rise_mk
    assert look("lamp", Witness(), app).bits == bit


@pytest.mark.parametrize(
    ("changes", "bits"),
    [({}, 1), ({"dome_mc": 34_999}, 0), ({"was_closed": 0}, 0), ({"cut_asked": 0}, 0), ({"top_sense": 0}, 0)],
)
def test_cutoff_lowers_the_limit_only_under_real_heat_above_35_degrees(changes, bits):
    w, app = cutting(**changes)
    look("cutoff", w, app)
    assert w.bits == bits
    assert app.limit_mc == (38_000 if bits else None)


@pytest.mark.parametrize("late", ["permit", "pin", "follow", "trip", ""])
def test_cutoff_heat_in_the_next_tick_fails_it(late):
    w, app = cutting()
    look("cutoff", w, app)
    sup = app.supervisor
    sup.first_out = L.NONE if late == "trip" else L.HIGH_LIMIT
    sup.permit.granted = 1 if late == "permit" else 0
    app.heater.top.on = 1 if late == "pin" else 0
    app.heater.follows = (lambda: 0) if late == "follow" else (lambda: 1)
    look("cutoff", w, app)
    assert ("did not stop in one tick" in w.fault) is bool(late)
    assert (w.bits == 3) is not bool(late)


@pytest.mark.parametrize(("mirror", "current", "ticks", "falls"), [(1, 0, 1, True), (0, 0, 4, False), (1, 2, 4, False)])
def test_cutoff_contactor_open_and_no_current_within_a_second(mirror, current, ticks, falls):
    w, app = cutting()
    look("cutoff", w, app)
    app.supervisor.first_out, app.supervisor.permit.granted, app.heater.top.on = L.HIGH_LIMIT, 0, 0
    look("cutoff", w, app)
    app.seen.mirror_open, app.seen.top_sense = mirror, current
    look("cutoff", w, app, ticks)
    assert (w.bits == 7, "did not fall" in w.fault) == (falls, not falls)
    assert app.limit_mc == (500_000 if falls else 38_000)
