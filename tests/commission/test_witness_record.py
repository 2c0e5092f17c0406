"""What a witness stores: only what was seen and agreed, before it counts, and never while heat is permitted."""

import pytest
from witness_bench import ALL, BY, MEASURED, NAMES, PORT, TODO, WORLD, App, C, W, at, seen_all, watching

# --- tick by tick ----------------------------------------------------------------------------------------


def test_looks_are_taken_only_while_something_is_still_to_be_seen(monkeypatch):
    app, calls = watching("lamp"), []
    looks = tuple((lambda *told, n=n: calls.append((n, *told))) for n in range(len(NAMES)))
    monkeypatch.setattr(W, "WATCHES", looks)
    app.tick(240)
    assert calls == [(3, app.witness, app, app.seen, 240)]
    app.witness.bits = app.witness.all_bits
    app.tick()
    assert len(calls) == 1
    app.witness.active, app.witness.bits = -1, 0
    app.tick()
    assert len(calls) == 1


@pytest.mark.parametrize(("mirror", "closed"), [(0, 1), (1, 0), (-1, 0)])
def test_contactor_of_the_last_tick_is_remembered_for_the_next_look(monkeypatch, mirror, closed):
    app, found = watching("transfer"), []
    monkeypatch.setattr(W, "WATCHES", (lambda w, *_: found.append(w.was_closed),) * len(NAMES))
    app.seen.mirror_open = mirror
    app.tick()
    app.tick()
    assert found == [0, closed]


# --- cut ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("step", [name for name in MEASURED if name != "cutoff"])
def test_cut_is_for_the_cutoff_step_alone(step):
    app = watching(step)
    for limit_mc in (20_000, 60_000):
        app.dome.limit_mc = limit_mc
        assert app.say("cut") == "no the cutoff step is not under way"
    assert app.witness.cut_asked == 0


@pytest.mark.parametrize(("limit_mc", "taken"), [(34_999, False), (35_000, True)])
def test_cut_wants_a_reading_above_the_lowest_limit(limit_mc, taken):
    app = watching("cutoff")
    app.dome.limit_mc = limit_mc
    reply = app.say("cut")
    assert reply == ("ok the limit goes below the reading as soon as heat is on" if taken
                     else "no the reading must be above 35: warm it first")  # fmt: skip
    assert app.witness.cut_asked == (1 if taken else 0)


# --- accept, store, restart ----------------------------------------------------------------------------------


def test_nothing_is_accepted_before_a_step_is_under_way():
    assert App(3).say("accept") == "no step is under way: begin it first"


@pytest.mark.parametrize("step", MEASURED)
def test_accept_wants_every_bit_of_evidence(step):
    app = watching(step)
    assert app.say("accept") == "no still to be seen: " + TODO[step]
    app.witness.bits = app.witness.all_bits
    app.sequence.session = 1
    assert app.say("accept") == "no an evening is on: stop it first"
    assert app.witness.steps == [[*BY, n] for n in range(NAMES.index(step))]
    app.sequence.session, app.witness.value_mc = 0, 4711
    assert app.say("accept") == "ok"
    assert app.witness.steps[-1] == [*BY, 4711] and len(app.witness.steps) == NAMES.index(step) + 1
    assert (app.witness.active, app.witness.unsaved) == (-1, 1)


@pytest.mark.parametrize("step", ["dead", "cutoff", "limiter"])
def test_what_still_lacks_is_told_before_the_evening_that_is_on(step):
    app = watching(step)
    app.sequence.session = 1
    assert app.say("accept").startswith("no still to be seen")


@pytest.mark.parametrize(
    ("step", "release_c"), [("transfer", 60), ("cutoff", 120), ("limiter", 260), ("full-heat", 480)]
)
def test_release_rises_only_once_the_record_is_stored(step, release_c):
    app = at(step) if not ALL[step] else seen_all(step)
    before_c = app.release_c
    assert app.say("accept") == "ok"
    assert (app.release_c, app.saved) == (before_c, [])
    app.tick()
    assert app.release_c == release_c
    assert len(app.saved) == 1 and app.stored["release_c"] == release_c
    assert len(app.stored["steps"]) == NAMES.index(step) + 1
    assert app.supervisor.ceiling_mc == release_c * 1000
    app.tick()
    assert len(app.saved) == 1


