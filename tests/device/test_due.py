"""What safety owes the flash: which value is written in which tick, and when none is. A stand-in of the App tells."""

import types

import pytest

from host.shim.loader import world

due = world().load("tizzone.evening.due")
S = world().load("tizzone.evening.sequence")
L = world().load("tizzone.safety.limits")


class App:
    """An armed, quiet board of which nothing is due; `wrote`: what went to the flash, in order."""

    def __init__(self):
        self.wrote = []
        self.takes = 1  # the medium takes the latch
        self.is_quiet = True
        self.supervisor = types.SimpleNamespace(
            first_out=L.NONE, armed=1, latch_changed=0, evening_done=lambda: self.wrote.append("evening done")
        )
        self.sequence = types.SimpleNamespace(session=0, arrived=1, state=S.COMPLETE)
        self.dome = types.SimpleNamespace(pv_mc=411_000)
        self.memory = types.SimpleNamespace(
            session_open=0, log=self.wrote.append, keep_latch=self.keep, mark_session=self.mark
        )

    def quiet(self):
        return self.is_quiet

    def keep(self, sup):
        self.wrote.append("latch")
        if self.takes:
            sup.latch_changed = 0
        return self.takes

    def mark(self, is_open):
        self.wrote.append(("session", is_open))
        self.memory.session_open = is_open

    def trip(self, condition=L.NO_RISE):
        self.supervisor.first_out = condition
        self.supervisor.latch_changed = 1

    def ticks(self, made, count=1):
        """What each of so many ticks writes."""
        rows = []
        for _ in range(count):
            self.wrote = []
            self.memory.log = self.wrote.append
            made.write(self)
            rows.append(self.wrote)
        return rows


@pytest.fixture
def app():
    return App()


LINE = "trip " + L.CONDITION_NAMES[L.NO_RISE] + " pv_mc=411000"


def test_nothing_is_written_while_nothing_is_due(app):
    assert app.ticks(due.Due(), 3) == [[], [], []]


def test_trip_writes_its_latch_then_its_line_then_the_end_of_the_evening_a_tick_each(app):
    made = due.Due()
    app.memory.session_open = 1
    app.trip()
    app.sequence.state = S.ABORTED
    assert app.ticks(made, 5) == [["latch"], [LINE], [("session", 0)], [], []]


def test_line_tells_the_reading_of_the_tick_that_tripped(app):
    made = due.Due()
    app.trip()
    app.is_quiet = False
    assert app.ticks(made) == [[]]
    app.dome.pv_mc = 300_000
    app.is_quiet = True
    assert app.ticks(made, 2) == [["latch"], [LINE]]


def test_latch_that_is_cleared_is_stored_and_told(app):
    made = due.Due()
    app.trip()
    app.ticks(made, 3)
    app.trip(L.NONE)
    assert app.ticks(made, 3) == [["latch"], ["latch cleared pv_mc=411000"], []]


def test_latch_that_changes_again_is_stored_in_the_next_tick(app):
    made = due.Due()
    app.trip()
    assert app.ticks(made) == [["latch"]]
    app.trip(L.HIGH_LIMIT)
    assert app.ticks(made) == [["latch"]]


@pytest.mark.parametrize("what", ["armed", "quiet"])
def test_nothing_is_written_while_anything_may_heat_or_before_the_board_is_armed(app, what):
    made = due.Due()
    app.memory.session_open = 1
    app.sequence.state = S.ABORTED
    app.trip()
    if what == "armed":
        app.supervisor.armed = 0
    else:
        app.is_quiet = False
    assert app.ticks(made, 3) == [[], [], []]
    app.supervisor.armed, app.is_quiet = 1, True
    assert app.ticks(made, 3) == [["latch"], [LINE], [("session", 0)]]


def test_latch_that_the_medium_refuses_is_tried_again_every_other_tick_and_the_mark_stays_open(app):
    """An open mark is a second memory of a trip: it may be closed only once the latch is stored."""
    made = due.Due()
    app.memory.session_open = 1
    app.trip()
    app.takes = 0
    assert app.ticks(made, 6) == [["latch"], [LINE], ["latch"], [], ["latch"], []]
    app.takes = 1
    assert app.ticks(made, 3) == [["latch"], [("session", 0), "evening done"], []]


def test_session_mark_stays_open_during_the_session(app):
    app.memory.session_open = app.sequence.session = 1
    assert app.ticks(due.Due(), 2) == [[], []]


@pytest.mark.parametrize("state", [S.STOPPING, S.STOPPED, S.COMPLETE])
@pytest.mark.parametrize("arrived", [0, 1])
def test_evening_that_has_come_to_its_setpoint_and_ended_clears_the_count_of_trips(app, state, arrived):
    app.memory.session_open = 1
    app.sequence.state, app.sequence.arrived = state, arrived
    assert app.ticks(due.Due(), 2) == [[("session", 0)] + ["evening done"] * arrived, []]


@pytest.mark.parametrize("state", [S.IDLE, S.ABORTED, S.HELD, S.RUNNING])
def test_evening_that_ended_otherwise_does_not(app, state):
    app.memory.session_open = 1
    app.sequence.state = state
    assert app.ticks(due.Due(), 2) == [[("session", 0)], []]
