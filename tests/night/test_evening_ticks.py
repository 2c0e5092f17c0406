"""The evening's part of a tick, rule by rule: stone and forecast, setpoint, share of the top."""

import pytest
from evening_board import LEG, App, M, S, on_plan, told


@pytest.fixture
def app():
    return App()


@pytest.fixture
def plan():
    made = on_plan()
    made.did.clear()
    return made


def told_stone(app):
    found = app.evening.stone.did[:]
    app.evening.stone.did.clear()
    return found


# --- the stone ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("pv_mc", "known"), [(59_999, True), (60_000, False), (411_000, False)])
def test_stone_begins_as_warm_as_its_dome_and_is_known_only_from_cold(app, pv_mc, known):
    app.dome.pv_mc, app.dome.usable = pv_mc, False
    app.tick(3)
    assert told_stone(app) == []
    app.dome.usable = True
    app.tick(3)
    assert told_stone(app) == [("begin", pytest.approx(pv_mc / 1000), known)]


def test_model_steps_every_two_seconds_with_what_the_deck_element_did(app):
    app.tick(7)
    told_stone(app)
    app.heater.deck.on = 1
    app.tick()
    assert told_stone(app) == [("step", pytest.approx(411.0), 0.125, 2.0, 0)]
    app.tick(6)
    assert told_stone(app) == []
    app.heater.deck.on = 0
    app.tick(2)
    assert told_stone(app) == [("step", pytest.approx(411.0), 0.75, 2.0, 0)]
    app.tick(7)
    app.tick(dt_ms=249)
    assert told_stone(app) == []
    app.tick(dt_ms=1)
    assert len(told_stone(app)) == 1
    app.tick(2)
    app.dome.usable = False
    app.tick(40)
    assert told_stone(app) == []
    app.dome.usable = True
    app.stage(S.BAKE)
    app.tick(5)
    assert told_stone(app)[0] == ("step", pytest.approx(411.0), 0.0, 2.0, 1)


def test_model_steps_after_late_ticks_by_the_time_they_took(app):
    app.tick(3)
    app.tick(3, dt_ms=499)
    assert told_stone(app)[1:] == [("step", pytest.approx(411.0), 0.0, 2.247, 0)]


def test_probe_in_the_stone_corrects_the_model_while_it_reads():
    app = App(stone=told(usable=True, pv_mc=402_500))
    app.evening.stone.probed = 1
    app.tick(8)
    assert told_stone(app)[-1] == ("probe", pytest.approx(402.5), 2.0)
    app.evening.stone.probed, app.stone.usable = 1, False
    app.tick(8)
    assert told_stone(app)[-1][0] == "step" and app.evening.stone.probed == 0


def test_output_and_rise_lately_are_kept_over_a_minute(app):
    e = app.evening
    e._last_c = 400.0
    app.heater.deck.on = 1
    app.tick(8)
    share = 2.0 / 60.0
    assert e._deck == pytest.approx(share) and e.rise_k_s == pytest.approx(5.5 * share)
    app.dome.pv_mc, app.heater.deck.on = 413_000, 0
    app.tick(8)
    assert e._deck == pytest.approx(share * (1 - share))
    assert e.rise_k_s == pytest.approx(5.5 * share + (1.0 - 5.5 * share) * share)
    assert e._last_c == pytest.approx(413.0) and App().evening._last_c == 20.0


def test_stone_is_judged_after_each_step_and_turn_and_not_between(app):
    app.stage(S.SOAK)
    app.tick()
    assert app.sequence.stone_ready == 1 and app.evening.stone.wanted_c == 420
    app.evening.stone.is_ready = False
    app.tick(5)
    assert app.sequence.stone_ready == 1
    app.tick()
    assert app.sequence.stone_ready == 0
    app.evening.stone.is_ready = True
    app.stage(S.RECOVER)
    assert app.sequence.stone_ready == 0  # forgotten with the stage, judged in the next tick
    app.tick()
    assert app.sequence.stone_ready == 1 and app.evening.stone.wanted_c == 400  # in recovery 20 K less will do


