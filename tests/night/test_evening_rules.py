"""The evening's part of a tick, rule by rule: what it begins with, its clock, its breads. The rest: the next file."""

import pytest
from evening_board import BREADS, LEG, PLACE, TAUGHT, TICK_MS, App, M, R, S, Store, buzzer, on_plan, told


@pytest.fixture
def app():
    return App()


@pytest.fixture
def plan():
    return on_plan()


# --- what it begins with ------------------------------------------------------------------------


def test_new_board_has_no_evening_behind_it(app):
    e = app.evening
    assert (e.dirty, e.interrupted, e.leg, e.leg_done, e.done, e.at_s, e.session_ms) == (0, 0, 0, 0, 0, 0, 0)
    assert (e.flow, e.keeping, e.opening, e.rise_k_s) == (None, 0, 0, 0.0)
    assert e.since_bread_ms == M.CAP_MS and e.back_s == M.BACK_S
    assert e.plan.name == "settings" and e.breads.count == 0
    fresh = M.Evening(app)
    assert type(fresh.forecast) is M.Forecast and type(fresh.buzzer) is buzzer.Buzzer
    app.tick()
    assert "forget" not in app.did  # an idle board stays in its stage


def test_what_was_stored_is_there_again():
    last = {"plan": "settings", "leg": 0, "leg_done": 2, "count": 1, "done": 3, "at_s": 905, "adjust": -6, "open": 1}
    app = App(night=last, breads0=[7, 440, 431, 90, 450, 447, 50, 1, 3, 8], counters={"trips": 4}, stone={})
    e = app.evening
    assert (e.interrupted, e.leg_done, e.done, e.at_s, e.session_ms) == (1, 2, 3, 905, 905_000)
    assert e.breads.count == 1 and e.breads.adjust_pct == -6 and e.counters.values["trips"] == 4


@pytest.mark.parametrize(("spec", "depth_mm", "rim"), [(None, 7.5, 0), ({}, 7.5, 0), ({"depth_mm": 3, "rim": 1}, 3, 1)])
def test_stone_knows_where_its_probe_sits_and_what_it_has_learned(monkeypatch, spec, depth_mm, rim):
    seats, learned = [], []
    monkeypatch.setattr(M.Stone, "seat", lambda stone, *given: seats.append(given))
    monkeypatch.setattr(M.Stone, "take", lambda stone, value: learned.append(value))
    real = told(PROBES={"dome": {}, **({} if spec is None else {"stone": spec})})
    app = App(stone={"spots": 3})
    app.memory.store = Store(stone={"spots": 3})
    app.board = real
    M.Evening(app)
    assert seats[-1] == (depth_mm, rim) and learned[-1] == {"spots": 3}


def test_start_counts_from_nothing(app):
    e = app.evening
    e.breads.begin(1, 2, 3, 4, 0)
    e.session_ms, e.stone.spots_this_evening, e.done = 77, 3, 5
    e.start(app, True)
    assert (app.sequence.state, app.sequence.stage) == (S.RUNNING, S.PROVE)
    assert (e.breads.count, e.session_ms, e.stone.spots_this_evening) == (0, 0, 0)
    assert (e.leg, e.leg_done, e.done, e.interrupted) == (0, 0, 0, 0)
    assert e.dirty == PLACE and e.opening == 1 and e.counters.values["sessions"] == 1
    assert e.flow is None


@pytest.mark.parametrize("interrupted", [1, 2])
def test_start_goes_on_where_a_cut_or_a_trip_ended_it(interrupted):
    app = App(plan={"name": "hall", "end_c": 200, "legs": [LEG, LEG]})
    e = app.evening
    e.breads.begin(1, 2, 3, 4, 0)
    e.interrupted, e.leg, e.leg_done, e.done, e.at_s, e.stone.spots_this_evening = interrupted, 1, 4, 9, 905, 2
    e.start(app, False)
    seq = app.sequence
    assert (seq.stage, seq.leg, seq.leg_done, seq.breads_done) == (S.PREHEAT, 1, 4, 9)
    assert (e.session_ms, e.breads.count, e.interrupted, e.stone.spots_this_evening) == (905_000, 1, 0, 2)
    assert (e.leg, e.leg_done, e.done) == (1, 4, 9)


def test_start_takes_the_flow_of_its_plan(app):
    app.evening.plan.flow = lambda: "flow"
    app.evening.start(app, False)
    assert app.evening.flow == "flow"


