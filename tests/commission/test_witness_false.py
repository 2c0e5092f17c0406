"""What must never pass for evidence: other causes, late contacts, readings that are not believed, a tick too few."""

import pytest
from looks_bench import App, L, Witness, look

# --- a trip that was not asked for -------------------------------------------------------------------


def shown(step):
    """(w, app) with everything before the board's eyes that this step looks for."""
    app, w = App(top_on=1, deck_on=1, top_sense=2, deck_sense=2), Witness()
    app.dome.pv_mc = app.dome.limit_mc = 470_000
    app.heater.top.on = app.supervisor.permit.granted = w.was_closed = w.cut_asked = 1
    if step in ("transfer", "limiter"):
        app.heater.top.on = app.seen.enable = app.seen.limit_ok = 0
    if step == "limiter":
        w.bits = 1
        app.seen.limit_ok = 1
    if step in ("first-heat", "full-heat"):
        w.count_ms = 10**6
    return w, app


@pytest.mark.parametrize("step", ["lamp", "transfer", "cutoff", "first-heat", "limiter", "full-heat"])
def test_step_that_a_trip_has_ended_takes_no_evidence_from_that_tick(step):
    w, app = shown(step)
    before = w.bits
    app.supervisor.first_out = L.NO_RISE
    look(step, w, app)
    assert w.fault == "trip no-rise"
    assert (w.bits, w.value_mc, app.limit_mc) == (before, 0, None)
    w, app = shown(step)
    look(step, w, app)
    assert w.bits != before  # and it would have been evidence


# --- dead --------------------------------------------------------------------------------------------


def dead(**changes):
    return App(session=0, **changes)


@pytest.mark.parametrize(
    ("heated", "changes", "word"),
    [(1, {"top_sense": 1, "readback_ok": 0}, "heat was asked for"), (0, {"top_sense": 1, "readback_ok": 0}, "current"),
     (0, {"readback_ok": 0}, "does not follow")],
)  # fmt: skip
def test_dead_the_first_reason_to_fail_is_the_one_that_is_told(heated, changes, word):
    app, w = dead(**changes), Witness()
    w.heated = heated
    app.dome.pv_mc -= 5_000
    assert word in look("dead", w, app).fault


@pytest.mark.parametrize("name", ["dome", "stone"])
@pytest.mark.parametrize("rise_mk", [3_000, -3_000])
def test_dead_a_reading_that_is_not_believed_neither_proves_nor_fails(name, rise_mk):
    app = dead()
    app.dome.pv_mc += rise_mk
    getattr(app, name).usable = False
    w = look("dead", Witness(), app)
    assert (w.bits, w.fault) == (0, "")


def test_dead_board_without_a_stone_probe_proves_its_dome_alone():
    app, w = dead(), Witness()
    app.stone = None
    app.dome.pv_mc += 3_000
    assert (look("dead", w, app).bits, w.fault, w.value_mc) == (1, "", 3_000)
    app.dome.pv_mc -= 6_000
    assert "fell" in look("dead", Witness(), app).fault


@pytest.mark.parametrize("name", ["dome", "stone"])
def test_dead_a_fall_of_less_than_three_kelvin_is_none(name):
    app = dead()
    getattr(app, name).pv_mc -= 2_999
    assert look("dead", Witness(), app).fault == ""


@pytest.mark.parametrize(("stone_mk", "swapped"), [(2_999, False), (3_000, True)])
def test_dead_stone_that_rises_alone_is_a_swap_from_three_kelvin(stone_mk, swapped):
    app = dead()
    app.stone.pv_mc += stone_mk
    w = look("dead", Witness(), app)
    assert ("swapped" in w.fault, w.bits) == (swapped, 0)


@pytest.mark.parametrize(("stone_mk", "bits"), [(2_000, 1), (2_999, 1), (3_000, 3)])
def test_dead_stone_is_warmed_after_the_dome(stone_mk, bits):
    app, w = dead(), Witness()
    app.dome.pv_mc += 4_000
    assert (look("dead", w, app).bits, w.value_mc) == (1, 4_000)
    app.stone.pv_mc += stone_mk
    assert (look("dead", w, app).bits, w.fault, w.value_mc) == (bits, "", 4_000)


# --- lamp --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("zone", ["top", "deck"])
def test_lamp_current_that_nobody_asked_for_proves_no_relay(zone):
    app = App(**{zone + "_sense": 2})
    assert look("lamp", Witness(), app).bits == 0


@pytest.mark.parametrize(("session", "usable", "bits"), [(1, True, 4), (0, True, 0), (1, False, 0)])
def test_lamp_a_rise_counts_in_an_evening_and_from_a_reading_that_is_believed(session, usable, bits):
    app, w = App(session=session), Witness()
    app.dome.pv_mc, app.dome.usable = 30_000, usable
    assert (look("lamp", w, app).bits, w.value_mc) == (bits, 30_000 if bits else 0)


# --- a contact that opens the contactor ----------------------------------------------------------------


