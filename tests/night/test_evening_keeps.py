"""How an evening ends, and when it writes: only without heat, with the contactor open, and not too often."""

import pytest
from evening_board import BREADS, PLACE, TAUGHT, App, L, M, S, buzzer, told


@pytest.fixture
def plain():
    return App()


@pytest.fixture
def app(monkeypatch):
    """An armed board on which its place is to be stored; `wrote`: the ticks' writes; each takes what is due."""
    made = App()
    made.tick(60)
    made.supervisor.armed = 1
    made.evening.dirty = PLACE
    made.wrote, made.takes = [], True

    def keep(evening, app):
        made.wrote.append(evening.dirty)
        if made.takes:
            evening.dirty = evening.counters.dirty = 0
        else:
            made.memory.failed += 1

    monkeypatch.setattr(M, "keep_next", keep)
    return made


def test_what_changed_is_written_once_and_nothing_where_nothing_did(app):
    app.tick()
    assert app.wrote == [PLACE] and app.evening.keeping == 1
    app.tick(100)
    assert app.wrote == [PLACE] and app.evening.keeping == 0
    app.evening.counters.dirty = 1
    app.tick(2)
    assert app.wrote == [PLACE, 0]


@pytest.mark.parametrize("what", ["permit", "top", "deck", "armed"])
def test_nothing_is_written_while_anything_may_heat_or_before_the_board_is_armed(app, what):
    app.evening.keeping = app.evening.opening = 1
    if what == "permit":
        app.supervisor.permit.granted = 1
    elif what == "armed":
        app.supervisor.armed = 0
    else:
        getattr(app.heater, what).on = 1
    app.tick(4)
    assert app.wrote == [] and (app.evening.keeping, app.evening.opening) == (0, 0)


def test_first_record_is_given_up_once_heat_may_flow(app):
    app.evening.dirty, app.evening.counters.dirty = 0, 1
    app.sequence.state, app.evening.opening = S.RUNNING, 1
    app.evening._session, app.supervisor.permit.granted = 1, 1
    app.tick()
    assert app.evening.opening == 0


def test_write_waits_for_the_contactor_to_open(app):
    app.is_quiet = False
    app.tick(3)
    assert app.wrote == [] and app.evening.keeping == 1
    app.is_quiet = True
    app.tick()
    assert app.wrote == [PLACE]


def test_values_are_written_one_a_tick_until_none_is_left(app, monkeypatch):
    def keep(evening, app):
        app.wrote.append(evening.dirty)
        evening.dirty >>= 1

    monkeypatch.setattr(M, "keep_next", keep)
    app.sequence.state = S.HELD
    app.evening._session = 1
    app.evening.dirty = 4
    app.tick(5)
    assert app.wrote == [4, 2, 1]


@pytest.mark.parametrize(("ago_ms", "writes"), [(9_749, False), (9_750, True)])
@pytest.mark.parametrize("why", ["session", "failed", "opening", "neither"])
def test_in_an_evening_ten_seconds_lie_between_two_writes_and_after_a_failure_as_well(app, ago_ms, writes, why):
    e = app.evening
    e._since_keep_ms = ago_ms
    e.opening = 1 if why == "opening" else 0
    if why in ("session", "opening"):
        app.sequence.state = S.RUNNING
        e._session = 1
    elif why == "failed":
        app.memory.failed = 1
    app.tick()
    assert app.wrote == ([PLACE] if writes or why in ("opening", "neither") else [])


def test_first_record_of_an_evening_is_written_at_once_after_its_start(app):
    app.evening._since_keep_ms = 0
    app.evening.start(app, True)
    app.tick()
    assert app.wrote == [PLACE] and app.evening.opening == 1
    app.tick()
    assert app.evening.opening == 0


def test_counters_alone_are_no_reason_to_open_the_contactor_of_a_running_evening(app):
    e = app.evening
    app.sequence.state = S.RUNNING
    e._session = 1
    e.dirty, e.counters.dirty = 0, 1
    app.tick(3)
    assert app.wrote == [] and e.keeping == 0
    e.keeping = 1  # along with a record
    app.tick()
    assert app.wrote == [0]
    app.sequence.state = S.HELD
    e.counters.dirty, e.keeping, e._since_keep_ms = 1, 0, 20_000
    app.tick()
    assert app.wrote == [0, 0]