def test_interrupted_evening_can_be_forgotten_and_records_noted(app):
    e = app.evening
    e.breads.begin(1, 2, 3, 4, 0)
    e.interrupted, e.leg, e.leg_done, e.done, e.at_s = 1, 1, 4, 9, 905
    e.forget_interrupted()
    assert (e.interrupted, e.leg, e.leg_done, e.done, e.at_s, e.breads.count) == (0, 0, 0, 0, 0, 0)
    assert e.dirty == PLACE
    e.dirty = TAUGHT
    e.note_breads()
    assert e.dirty == TAUGHT | BREADS | PLACE
    e.dirty = TAUGHT
    e.forget_interrupted()
    assert e.dirty == TAUGHT | PLACE


# --- the clock and the counters -----------------------------------------------------------------


@pytest.mark.parametrize(("dt_ms", "counts_ms"), [(250, 250), (0, 0), (500, 500), (501, 500), (-1, 500), (60_000, 500)])
def test_evening_counts_its_ticks_up_to_half_a_second_each_while_it_is_on(app, dt_ms, counts_ms):
    app.tick(dt_ms=dt_ms)
    assert app.evening.session_ms == 0
    app.sequence.state = S.HELD
    app.tick(dt_ms=dt_ms)
    assert app.evening.session_ms == counts_ms
    app.evening.session_ms = M.CAP_MS
    app.tick(dt_ms=dt_ms)
    assert app.evening.session_ms == M.CAP_MS


def test_counters_and_buzzer_go_on_each_tick(app):
    seen = []
    app.evening.counters = told(tick=lambda *given: seen.append(given), stalled=seen.append, dirty=0, add=seen.append)
    app.supervisor.own_writes.stalls = 7
    for pv_mc, usable, hot in ((249_999, True, False), (250_000, True, True), (250_000, False, False)):
        app.dome.pv_mc, app.dome.usable = pv_mc, usable
        app.tick()
        assert seen == [(hot, app.heater, 250), 7]
        seen.clear()
    for granted, stage, tripped, beat in (
        (1, S.SOAK, 0, (1, False)),
        (0, S.LOAD, 0, (0, True)),
        (0, S.COOL, 1, (0, True)),
    ):
        app.supervisor.permit.granted, app.supervisor.first_out = granted, tripped
        app.stage(stage)
        assert app.beats[-1] == beat


# --- breads -------------------------------------------------------------------------------------


def laid(app, **more):
    """A bread laid after 905.9 s, its stone at 431.6, the dome at 411.9."""
    app.stage(S.LOAD)
    app.evening.session_ms = 905_900 - TICK_MS
    app.dome.pv_mc, app.top_share_pct, app.evening.dirty = 411_900, 53, 0
    for name, value in more.items():
        setattr(app.evening.stone, name, value)
    return app.stage(S.BAKE)


def test_bread_that_is_laid_opens_its_record(app):
    book = laid(app).evening.breads
    assert (book.count, book.open) == (1, 1)
    assert book.line(0) == (
        "n=1 at_s=905 stone_c=432 sag_k=0 bake_s=0 dome_c=411 dome_sag_k=0 share=53 top=none base=none notes=none"
    )


@pytest.mark.parametrize(
    ("basis", "probe", "sees", "unready", "notes"),
    [
        (0, None, 1, 0, "guess"), (1, None, 1, 0, "guess"), (2, None, 0, 0, "none"), (3, 1, 1, 0, "none"),
        (3, 1, 0, 0, "guess"), (1, 1, 1, 1, "guess,unready"), (2, None, 1, 1, "unready"),
    ],
)  # fmt: skip
def test_record_says_what_it_rests_on(app, basis, probe, sees, unready, notes):
    app.stone = probe and told(usable=False, pv_mc=0)
    app.sequence.unready = unready
    laid(app, basis=basis, sees_breads=sees)
    assert app.evening.breads.line(0).endswith("notes=" + notes)


def bake(app, ticks=320):
    laid(app)
    app.evening.done = app.sequence.breads_done
    return app.tick(ticks - 1)


def test_second_bread_has_a_record_of_its_own(app):
    bake(app, 317)
    app.tick(dt_ms=249)  # 79.499 s
    app.sequence.breads_done += 1
    app.stage(S.RECOVER)
    app.dome.pv_mc = 412_000
    app.stage(S.LOAD)
    app.stage(S.BAKE)
    app.tick(39)
    app.sequence.breads_done += 1
    app.stage(S.RECOVER)
    book = app.evening.breads
    assert [book.get(n, R.BAKED) for n in (0, 1)] == [79, 10]
    assert book.get(1, R.DOME) == 412 and app.evening.counters.values["breads"] == 2


