"""What a board is put together from: every setting in its place and unit, and no heat where the self-test says no."""

import types

import pytest

from host.pins import pin_map
from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port
from host.shim.simfs import SimFS

WITNESS = "tizzone.commissioning.witness"


def some(**values):
    return types.SimpleNamespace(**values)


class Board:
    """A board that parts.py has built in a World of its own, so that what was loaded for it shows."""

    def __init__(self, release_c=480, board="pico", pins=(), compiled=False, **settings):
        self.world = World()
        self.world.load("tizzone.loading").COMPILED = compiled
        values = vars(pin_map.read(f"boards/{board}.py")) | dict(pins)
        self.pins = some(**{name: value for name, value in values.items() if value != "gone"})
        self.port = Port(Dark(), "rp2040", self.pins, SimFS())
        with self.world.running(self.port):
            load = self.world.load
            self.values = {**load("tizzone.memory.settings").defaults(), **settings}
            release = load("tizzone.commissioning.release")
            app = self.app = some(board=self.pins, settings=self.values, panel=None)
            app.heater = load("tizzone.board_io.heater").Heater(self.pins)
            record = release.record(self.pins, self.values, release_c) if release_c else None
            app.memory = some(faults=[], commissioning=lambda: record, store=load("tizzone.memory.store").Store())
            self.parts = load("tizzone.parts")
            self.collected = []
            self.world.modules["gc"].collect = lambda: self.collected.append(WITNESS in self.world.modules)
            self.parts.build(app, self.values)

    def loaded(self, name):
        return name in self.world.modules


SETTINGS = {
    "setpoint_c": 300, "high_limit_c": 470, "restart_c": 200, "attend_c": 90, "attend_min": 7, "session_max_min": 111,
    "window_ms": 12_000, "min_switch_ms": 750, "exclusive": 1, "mains_hz": 60, "top_share_pct": 61,
    "learned_rise_s": 600, "hold_pct": 41.0, "kc_pct_per_k": 1.5, "ti_s": 333.0, "td_s": 4.0, "lead_s": 17.0,
    "rise_k_s_pct": 0.004,
}  # fmt: skip


def test_parts_take_every_setting_in_their_own_unit():
    app = Board(**SETTINGS).app
    heater, sup, pid = app.heater, app.supervisor, app.pid
    assert (heater.window_ms, heater.min_ms, heater.exclusive) == (12_000, 750, 1)
    assert (sup.limit_mc, sup.release_mc, sup.ceiling_mc, sup.restart_mc) == (470_000, 480_000, 450_000, 200_000)
    attendance = sup.attendance
    assert (attendance.attend_mc, attendance.attend_ms) == (90_000, 7 * 60_000)
    assert attendance.session_max_ms == 111 * 60_000
    assert (sup.weak.learned_ms, sup.slipped.hold_pm) == (600_000, 410)
    assert (pid.kc_pct_per_k, pid.ti_s, pid.td_s, pid.lead_s) == (1.5, 333.0, 4.0, 17.0)
    assert (pid.hold_pct, pid.rise_k_s_pct, pid.adapt) == (41.0, 0.004, False)
    assert (app.top_share_pct, app.contacts.quarter_us) == (61, 4166)  # a quarter of 1/60 s
    assert app.sequence.setpoint_mc == 300_000
    assert app.signed == {"high_limit_c": 470, "exclusive": 1, "calibration": {}}


def test_parts_of_a_long_window_make_a_controller_that_answers_more_calmly():
    for window_ms in (10_000, 20_000):
        made = Board(window_ms=window_ms, kc_pct_per_k=50.0)
        pid = made.world.load("tizzone.control.pid").Pid(kc_pct_per_k=50.0, window_s=window_ms / 1000)
        assert made.app.pid.kc_pct_per_k == pytest.approx(pid.kc_pct_per_k) and pid.kc_pct_per_k < 50.0


def test_parts_tuning_that_nobody_changed_adapts_itself():
    assert Board().app.pid.adapt is True
    assert Board(window_ms=10_000, hold_pct=40.0).app.pid.adapt is True
    assert Board(lead_s=21.0).app.pid.adapt is False


def test_parts_setpoint_is_never_above_what_is_released():
    app = Board(release_c=120, setpoint_c=450).app
    assert (app.sequence.setpoint_mc, app.supervisor.limit_mc) == (120_000, 160_000)


