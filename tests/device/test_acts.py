"""What a person may do to a running board, act by act: in order, all of it or nothing, with a word about why not."""

import types

import pytest

from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port

WORLD = World()
S = WORLD.load("tizzone.evening.sequence")
A = WORLD.load("tizzone.link.acts")
P = WORLD.load("tizzone.safety.permissives")
L = WORLD.load("tizzone.safety.limits")


def some(**values):
    return types.SimpleNamespace(**values)


class App:
    """What the acts know of a board. `done`: what was done to it, in order."""

    def __init__(self, state=None, missing=(), refusal="", refuses=(), below=True):
        self.done, self.refuses = [], refuses
        self.missing, self.below = list(missing), below
        self.sequence = some(
            state=S.IDLE if state is None else state, session=0,
            stop=lambda: self.note("stop"), set_setpoint=lambda mc: self.note(("setpoint", mc)),
        )  # fmt: skip
        self.evening = some(
            plan=some(refusal=lambda app: refusal), start=lambda app, sensed: self.note(("start", app is self, sensed))
        )
        self.memory = some(
            mark_session=lambda is_open: self.keep(("mark", is_open)), keep_latch=lambda sup: self.keep("latch"),
            flag_maintenance=lambda: self.keep("flag"),
        )  # fmt: skip
        self.heater = some(contactor_on=0, heat_off=lambda: self.note("heat off"))
        self.supervisor = some(
            attendance=some(confirm=lambda: self.note("confirmed")), latch_changed=0,
            warmth=some(below=lambda mc: self.below if mc == 80_000 else None),
        )  # fmt: skip
        self.pid = some(reset=lambda: self.note("pid"), retarget=lambda sp_c, pv_c: self.note(("retarget", sp_c, pv_c)))
        self.dome = some(usable=True, pv_mc=150_000)
        self.seen = some(top_sense=-1, deck_sense=-1)
        self.out_pm, self.reset_due, self.witness = 700, False, None
        self.acts = A.Acts(self)

    def missing_permissives(self):
        return self.missing

    def note(self, what):
        self.done.append(what)
        return True

    def keep(self, what):
        name = what if isinstance(what, str) else what[0]
        if name in self.refuses:
            return False
        return self.note(what)


# --- start -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("top", "deck", "sensed"), [(-1, -1, False), (0, -1, True), (-1, 0, True), (2, 2, True)])
def test_start_marks_the_evening_as_open_before_anything_may_heat(top, deck, sensed):
    app = App()
    app.seen.top_sense, app.seen.deck_sense = top, deck
    assert app.acts.start_evening() == "ok"
    assert app.done == [("mark", 1), "pid", "confirmed", ("start", True, sensed)]


def test_start_names_everything_that_stands_against_it_and_does_nothing():
    app = App(missing=["enable", "door-shut"], state=S.RUNNING, refusal="the plan is not known")
    assert app.acts.start_evening() == "no missing: enable,door-shut"
    assert app.done == []


@pytest.mark.parametrize("state", range(len(S.STATES)))
def test_start_is_for_a_board_whose_last_evening_is_over(state):
    app = App(state=state, refusal="the plan is not known")
    over = state in (S.IDLE, S.STOPPED, S.COMPLETE)
    expected = "no the plan is not known" if over else f"no an evening is on ({S.STATES[state]})"
    assert app.acts.start_evening() == expected
    assert app.done == []
    app = App(state=state)
    assert (app.acts.start_evening() == "ok") is over


def test_start_without_a_mark_on_the_flash_is_refused():
    app = App(refuses=("mark",))
    assert app.acts.start_evening() == "no the board cannot store its session mark"
    assert app.done == []


# --- stop, maintenance, setpoint -----------------------------------------------------------------------


def test_stop_has_the_heat_off_before_it_answers():
    app = App()
    assert app.acts.stop_now() is True
    assert app.done == ["stop", "heat off"] and app.out_pm == 0
    app.sequence.stop = lambda: False
    assert app.acts.stop_now() is False
    assert app.done[-1] == "heat off"


def test_maintenance_keeps_the_latch_then_the_flag_and_resets_last():
    app = App()
    assert app.acts.enter_maintenance() == "ok resetting into maintenance"
    assert (app.done, app.reset_due) == (["flag"], True)
    app = App()
    app.supervisor.latch_changed = 1
    assert app.acts.enter_maintenance() == "ok resetting into maintenance"
    assert (app.done, app.reset_due) == (["latch", "flag"], True)


@pytest.mark.parametrize(
    ("session", "contactor", "below", "refuses", "reply"),
    [
        (1, 0, True, (), "no an evening is on: stop it first"),
        (0, 1, True, (), "no an evening is on: stop it first"),
        (1, 1, False, (), "no an evening is on: stop it first"),
        (0, 0, False, ("latch", "flag"), "no the oven is not known to be below 80: the fan must run on"),
        (0, 0, True, ("latch", "flag"), "no the board cannot store its latch"),
        (0, 0, True, ("flag",), "no the board cannot store the flag"),
    ],
)
def test_maintenance_that_is_refused_says_why_and_resets_nothing(session, contactor, below, refuses, reply):
    app = App(refuses=refuses, below=below)
    app.sequence.session, app.heater.contactor_on, app.supervisor.latch_changed = session, contactor, 1
    assert app.acts.enter_maintenance() == reply
    assert app.reset_due is False and "flag" not in app.done


