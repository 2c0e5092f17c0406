"""The application line by line, on stand-ins for its parts: what a tick does, in which order, with which figures."""

import itertools

import pytest
from app_bench import TIME, WORLD, A, Bench, L, S, some

NO_VALUE_MC = WORLD.load("tizzone.probes.reading").NO_VALUE_MC


@pytest.fixture
def bench():
    return Bench()


# --- a tick ----------------------------------------------------------------------------------------


@pytest.fixture
def ticking(bench, monkeypatch):
    """A bench whose tick notes its own steps too."""
    app = bench.app
    for name in ("_sense", "_drive", "_prove", "_fan", "_talk", "make_safe"):
        setattr(app, name, bench.noting(name))
    monkeypatch.setattr(A, "fill_report", bench.noting("report"))
    monkeypatch.setattr(A.gc, "collect", bench.noting("collect"), raising=False)
    monkeypatch.setattr(WORLD.load("machine"), "reset", bench.noting("reset"))
    app.witness, app.learning = some(tick=bench.noting("witness")), some(tick=bench.noting("learning"))
    app.panel, app.watchdog = some(tick=bench.noting("panel")), some(feed=bench.noting("feed"))
    return bench


ORDER = ["_sense", "judge", "below", "step", "withdraw", "_drive", "_fan", "_talk", "due", "witness", "evening",
         "learning", "panel", "feed", "report"]  # fmt: skip


def test_tick_senses_judges_drives_and_only_then_talks_writes_and_feeds_the_watchdog(ticking):
    app = ticking.app
    app.dome.pv_mc, app.supervisor.holding, app.supervisor.stopping = 151_000, 4, 5
    app._tick(240)
    assert ticking.names() == ORDER
    said = {entry[0]: entry[1:] for entry in ticking.done}
    assert said["_sense"] == (240,) and said["judge"] == (app.seen, 240)
    assert said["below"] == (250_000,) and app.sequence.cooled == 1
    assert said["step"] == (151_000, True, False, 4, 5, 240)
    assert said["_drive"] == (ticking.permit, 240) and said["due"] == (app,)
    assert said["witness"] == said["evening"] == (app, 240)
    assert said["learning"] == said["report"] == (app,) and said["panel"] == (240,)


def test_tick_tells_the_sequence_of_a_trip(ticking):
    ticking.app.supervisor.first_out = L.NO_RISE
    ticking.app._tick(250)
    assert next(entry for entry in ticking.done if entry[0] == "step")[3] is True


def test_tick_of_a_board_without_what_is_optional_does_the_rest(ticking):
    app = ticking.app
    app.witness = app.learning = app.panel = app.watchdog = None
    app._tick(250)
    assert ticking.names() == [name for name in ORDER if name not in ("witness", "learning", "panel", "feed")]


@pytest.mark.parametrize(("active", "opening", "granted", "keeping"), list(itertools.product((0, 1), repeat=4)))
def test_permit_is_withdrawn_where_nothing_runs_or_a_record_is_written(ticking, active, opening, granted, keeping):
    app = ticking.app
    app.sequence.active, app.evening.opening, app.evening.keeping = active, opening, keeping
    ticking.permit.granted = granted
    app._tick(250)
    stays = bool(active and not opening and (granted or not keeping))
    assert bool(next(entry for entry in ticking.done if entry[0] == "withdraw")[1]) is stays


@pytest.mark.parametrize("active", [0, 1])
@pytest.mark.parametrize("stage", [S.PROVE, S.PREHEAT, S.BAKE])
def test_only_an_active_proof_proves_and_whatever_else_drives(ticking, active, stage):
    app = ticking.app
    app.sequence.active, app.sequence.stage = active, stage
    app._tick(250)
    proves = active and stage == S.PROVE
    assert [entry for entry in ticking.done if entry[0] in ("_prove", "_drive")] == [
        ("_prove" if proves else "_drive", ticking.permit, 250)
    ]


@pytest.mark.parametrize(("due", "sending"), [(False, 0), (False, 1), (True, 1), (True, 0)])
def test_reset_waits_for_its_reply_and_finds_every_output_safe(ticking, due, sending):
    ticking.app.reset_due, ticking.sending = due, sending
    ticking.app._tick(250)
    resets = [name for name in ticking.names() if name in ("_fan", "make_safe", "reset", "_talk")]
    assert resets == (["_fan", "make_safe", "reset", "_talk"] if due and not sending else ["_fan", "_talk"])


@pytest.mark.parametrize("sending", [0, 1])
def test_memory_is_collected_on_a_schedule_after_everything_else_of_its_tick(ticking, sending):
    ticking.sending = sending
    found = []
    for number in range(1, 49):
        ticking.done.clear()
        ticking.app._tick(250)
        if "collect" in ticking.names():
            assert ticking.names()[-1] == "collect"
            found.append(number)
    assert found == [16, 32, 48]