@pytest.mark.parametrize(
    ("release_c", "pins", "earned_c", "reduced"),
    [(480, (), 480, 0), (260, (), 260, 0), (None, (), 60, 1), (480, (("LIMIT_OK", "gone"),), 120, 1)],
)
def test_parts_witness_is_there_only_while_something_is_left_to_do(release_c, pins, earned_c, reduced):
    made = Board(release_c, pins=pins)
    app = made.app
    assert (app.release_c, app.supervisor.release_reduced, bool(app.release_reason)) == (
        earned_c,
        reduced,
        bool(reduced),
    )
    unfinished = earned_c < 480 or reduced
    assert (app.witness is not None) is bool(unfinished)
    assert made.loaded(WITNESS) is bool(unfinished)
    assert app.learning is None and app.panel is None
    # Room is made before anything is loaded, and again behind the witness: a module made from its source leaves much.
    assert made.collected[0] is False and any(made.collected) is bool(unfinished)


def test_parts_highest_release_with_a_reason_against_it_still_has_steps_to_show():
    made = Board(480)
    release = made.world.load("tizzone.commissioning.release")
    made.parts.release = lambda *_: (480, "a reason")
    with made.world.running(made.port):
        made.parts.build(made.app, made.values)
    assert made.app.witness is not None and made.app.supervisor.release_reduced == 1
    assert release.release is not made.parts.release


@pytest.mark.parametrize("names", [("dome", "stone"), ("dome",)])
def test_parts_probes_are_those_of_the_map_each_behind_its_own_conditioner(names):
    curves = {"dome": [[0, 1_000]], "stone": [[0, 2_000]]}
    probes = {name: pin_map.read("boards/pico.py").PROBES[name] for name in names}
    app = Board(pins=[("PROBES", probes)], calibration=curves).app
    assert tuple(app.probes) == names
    assert app.seen.dome is app.dome and app.seen.stone is app.stone and app.dome is not app.stone
    assert app.dome.calibrated_mc(100_000) == 101_000
    assert (app.stone.calibrated_mc(100_000) if app.stone else None) == (102_000 if len(names) == 2 else None)
    assert app.memory.faults == []
    assert len({id(probe) for probe in app.probes.values()}) == len(names)


def test_parts_correction_that_makes_no_sense_is_told_by_its_probe():
    app = Board(calibration={"dome": [[0, 99_000]], "stone": [[0, 0]]}).app
    assert len(app.memory.faults) == 1 and app.memory.faults[0].startswith("dome: ")


def test_parts_panel_is_made_where_one_is_wired():
    app = Board(board="pico_panel").app
    assert app.panel is not None


def test_parts_modules_of_a_start_are_loaded_once_and_named_to_be_let_go():
    made = Board()
    assert set(made.parts.START_ALONE) == {
        "tizzone.parts", "tizzone.probes.chips", "tizzone.commissioning.release", "tizzone.memory.settings",
        "tizzone.evening.bake_plan", "tizzone.safety.conditions",
    }  # fmt: skip
    assert all(made.loaded(f"tizzone.link.{name}_commands") for name in ("bread", "oven", "plan", "stone"))
    assert type(made.app.evening) is made.world.load("tizzone.evening.evening").Evening


def test_parts_of_a_compiled_board_leave_the_commands_until_they_are_asked_for():
    made = Board(compiled=True)
    assert not any(made.loaded(f"tizzone.link.{name}_commands") for name in ("bread", "oven", "plan", "stone"))


# --- the self-test -------------------------------------------------------------------------------------


def findings(parts, follows=1, mirror=1, hangs=1, dome=0, stone=0):
    """(passed, faults) of a self-test with these findings; what this start has found before is in the log with them."""
    logged = []
    app = some(
        heater=some(follows=lambda: follows, survives_a_hang=lambda: hangs), seen=some(mirror_open=mirror),
        probes={"dome": some(check=lambda: dome), "stone": some(check=lambda: stone)},
        memory=some(faults=["found before"], log=logged.append),
    )  # fmt: skip
    passed = parts.self_test(app)
    assert logged == app.memory.faults and logged[0] == "found before"
    return passed, logged[1:]


PINS = "self-test: a heat pin does not follow"
CLOSED = "self-test: the contactor is not released"
HANGS = "self-test: no hard timer here: newer firmware, or a pulsed contactor with its monostable"


def test_self_test_passes_only_where_nothing_is_wrong_and_tells_everything_that_is():
    made = Board()
    names = made.world.load("tizzone.probes.reading").FAULT_NAMES
    parts = made.parts
    assert findings(parts) == (True, [])
    assert findings(parts, mirror=-1) == (True, [])  # not wired
    assert findings(parts, follows=0) == (False, [PINS])
    assert findings(parts, mirror=0) == (False, [CLOSED])
    assert findings(parts, hangs=0) == (False, [HANGS])
    assert findings(parts, dome=1) == (False, ["self-test: dome probe: " + names[1]])
    assert findings(parts, stone=2) == (False, ["self-test: stone probe: " + names[2]])
    everything = [PINS, CLOSED, HANGS, "self-test: dome probe: " + names[3], "self-test: stone probe: " + names[4]]
    assert findings(parts, 0, 0, 0, 3, 4) == (False, everything)