@pytest.mark.parametrize("bar", ["session", "granted"])
def test_record_waits_until_no_evening_is_on_and_no_heat_permitted(bar):
    app = at("papers")
    assert app.enter("papers") == "ok"
    app.sequence.session, app.supervisor.permit.granted = bar == "session", bar == "granted"
    app.tick()
    assert app.saved == [] and app.witness.unsaved == 1
    app.sequence.session = app.supervisor.permit.granted = 0
    app.tick()
    assert len(app.saved) == 1 and app.witness.unsaved == 0


def test_record_that_cannot_be_stored_takes_the_step_back_and_earns_nothing():
    app = seen_all("limiter")
    app.refuses = True
    assert app.say("accept") == "ok"
    app.tick()
    assert (app.release_c, len(app.witness.steps), app.witness.unsaved) == (120, 7, 0)
    assert (app.supervisor.release_mc, app.supervisor.release_reduced) == (120_000, 0)
    assert app.told()["reason"] == "the board cannot store the record"
    app.tick()
    assert len(app.saved) == 1


def test_record_speaks_of_the_settings_that_were_in_force_at_the_start():
    app = seen_all("cutoff")
    app.signed = {**app.signed, "high_limit_c": 550}  # stored meanwhile
    assert app.say("accept") == "ok"
    app.tick()
    with WORLD.running(PORT):
        assert C.release(app.stored, app.board, app.signed)[0] == 60
        assert C.release(app.stored, app.board, {**app.signed, "high_limit_c": 500})[0] == 120


def test_restart_forgets_every_step_and_the_release_falls_at_once():
    app = App(9)
    app.sequence.setpoint_mc = 450_000
    assert app.enter("full-heat") == "ok"
    assert app.say("restart") == "ok"
    assert (app.release_c, app.release_reason, app.witness.steps, app.witness.active) == (60, "", [], -1)
    assert (app.stored["release_c"], app.stored["steps"]) == (60, [])
    assert (app.supervisor.ceiling_mc, app.supervisor.limit_mc, app.sequence.setpoint_mc) == (60_000, 100_000, 60_000)
    with WORLD.running(PORT):
        assert C.release(app.stored, app.board, app.signed) == (60, "")


def test_restart_is_refused_in_an_evening_while_a_step_is_not_stored_and_where_it_cannot_be():
    app = App(9)
    app.sequence.session = 1
    assert app.say("restart") == "no an evening is on: stop it first"
    app.sequence.session, app.witness.unsaved = 0, 1
    assert app.say("restart") == "no an evening is on: stop it first"
    app.witness.unsaved, app.refuses = 0, True
    assert app.say("restart") == "no the board cannot store the record"
    assert (app.release_c, len(app.witness.steps)) == (480, 9)


@pytest.mark.parametrize(("setpoint_mc", "after_mc"), [(120_001, 120_000), (120_000, 120_000), (90_000, 90_000)])
def test_setpoint_above_what_is_released_comes_down_with_it_and_no_other_moves(setpoint_mc, after_mc):
    app, moved = App(6), []
    change = app.acts.change_setpoint
    app.acts.change_setpoint = lambda value_mc: moved.append(value_mc) or change(value_mc)
    app.sequence.setpoint_mc = setpoint_mc
    with WORLD.running(PORT):
        W.put_in_force(app, app.stored, app.signed)
    assert app.sequence.setpoint_mc == after_mc
    assert moved == ([after_mc] if setpoint_mc != after_mc else [])
    assert app.supervisor.release_reduced == 0


def test_release_that_fell_back_is_told_to_the_supervisor():
    app = App(9)
    with WORLD.running(PORT):
        W.put_in_force(app, {**app.stored, "fingerprint": "00000000"}, app.signed)
    assert (app.release_c, app.supervisor.release_reduced, app.supervisor.release_mc) == (60, 1, 60_000)
    assert app.release_reason.startswith("board, pin map")