def test_tick_that_answers_passes_the_collection_on_to_the_first_that_does_not(ticking):
    said = [False] * 15 + [True] * 5 + [False]
    ticking.app._talk = lambda: said.pop(0)
    for _ in range(20):
        ticking.app._tick(250)
    assert "collect" not in ticking.names()
    ticking.app._tick(250)
    assert ticking.names()[-1] == "collect"


def test_line_waits_where_a_collection_is_long_overdue(bench, monkeypatch):
    app = bench.app
    waiting = ["status", "status"]
    app.link.next_line = lambda: (waiting.pop(), None)
    monkeypatch.setattr(A.commands, "answer", lambda asked, text: "answer to " + text)
    app._uncollected = 31
    assert app._talk() and len(waiting) == 1
    app._uncollected = 32
    assert not app._talk() and len(waiting) == 1
    assert bench.done == [("reply", "answer to status")]


def test_ticks_are_counted_and_wrap_within_a_small_number(ticking):
    app = ticking.app
    app._tick(250)
    assert app.ticks == 1
    app.ticks = 0xFFFFE
    app._tick(250)
    assert app.ticks == 0xFFFFF
    app._tick(250)
    assert app.ticks == 0


# --- what a tick knows -------------------------------------------------------------------------------


def test_sense_notes_the_pins_as_they_were_before_this_tick_drives_them(bench):
    app = bench.app
    app.heater.top.on, app.heater.deck.on, app.heater.contactor_on, app.heater.fan_on = (
        "top",
        "deck",
        "contactor",
        "fan",
    )
    app.heater.follows, app.heater.take_deadman = (lambda: "follows"), (lambda: "deadman")
    app.memory.wrote, app.out_pm = 1, 640
    app.sequence.active, app.sequence.session = "active", "session"
    app._compare_clocks = bench.noting("clocks")
    app._sense(240)
    seen = app.seen
    assert (seen.top_on, seen.deck_on, seen.contactor_on, seen.fan_on) == ("top", "deck", "contactor", "fan")
    assert (seen.readback_ok, seen.deadman_fired, seen.own_write, seen.out_pm) == ("follows", "deadman", 1, 640)
    assert (seen.setpoint_mc, seen.setpoint_inverted) == (200_000, ~200_000)
    assert (seen.active, seen.session) == ("active", "session")
    assert app.memory.wrote == 0  # it excused one tick
    assert bench.done == [("sense", seen), ("clocks", 240)]


def probes(bench, **junctions_mc):
    """Probes with these cold junctions."""
    app = bench.app
    app.stone = some(update=bench.noting("stone"))
    readings = {name: some(junction_mc=mc, serial=number) for number, (name, mc) in enumerate(junctions_mc.items(), 7)}
    app.probes = {name: some(read=lambda made=made: made) for name, made in readings.items()}
    app._compare_clocks = bench.noting("clocks")
    app._sense(240)
    return readings


@pytest.mark.parametrize(
    ("dome_mc", "stone_mc", "box_mc"),
    [(30_000, 40_000, 40_000), (40_000, 30_000, 40_000), (NO_VALUE_MC, 30_000, 30_000), (30_000, NO_VALUE_MC, 30_000),
     (NO_VALUE_MC, NO_VALUE_MC, 1)],
)  # fmt: skip
def test_box_is_as_hot_as_its_hottest_amplifier_and_keeps_its_figure_where_none_tells(bench, dome_mc, stone_mc, box_mc):
    readings = probes(bench, dome=dome_mc, stone=stone_mc)
    assert bench.app.seen.box_mc == box_mc
    assert bench.done[:2] == [("dome", readings["dome"], 240), ("stone", readings["stone"], 240)]
    assert bench.app.seen.dome_serial == 7


def test_serial_of_the_dome_is_its_own_whichever_probe_is_read_last(bench):
    readings = probes(bench, stone=20_000, dome=20_000)
    assert bench.app.seen.dome_serial == readings["dome"].serial == 8


# --- clocks ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("gap_s", [0, 3, -3, 61])
@pytest.mark.parametrize("session", [0, 1])
def test_clocks_are_compared_once_a_minute_and_only_in_a_session(bench, gap_s, session):
    with bench as app:
        app.seen.session, app._clock_s = session, TIME.time()
        bench.port.sleep_us((60 + gap_s) * 1_000_000)
        app.seen.clock_error_ms = 17
        app._compare_clocks(59_750)
        assert (app.seen.clock_error_ms, app._clock_ms) == (17, 59_750)
        app._compare_clocks(250)
        assert app.seen.clock_error_ms == (gap_s * 1000 if session else 0)
        assert (app._clock_ms, app._clock_s) == (0, TIME.time())


@pytest.mark.parametrize("sign", [1, -1])
def test_clock_that_jumps_by_years_stays_a_small_whole_number(bench, sign):
    with bench as app:
        app._clock_s = TIME.time() - sign * 10_000_000
        app._compare_clocks(60_000)
        assert app.seen.clock_error_ms == sign * A.CAP_MS