def test_bread_that_the_full_book_has_no_room_for_changes_no_record(app):
    for n in range(100):
        app.evening.breads.begin(n, 400, 410, 50, 0)
    app.evening.breads.open = 0
    last = app.evening.breads.line(99)
    laid(app)
    app.evening.stone.surface_c = 431.6
    app.stage(S.COOL, S.STOPPING)
    assert app.evening.breads.line(99) == last and app.evening.counters.values["breads"] == 0


@pytest.mark.parametrize(("ticks", "bake_s"), [(320, 80), (321, 80), (322, 81), (317, 79)])
def test_bread_that_is_out_closes_its_record_with_the_time_it_baked(app, ticks, bake_s):
    bake(app, ticks)
    app.plays()
    app.sequence.breads_done += 1
    app.evening.dirty = 0
    app.stage(S.RECOVER)
    book, e = app.evening.breads, app.evening
    assert book.get(0, R.BAKED) == bake_s and book.open == 0 and " notes=none" in book.line(0)
    assert app.plays() == [buzzer.DONE] and e.counters.values["breads"] == 1
    assert e.dirty == BREADS | PLACE and e.done == 1


def test_bread_that_is_taken_out_early_is_cut_and_not_counted(app):
    bake(app)
    app.stage(S.COOL, S.STOPPING)
    assert app.evening.breads.line(0).endswith("notes=cut")
    assert app.evening.counters.values["breads"] == 0


def test_record_is_held_while_the_evening_is_held_under_a_bread(app):
    laid(app)
    app.sequence.state = S.HELD
    app.tick()
    assert app.evening.breads.line(0).endswith("notes=held")


@pytest.mark.parametrize(
    ("base_kj", "flow", "fixed", "notes"),
    [(900, False, 0, "seconds"), (900, True, 0, "none"), (900, True, 1, "seconds"), (0, False, 0, "none")],
)
def test_record_of_a_plan_by_heat_says_where_its_time_was_the_plans(plan, base_kj, flow, fixed, notes):
    plan.sequence.legs = [[*LEG, base_kj, 10, 44]] * 2
    laid(plan)
    if flow:
        plan.evening.flow = told(
            fixed=fixed, lean=0.0, rules=lambda seq: False, tick=lambda *given: None, step=lambda *given: None
        )
    plan.sequence.breads_done += 1
    plan.stage(S.RECOVER)
    assert plan.evening.breads.line(0).endswith("notes=" + notes)


@pytest.mark.parametrize(
    ("stage_ms", "soon"), [(64_749, False), (65_000, True), (65_249, True), (65_250, False), (64_999, False)]
)
def test_one_beat_tells_ten_seconds_before_the_end(app, stage_ms, soon):
    laid(app)
    app.plays()
    app.stage(S.BAKE, stage_ms=stage_ms)  # 75 s: the beat falls into the tick that passes 65
    assert app.plays() == ([buzzer.SOON] if soon else [])


def test_bread_that_is_due_is_told_when_it_becomes_due(app):
    app.stage(S.RECOVER)
    assert app.plays() == [buzzer.SILENT]  # of the start
    app.stage(S.LOAD)
    app.tick(3)
    assert app.plays() == [buzzer.DUE]


def test_lowest_stone_and_dome_are_looked_for_until_two_minutes_after_the_bread(app):
    book = laid(app).evening.breads
    app.dome.pv_mc, app.evening.stone.surface_c = 401_999, 420.4
    app.tick()
    app.dome.pv_mc, app.evening.stone.surface_c = 405_000, 425.0
    app.tick()
    assert " sag_k=12 " in book.line(0) and " dome_sag_k=10 " in book.line(0)
    app.dome.pv_mc, app.dome.usable = 300_000, False  # no reading
    app.tick()
    assert " dome_sag_k=10 " in book.line(0)
    app.dome.usable, app.dome.pv_mc = True, 401_000
    app.sequence.breads_done += 1
    app.stage(S.RECOVER)
    app.evening.dirty = 0
    app.tick(478)
    app.tick(dt_ms=249)
    assert app.evening.since_bread_ms == 119_999 and app.evening.dirty == 0
    app.dome.pv_mc = 400_000
    app.tick(dt_ms=1)
    assert app.evening.dirty == BREADS and " dome_sag_k=11 " in book.line(0)
    app.dome.pv_mc, app.evening.stone.surface_c, app.evening.dirty = 300_000, 300.0, 0
    app.tick(4)
    assert " dome_sag_k=11 " in book.line(0) and " sag_k=12 " in book.line(0)
    assert app.evening.since_bread_ms == 120_000 and app.evening.dirty == 0