def test_medium_that_refuses_is_left_alone_for_ten_seconds(app):
    app.takes = False
    app.tick()
    assert app.wrote == [PLACE] and (app.evening.keeping, app.evening.opening) == (0, 0)
    app.tick(39)
    assert app.wrote == [PLACE]
    app.tick()
    assert app.wrote == [PLACE] * 2


def test_time_since_the_last_write_stops_before_it_could_overflow(app):
    app.evening.dirty = 0
    app.evening._since_keep_ms = M.CAP_MS - 1
    app.tick(3)
    assert app.evening._since_keep_ms == M.CAP_MS
    assert App().evening._since_keep_ms == 10_000  # the first write of a board need not wait


# --- how it ends --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tripped", "changed", "counted"),
    [
        (L.POWER_CUT, 1, "cuts"), (L.WATCHDOG_RESET, 1, "cuts"), (L.NO_RISE, 1, None), (L.POWER_CUT, 0, None),
        (L.NONE, 1, None),
    ],
)  # fmt: skip
def test_first_tick_counts_an_evening_that_was_cut_and_sounds_for_any_trip(plain, tripped, changed, counted):
    plain.supervisor.first_out, plain.supervisor.latch_changed = tripped, changed
    plain.tick(3)
    values = plain.evening.counters.values
    assert (values["cuts"], values["trips"]) == (1 if counted else 0, 0)
    assert plain.plays() == [buzzer.TRIPPED if tripped else buzzer.SILENT]


def test_later_trip_is_counted_and_sounds_until_it_is_acknowledged(plain):
    plain.tick().did.clear()
    plain.supervisor.latch_changed = 1
    for tripped, trips, sound in (
        (L.POWER_CUT, 1, buzzer.TRIPPED),
        (L.NONE, 1, buzzer.SILENT),
        (L.NO_RISE, 2, buzzer.TRIPPED),
    ):
        plain.supervisor.first_out = tripped
        plain.tick(3)
        assert plain.evening.counters.values["trips"] == trips and plain.evening.counters.values["cuts"] == 0
        assert plain.plays() == [sound]


@pytest.mark.parametrize(("session_ms", "at_s"), [(904_749, 904), (904_750, 905), (905_749, 905)])
def test_end_is_told_in_whole_seconds(plain, session_ms, at_s):
    plain.stage(S.SOAK)
    plain.evening.session_ms = session_ms
    plain.tick()
    plain.stage(S.COOL, S.STOPPING)
    assert plain.evening.at_s == at_s


@pytest.mark.parametrize(("tripped", "interrupted"), [(L.NONE, 0), (L.NO_RISE, 2)])
@pytest.mark.parametrize("spots", [0, 1])
def test_end_of_an_evening_is_to_be_stored_and_a_trip_interrupts_it(plain, tripped, interrupted, spots):
    e = plain.evening
    plain.stage(S.SOAK)
    assert e.dirty == PLACE  # its place
    e.session_ms, e.stone.spots_this_evening, e.dirty, e.flow, e.interrupted = 905_700, spots, 0, None, 1
    plain.tick()
    assert e.dirty == 0 and e.interrupted == 1
    plain.supervisor.first_out = tripped
    plain.sequence.leg_done = plain.sequence.breads_done = 3
    plain.stage(S.COOL, S.STOPPING)
    assert e.dirty == PLACE | BREADS | (TAUGHT if spots else 0)
    assert (e.at_s, e.interrupted, e.leg_done, e.done) == (905, interrupted, 3, 3)
    e.dirty = 0
    plain.stage(S.NO_STAGE, S.STOPPED)
    plain.tick(2)
    assert e.dirty == 0


def test_end_lets_the_flow_go(plain):
    plain.stage(S.SOAK)
    plain.evening.flow = told(lean=0.0, fixed=0, tick=lambda *given: None)
    plain.stage(S.COOL, S.STOPPING)
    assert plain.evening.flow is None


def test_trip_at_the_start_is_no_end_of_an_evening(plain):
    plain.supervisor.first_out = L.NO_RISE
    plain.stage(S.COOL, S.ABORTED)
    assert plain.evening.dirty == 0 and plain.evening.interrupted == 0