# --- heat ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("out_pct", "share_pct", "asked_pm", "top_pm", "deck_pm"),
    [(50.0, 50, 500, 500, 500), (100.0, 50, 1000, 1000, 1000), (100.0, 80, 1000, 1000, 400),
     (100.0, 20, 1000, 400, 1000), (40.04, 60, 400, 480, 320), (40.06, 60, 401, 481, 320), (0.0, 50, 0, 0, 0),
     (0.04, 50, 0, 0, 0), (0.05, 50, 1, 1, 1), (99.0, 51, 990, 1000, 970)],
)  # fmt: skip
def test_output_is_shared_between_the_zones_and_neither_is_asked_for_more_than_all(
    bench, out_pct, share_pct, asked_pm, top_pm, deck_pm
):
    app = bench.app
    app._asked_pct = lambda pv_c, dt_s, granted: (bench.done.append(("asked", pv_c, dt_s, granted)), out_pct)[1]
    app.top_share_pct, app.seen.proving, app.out_pm = share_pct, 1, 333
    app._drive(bench.permit, 240)
    assert bench.done == [("asked", 150.0, 0.24, 1), ("drive", top_pm, deck_pm, bench.permit, 240)]
    assert (app.out_pm, app.seen.proving) == (asked_pm, 0)


@pytest.mark.parametrize(("usable", "session", "granted"), list(itertools.product((0, 1), repeat=3)))
def test_nothing_is_asked_of_the_heater_without_reading_session_and_permit(bench, usable, session, granted):
    app = bench.app
    app.dome.usable, app.sequence.session, bench.permit.granted = usable, session, granted
    app._drive(bench.permit, 250)
    pm = 500 if usable and session and granted else 0
    assert bench.done[-1] == ("drive", pm, pm, bench.permit, 250) and app.out_pm == pm
    assert ("pid" in bench.names()) is bool(usable and session)  # it follows an oven that is held, too


def test_controller_is_asked_in_degrees_and_told_whether_it_heats(bench):
    app, asked = bench.app, []
    app.pid.update = lambda setpoint_c, pv_c, dt_s, heating: asked.append((setpoint_c, pv_c, dt_s, heating)) or 12.5
    assert app._asked_pct(150.0, 0.25, 0) == 12.5
    assert asked == [(200.0, 150.0, 0.25, 0)]


def test_experiment_under_way_is_asked_instead_of_the_controller(bench):
    app = bench.app
    app.learning = some(experiment=None, output=bench.noting("experiment", 30.0))
    assert app._asked_pct(150.0, 0.25, 1) == 50.0
    app.learning.experiment = object()
    bench.done.clear()
    assert app._asked_pct(150.0, 0.25, 1) == 30.0
    assert bench.done == [("experiment", 150.0, 0.25)]


@pytest.mark.parametrize("passed", [0, 1])
def test_proof_asks_for_no_output_and_ends_once_the_heater_has_tried_everything(bench, passed):
    app = bench.app
    app.heater.prove, app.out_pm = bench.noting("prove", passed), 700
    app._prove(bench.permit, 240)
    assert bench.done == [("prove", bench.permit, 240)] + [("proved",)] * passed
    assert (app.out_pm, app.seen.proving) == (0, 1)


@pytest.mark.parametrize(("session", "cool", "armed"), list(itertools.product((0, 1), repeat=3)))
def test_fan_rests_only_on_an_armed_board_out_of_session_that_is_known_to_be_cool(bench, session, cool, armed):
    app = bench.app
    app.sequence.session, app.supervisor.armed = session, armed
    app.supervisor.warmth.below = lambda mc: cool if mc == 150_000 else None
    app._fan()
    assert bool(bench.done[0][1]) is not bool(not session and cool and armed)


@pytest.mark.parametrize(("granted", "top", "deck", "contactor", "wrote"), list(itertools.product((0, 1), repeat=5)))
def test_flash_may_be_written_only_where_everything_is_off_and_once_a_tick(bench, granted, top, deck, contactor, wrote):
    app = bench.app
    bench.permit.granted, app.memory.wrote = granted, wrote
    app.heater.top.on, app.heater.deck.on, app.heater.contactor_on = top, deck, contactor
    assert app.quiet() is (not any((granted, top, deck, contactor, wrote)))


# --- the link --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "said"),
    [((None, None), []), (("status", None), [("reply", "answer to status")]), ((None, "checksum wrong"),
     [("reply", "no checksum wrong")]), (("", None), [("reply", "answer to ")]),
     (("start", "checksum wrong"), [("reply", "no checksum wrong")])],
)  # fmt: skip
def test_line_is_answered_and_a_damaged_one_does_nothing(bench, monkeypatch, line, said):
    app = bench.app
    app.link.next_line = lambda: line
    monkeypatch.setattr(A.commands, "answer", lambda asked, text: "answer to " + text if asked is app else None)
    assert app._talk() is bool(said)
    assert bench.done == said


def test_missing_permissives_are_those_of_this_board(bench, monkeypatch):
    monkeypatch.setattr(A, "missing", lambda app: ["enable"] if app is bench.app else None)
    assert bench.app.missing_permissives() == ["enable"]