def test_flow_rules_what_is_wanted_while_an_evening_is_on(app):
    asked = []
    app.evening.flow = told(
        rules=lambda seq: True, wanted_c=333, lean=0.0, tick=lambda *given: asked.append(("tick", given)),
        step=lambda *given: asked.append(("step", given)),
    )  # fmt: skip
    app.tick(8)
    assert asked == [] and app.evening.stone.wanted_c == 420
    app.stage(S.SOAK)
    app.tick(8)
    seq = app.sequence
    assert app.evening.stone.wanted_c == 333
    assert asked.count(("tick", (app, seq, 250))) == 9 and asked.count(("step", (app, seq))) == 1 and len(asked) == 10
    app.stage(S.RECOVER)
    app.tick(8)
    assert app.evening.stone.wanted_c == 333  # in recovery as well: no sag is taken off it
    app.stage(S.SOAK)
    app.evening.flow.rules = lambda seq: False
    app.tick(8)
    assert app.evening.stone.wanted_c == 420


def forecasts(app):
    found = [what[1] for what in app.did if what[0] == "forecast"]
    app.did.clear()
    return found


def test_forecast_goes_on_while_heat_is_asked_for_and_a_stone_is_wanted(plan):
    e = plan.evening
    e._deck, e.rise_k_s, e.back_s = 0.5, 0.03, 50.0
    plan.stage(S.SOAK)
    (given,) = forecasts(plan)
    assert given == {
        "dome_c": pytest.approx(411.0), "setpoint_c": pytest.approx(420.0), "rise_k_s": 0.03, "deck": 0.5,
        "wanted_c": 405, "sag_k": 20, "bake_s": 80, "dt_s": 0.25,
        "between_s": pytest.approx(50.0 + M.HANDLING_S + 30.0),
    }  # fmt: skip
    plan.stage(S.RECOVER)
    (given,) = forecasts(plan)
    assert (given["wanted_c"], given["sag_k"]) == (385, 0.0)
    plan.stage(S.RECOVER, S.HELD)
    assert forecasts(plan) == []
    plan.sequence.state = S.RUNNING
    plan.evening.plan.value["legs"][0] = [*LEG[:3], 0, *LEG[4:8], 0, *LEG[9:]]
    plan.tick()
    assert forecasts(plan) == []


def test_forecast_is_forgotten_with_each_stage(app):
    app.stage(S.SOAK)
    app.tick(3)
    assert app.did.count("forget") == 1
    app.stage(S.LOAD)
    assert app.did.count("forget") == 2


@pytest.mark.parametrize("how", ["reading", "stage"])
def test_time_that_the_dome_needs_after_a_bread_is_learned_by_halves(app, how):
    e = app.evening
    e.back_s = 40.0
    app.dome.pv_mc = 400_000
    app.stage(S.BAKE)
    app.stage(S.RECOVER, stage_ms=10_000)
    app.stage(S.RECOVER, stage_ms=60_000)
    assert e.back_s == 40.0
    if how == "reading":
        app.dome.pv_mc = 424_999
        app.tick()
        assert e.back_s == 40.0
        app.dome.pv_mc = 425_000  # within five kelvin of the setpoint
        app.tick()
    else:
        app.stage(S.LOAD)
    assert e.back_s == 50.0
    app.dome.pv_mc = 430_000
    app.stage(S.RECOVER, stage_ms=90_000)
    app.stage(S.LIFT)
    assert e.back_s == 50.0  # once after each bread


@pytest.mark.parametrize(("before", "after", "learns"), [
    (S.BAKE, S.LIFT, True), (S.BAKE, S.LOAD, True), (S.BAKE, S.COOL, False), (S.BAKE, S.PREHEAT, False),
    (S.LOAD, S.LOAD, False),
])  # fmt: skip
def test_recovery_counts_only_after_a_bread_and_to_the_next(app, before, after, learns):
    app.dome.pv_mc = 400_000
    app.stage(before)
    app.stage(S.RECOVER, stage_ms=60_000)
    app.stage(after)
    assert (app.evening.back_s != M.BACK_S) is learns