def losing(contact):
    """(w, app, step) with the contactor closed at the last tick and this contact now open."""
    app, w = App(), Witness()
    app.dome.pv_mc, w.was_closed = 120_000, 1
    setattr(app.seen, contact, 0)
    return w, app, "limiter" if contact == "limit_ok" else "transfer"


CONTACTS = {"selector_ours": 1, "enable": 2, "limit_ok": 1}
EACH = pytest.mark.parametrize("contact", CONTACTS)


@EACH
def test_contactor_that_was_open_already_proves_nothing_and_no_time_runs(contact):
    w, app, step = losing(contact)
    w.was_closed = 0
    look(step, w, app, 8)
    app.seen.mirror_open = 0
    look(step, w, app, 8)
    assert (w.bits & 3, w.fault, w.lost_ms) == (0, "", -1)


@EACH
@pytest.mark.parametrize("zone", ["top", "deck"])
def test_contactor_that_opens_under_heat_was_not_opened_by_the_contact_alone(contact, zone):
    w, app, step = losing(contact)
    getattr(app.heater, zone).on = 1
    assert look(step, w, app).bits & 3 == 0


@EACH
def test_contactor_that_opens_a_tick_later_may_be_the_programs_and_the_act_is_repeated(contact):
    w, app, step = losing(contact)
    app.seen.mirror_open = 0
    look(step, w, app)
    app.seen.mirror_open = 1
    look(step, w, app, 8)
    assert (w.bits & 3, w.fault) == (0, "")
    setattr(app.seen, contact, 1)  # made again, and the contactor closes
    app.seen.mirror_open = 0
    look(step, w, app, 4)
    assert (w.bits & 3, w.fault) == (0, "")
    setattr(app.seen, contact, 0)
    app.seen.mirror_open = 1
    assert look(step, w, app).bits & 3 == CONTACTS[contact]


@EACH
@pytest.mark.parametrize(
    ("ticks", "dt_ms", "fails"), [(3, 333, False), (2, 500, True), (4, 250, True), (3, 250, False)]
)
def test_contactor_has_a_second_to_fall(contact, ticks, dt_ms, fails):
    w, app, step = losing(contact)
    app.seen.mirror_open = 0
    look(step, w, app)
    look(step, w, app, ticks, dt_ms)
    assert ("did not fall" in w.fault) is fails


@EACH
def test_contactor_that_fell_may_stay_open_for_as_long_as_the_contact_is(contact):
    w, app, step = losing(contact)
    look(step, w, app)
    look("transfer", w, app, 40)
    assert w.bits & 3 and w.fault == ""


def test_contactor_that_the_program_opens_while_every_contact_is_good_proves_nothing():
    for step in ("transfer", "limiter"):
        app, w = App(), Witness()
        app.dome.pv_mc, w.was_closed = 120_000, 1
        look(step, w, app)
        assert (w.bits & 3, w.lost_ms) == (0, -1)


def test_two_contacts_that_open_at_once_prove_neither():
    w, app, step = losing("enable")
    app.seen.selector_ours = 0
    assert look(step, w, app).bits & 3 == 0


@pytest.mark.parametrize("reset", [0, 1])
def test_limiter_keeps_the_heat_at_which_it_opened_and_counts_as_reset_once_it_is(reset):
    w, app, step = losing("limit_ok")
    look(step, w, app)
    assert (w.bits, w.value_mc) == (1, 120_000)
    app.dome.pv_mc, app.seen.limit_ok = 125_000, reset
    look(step, w, app)
    assert (w.bits, w.value_mc) == (1 + 2 * reset, 120_000)


# --- fan -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("fan_ok", "session"), [(0, 1), (1, 0), (0, 0)])
def test_transfer_fan_that_is_not_felt_or_no_evening_is_no_proof_and_no_time_runs(fan_ok, session):
    app, w = App(session=session, fan_ok=fan_ok), Witness()
    look("transfer", w, app, 300)
    assert (w.bits & 12, w.count_ms, w.fault) == (0, 0, "")


@pytest.mark.parametrize("bits", [0, 1, 3])
def test_transfer_fan_that_never_turned_does_not_come_to_rest(bits):
    app, w = App(fan_on=0, fan_ok=0), Witness()
    w.bits = bits
    assert look("transfer", w, app).bits == bits


@pytest.mark.parametrize(("dt_ms", "fails"), [(59_999, False), (60_000, True)])
def test_transfer_fan_has_a_minute_to_come_to_rest_counted_from_its_last_turn(dt_ms, fails):
    app, w = App(), Witness()
    app.seen.fan_on = 0
    look("transfer", w, app, 100)
    app.seen.fan_on = 1
    look("transfer", w, app)
    app.seen.fan_on = 0
    assert ("still turns" in look("transfer", w, app, 1, dt_ms).fault) is fails


def test_transfer_fan_that_rests_after_exactly_a_minute_has_rested():
    app, w = App(), Witness()
    look("transfer", w, app)
    app.seen.fan_on = app.seen.fan_ok = 0
    look("transfer", w, app, 1, 60_000)
    assert (w.bits & 12, w.fault) == (12, "")