@pytest.mark.parametrize("usable", [True, False])
def test_setpoint_goes_to_the_sequence_and_where_a_reading_is_believed_to_the_controller(usable):
    app = App()
    app.dome.usable = usable
    app.acts.change_setpoint(250_000)
    assert app.done == [("setpoint", 250_000)] + [("retarget", 250.0, 150.0)] * usable


# --- what is loaded for one act --------------------------------------------------------------------------


class Room:
    """Whether a module finds room on the board, and what was collected before it was asked for."""

    def __init__(self, monkeypatch, name):
        self.asked = []
        load, gc = WORLD.load, WORLD.load("gc")
        monkeypatch.setattr(gc, "collect", lambda: self.asked.append("collected"))

        def scarce(wanted):
            if wanted == name:
                self.asked.append("loaded")
                raise MemoryError("no room")
            return load(wanted)

        monkeypatch.setattr(WORLD, "load", scarce)


def test_witness_that_finds_no_room_changes_nothing(monkeypatch):
    app = App()
    room = Room(monkeypatch, "tizzone.commissioning.witness")
    assert app.acts.load_witness() is False
    assert app.witness is None and room.asked == ["collected", "loaded"]


def test_witness_is_made_of_the_board_that_asks():
    app = App()
    app.board = some(PROBES={})
    app.signed = {"high_limit_c": 500, "exclusive": 0, "calibration": {}}
    app.memory.commissioning = lambda: None
    app.heater.top = app.heater.deck = some(switchings=0)
    app.heater.contactor_switchings = 0
    with WORLD.running(Port(Dark(), "rp2040")):
        assert app.acts.load_witness() is True
    assert app.witness.steps == []


def test_tuning_that_finds_no_room_is_told_and_not_stored(monkeypatch):
    app = App()
    room = Room(monkeypatch, "tizzone.link.learn_commands")
    WORLD.modules.pop("tizzone.link.learn_commands", None)
    WORLD.load("tizzone.memory.settings")
    WORLD.load("tizzone.parts")
    WORLD.modules["tizzone.link"].__dict__.pop("learn_commands", None)
    assert app.acts.keep_tuning({}) == "failed: no room to store it: reset the board, then learn before anything else"
    assert room.asked == ["collected", "loaded"]
    assert not {"tizzone.memory.settings", "tizzone.parts"} & set(WORLD.modules)  # let go all the same
    monkeypatch.undo()


@pytest.mark.parametrize("stored", [True, False])
def test_tuning_is_stored_whole_and_what_that_took_is_let_go(stored):
    app, kept = App(), []
    WORLD.load("tizzone.parts")
    app.settings = {"ti_s": 260.0}
    app.controller = lambda values: ("controller", values["ti_s"])
    app.memory.keep_settings = lambda values: stored and not kept.append(values)
    before = app.pid
    assert app.acts.keep_tuning({"ti_s": 300.0}) == (
        "done: ti_s=300" if stored else "failed: the board cannot store it"
    )
    assert kept == ([{"ti_s": 300.0}] if stored else [])
    assert (app.pid == ("controller", 300.0)) is stored and (app.pid is before) is not stored
    assert app.settings == {"ti_s": 300.0 if stored else 260.0}
    gone = ("tizzone.link.learn_commands", "tizzone.memory.settings", "tizzone.parts")
    assert not set(gone) & set(WORLD.modules)


# --- what stands against heat ------------------------------------------------------------------------------


class Ready:
    """A board with nothing against heat."""

    def __init__(self):
        self.supervisor = some(armed=1, first_out=L.NONE, holding=0, stopping=0, limit_mc=500_000)
        self.seen = some(enable=1, limit_ok=1, selector_ours=1, fan_ok=1, fan_on=1, door_shut=1)
        self.dome = some(usable=True, limit_mc=499_999)


NAMES = ("armed", "no-trip", "no-hold", "no-stop", "enable", "limiter", "selector-ours", "fan", "door-shut", "reading",
         "below-limit")  # fmt: skip
AGAINST = [
    ("supervisor", "armed", 0, "armed"), ("supervisor", "first_out", L.NO_RISE, "no-trip"),
    ("supervisor", "holding", 1, "no-hold"), ("supervisor", "stopping", 1, "no-stop"), ("seen", "enable", 0, "enable"),
    ("seen", "limit_ok", 0, "limiter"), ("seen", "selector_ours", 0, "selector-ours"), ("seen", "fan_ok", 0, "fan"),
    ("seen", "door_shut", 0, "door-shut"), ("dome", "usable", False, "reading"),
    ("dome", "limit_mc", 500_000, "below-limit"), ("supervisor", "limit_mc", 499_999, "below-limit"),
]  # fmt: skip


@pytest.mark.parametrize(("part", "name", "value", "word"), AGAINST)
def test_each_thing_that_stands_against_heat_is_named_by_itself(part, name, value, word):
    app = Ready()
    setattr(getattr(app, part), name, value)
    assert P.missing(app) == [word]


def test_board_with_nothing_against_heat_names_each_permissive_and_misses_none():
    app = Ready()
    assert P.missing(app) == []
    assert tuple(name for name, _ in P.permissives(app)) == NAMES
    assert all(good for _, good in P.permissives(app))


def test_fan_at_rest_is_not_missing_until_it_is_asked_to_turn():
    app = Ready()
    app.seen.fan_ok = app.seen.fan_on = 0
    assert P.missing(app) == []