def test_bread_that_ends_with_the_evening_teaches_no_recovery(app):
    app.dome.pv_mc = 400_000
    app.stage(S.BAKE)
    app.stage(S.RECOVER, S.HELD, 60_000)
    app.stage(S.LOAD)
    assert app.evening.back_s == M.BACK_S


def test_parts_of_a_tick_come_in_their_order(app, monkeypatch):
    """Turns before what follows from them, the flow before the share that it leans, all before what is stored."""
    order = []
    e = app.evening
    for name in ("_watch_stone", "_turned", "_follow_setpoint", "_watch_bread", "_share", "_watch_end", "_store"):
        monkeypatch.setattr(e, name, lambda *given, name=name: order.append(name))
    app.sequence.state, app.sequence.stage = S.RUNNING, S.SOAK
    e.flow = told(tick=lambda *given: order.append("flow"))
    e.counters = told(tick=lambda *given: order.append("counters"), stalled=lambda *given: order.append("stalls"))
    e.buzzer = told(tick=lambda *given: order.append("buzzer"))
    app.tick()
    assert order == [
        "_watch_stone", "_turned", "flow", "_follow_setpoint", "_watch_bread", "_share", "_watch_end", "counters",
        "stalls", "buzzer", "_store",
    ]  # fmt: skip


# --- setpoint and share -------------------------------------------------------------------------


@pytest.mark.parametrize(("jump_mk", "tells"), [(2_000, False), (-2_000, False), (2_001, True), (-2_001, True)])
@pytest.mark.parametrize("ramp", [0, 1])
def test_controller_is_told_of_a_setpoint_that_jumps(app, jump_mk, tells, ramp):
    app.tick().did.clear()
    app.sequence._set(430_000 + jump_mk)
    app.sequence.ramp.on = ramp
    app.tick(3)
    c = pytest.approx
    setpoint_c = c(430.0 + jump_mk / 1000)
    told_pid = [("match", 0.0, setpoint_c, c(411.0))] if ramp else [("retarget", setpoint_c, c(411.0))]
    assert [what for what in app.did if what[0] in ("match", "retarget")] == (told_pid if tells else [])


def test_jump_without_a_reading_is_not_told_later(app):
    app.tick().did.clear()
    app.sequence._set(300_000)
    app.dome.usable = False
    app.tick()
    app.dome.usable = True
    app.tick()
    assert "retarget" not in [what[0] for what in app.did]


@pytest.mark.parametrize(
    ("stage", "adjust_pct", "lean", "share_pct"),
    [
        (S.SOAK, 0, None, 48), (S.LIFT, 0, None, 54), (S.LOAD, 0, None, 54), (S.BAKE, 0, None, 54),
        (S.RECOVER, 0, None, 48), (S.SOAK, -6, None, 42), (S.BAKE, 4, None, 58), (S.SOAK, 0, 3.9, 51),
        (S.SOAK, 0, -3.9, 45), (S.BAKE, 16, 30.0, 80), (S.SOAK, -16, -30.0, 20),
    ],
)  # fmt: skip
def test_share_of_the_top_is_the_legs_the_words_the_lift_and_the_flow(plan, stage, adjust_pct, lean, share_pct):
    plan.evening.breads.adjust_pct = adjust_pct
    if lean is not None:
        plan.evening.flow = told(
            lean=lean, rules=lambda seq: False, tick=lambda *given: None, step=lambda *given: None, fixed=0
        )
    plan.stage(stage)
    assert plan.top_share_pct == share_pct


@pytest.mark.parametrize(("leg_pct", "share_pct"), [(20, 20), (80, 80)])
def test_share_stays_within_twenty_and_eighty(app, leg_pct, share_pct):
    app.settings["top_share_pct"] = leg_pct
    for adjust_pct in (-1 if leg_pct == 20 else 1, 0):
        app.evening.breads.adjust_pct = adjust_pct
        assert app.tick().top_share_pct == share_pct
