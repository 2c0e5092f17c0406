"""What a stored record releases: bound to board, map, probes and limit; nothing above what its steps have earned."""

import types

import pytest

from host.pins import pin_map
from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port

WORLD = World()
C = WORLD.load("tizzone.commissioning.release")
PORT = Port(Dark(), "rp2040")


def board(**changes):
    values = vars(pin_map.read("boards/pico.py")) | changes
    return types.SimpleNamespace(**{name: value for name, value in values.items() if value != "gone"})


def done(count):
    return [["MB", "20260105", 0] for _ in range(count)]


def values(**changes):
    return {**WORLD.load("tizzone.memory.settings").defaults(), **changes}


def released(record, pins, **changes):
    with WORLD.running(PORT):
        return C.release(record, pins, values(**changes))


def record(pins, release_c, steps=None, **changes):
    with WORLD.running(PORT):
        return C.record(pins, values(**changes), release_c, steps)


@pytest.mark.parametrize(("count", "release_c"), [(0, 60), (5, 60), (6, 120), (7, 120), (8, 260), (9, 480), (10, 480)])
def test_release_is_earned_by_so_many_steps(count, release_c):
    pins = board()
    assert C.earned_c(count) == release_c
    assert released(record(pins, release_c, done(count)), pins) == (release_c, "")


@pytest.mark.parametrize(("count", "asked_c"), [(5, 120), (7, 260), (8, 480)])
def test_release_above_what_the_steps_have_earned_is_not_understood(count, asked_c):
    pins = board()
    assert released(record(pins, asked_c, done(count)), pins) == (60, "commissioning record not understood")


@pytest.mark.parametrize("stored", [7, [], {}, {"release_c": 100}, {"release_c": 480, "steps": 3},
                                    {"release_c": 60, "steps": [["MB", "x"]]},
                                    {"release_c": 60, "steps": [["MB", "x", 0]] * 11}])  # fmt: skip
def test_release_record_that_makes_no_sense_releases_the_least(stored):
    assert released(stored, board()) == (60, "commissioning record not understood")


def test_release_without_a_record_is_the_least():
    assert released(None, board()) == (60, "not commissioned")


CHANGES = [{"HEAT_TOP": 1},
           {"HEAT_DECK": None}, {"CONTACTOR": 1}, {"CONTACTOR_DRIVE": "pulse"}, {"COOLING_FAN": "gone"},
           {"ENABLE": 1}, {"LIMIT_OK": "gone"}, {"SELECTOR": "gone"}, {"CONTACTOR_OPEN": "gone"},
           {"MAINS_SENSE_TOP": "gone"}, {"MAINS_SENSE_DECK": 1}, {"FAN_OK": 1}, {"DOOR": "gone"}, {"MAINTENANCE": 1},
           {"WATCHDOG_MS": 1}, {"DEADMAN_TIMER": 1}, {"NAME": "other"}, {"MCU": "rp2350"}, {"PROBES": {}}]  # fmt: skip


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: "-".join(change))
def test_release_of_a_map_that_was_changed_since_is_the_least(change):
    kept = record(board(), 480, done(9))
    assert released(kept, board(**change)) == (
        60,
        "board, pin map, probe, limit, correction or zones changed since commissioning",
    )


def test_release_of_another_boards_record_is_the_least():
    pins = board()
    kept = record(pins, 480, done(9))
    machine = WORLD.load("machine")
    real = machine.unique_id
    machine.unique_id = lambda: b"another!"
    try:
        assert released(kept, pins)[0] == 60
    finally:
        machine.unique_id = real
    assert released(kept, pins)[0] == 480


@pytest.mark.parametrize("changes", [{"high_limit_c": 501}, {"exclusive": 1}, {"calibration": {"dome": [[0, 100]]}}])
def test_release_with_another_limit_zones_or_correction_is_the_least(changes):
    pins = board()
    kept = record(pins, 480, done(9))
    assert released(kept, pins, **changes)[0] == 60
    signed = record(pins, 480, done(9), **changes)
    assert released(signed, pins, **changes) == (480, "")
    assert released(signed, pins)[0] == 60


def test_release_with_other_comfort_settings_stands():
    pins = board()
    assert released(record(pins, 480, done(9)), pins, soak_min=3, setpoint_c=200, window_ms=5000) == (480, "")


def test_release_does_not_depend_on_the_order_in_which_a_map_is_written():
    probes = board().PROBES
    kept = record(board(), 480, done(9))
    turned = {name: dict(reversed(list(probes[name].items()))) for name in reversed(list(probes))}
    assert released(kept, board(PROBES=turned))[0] == 480


@pytest.mark.parametrize("stone", [True, False])
def test_release_without_an_independent_limiter_is_120_whatever_the_record_says(stone):
    probes = board().PROBES if stone else {"dome": board().PROBES["dome"]}
    pins = board(LIMIT_OK="gone", PROBES=probes)
    for release_c, steps in ((480, 9), (260, 8)):
        assert released(record(pins, release_c, done(steps)), pins) == (
            120,
            "no independent limiter is wired: nothing above 120 without one",
        )
    assert released(record(pins, 120, done(6)), pins) == (120, "")
    guarded = board(PROBES=probes)
    assert released(record(guarded, 480, done(9)), guarded) == (480, "")


# --- the steps of a record, and what signs it anew ---------------------------------------------------


def steps_of(stored, pins, **changes):
    with WORLD.running(PORT):
        return C.steps(stored, pins, values(**changes))


def test_record_carries_release_mark_and_the_steps_that_were_witnessed():
    pins, witnessed = board(), [["MB", "20260105", n] for n in range(6)]
    kept = record(pins, 120, witnessed)
    assert (kept["release_c"], kept["steps"], sorted(kept)) == (120, witnessed, ["fingerprint", "release_c", "steps"])
    assert len(kept["fingerprint"]) == 8 and int(kept["fingerprint"], 16) >= 0
    assert sorted(record(pins, 120)) == ["fingerprint", "release_c"]
    assert record(pins, 60, [])["steps"] == []
    assert steps_of(kept, pins) == witnessed


@pytest.mark.parametrize(("release_c", "count"), [(60, 0), (120, 6), (260, 8), (480, 9), (100, 0)])
def test_record_without_its_steps_stands_for_so_many_as_its_release_takes(release_c, count):
    pins = board()
    assert steps_of(record(pins, release_c), pins) == [["-", "-", 0]] * count


@pytest.mark.parametrize("witnessed", [[["MB", "x"]], [["MB", "x", 0, 1]], ["MBx"], [("MB", "x", 0)], [3],
                                       [["MB", "x", 0]] * 11])  # fmt: skip
def test_steps_that_make_no_sense_are_none_and_release_nothing(witnessed):
    pins = board()
    kept = record(pins, 60, witnessed)
    assert steps_of(kept, pins) == []
    assert released(kept, pins) == (60, "commissioning record not understood")


def test_every_step_done_is_a_record_that_is_understood():
    pins = board()
    kept = record(pins, 480, done(10))
    assert steps_of(kept, pins) == done(10)
    assert released(kept, pins) == (480, "")


@pytest.mark.parametrize("stored", [None, 7, [], "steps", {}, {"steps": [["MB", "x", 0]]}])
def test_steps_of_what_is_no_record_of_this_board_are_none(stored):
    assert steps_of(stored, board()) == []


def test_steps_of_another_map_or_other_settings_are_none():
    pins = board()
    kept = record(pins, 480, done(9))
    assert steps_of(kept, board(LIMIT_OK="gone")) == []
    assert steps_of(kept, pins, high_limit_c=501) == []
    assert steps_of(kept, pins) == done(9)


def test_contact_that_is_none_is_as_one_that_the_map_does_not_name():
    assert released(record(board(DOOR=None), 480, done(9)), board(DOOR="gone")) == (480, "")


def test_correction_is_part_of_what_is_signed_point_by_point():
    pins = board()
    curves = {"dome": [[0, 100], [200_000, -300]], "stone": [[0, 0]]}
    kept = record(pins, 480, done(9), calibration=curves)
    turned = {"stone": [[0, 0]], "dome": [[0, 100], [200_000, -300]]}
    assert released(kept, pins, calibration=turned) == (480, "")
    other = {"dome": [[0, 100], [200_000, -301]], "stone": [[0, 0]]}
    assert released(kept, pins, calibration=other)[0] == 60


class Signing:
    """An app that stores corrections: `stored` is the record on its flash."""

    def __init__(self, stored, reason="", refuses=False):
        self.board, self.release_reason = board(), reason
        self.signed = {name: values()[name] for name in C.SIGNED}
        self.stored, self.refuses = stored, refuses
        self.memory = types.SimpleNamespace(commissioning=lambda: self.stored, keep_commission=self.keep)

    def keep(self, made):
        if self.refuses:
            return False
        self.stored = made
        return True

    def sign(self, curves):
        with WORLD.running(PORT):
            return C.sign_again(self, curves)


CURVES = {"dome": [[0, 500]]}


@pytest.mark.parametrize("witnessed", [done(9), None])
def test_correction_that_a_person_stores_goes_on_to_hold_with_its_record(witnessed):
    app = Signing(record(board(), 480, witnessed))
    assert app.sign(CURVES) is True
    assert app.signed["calibration"] == CURVES
    assert app.stored.get("steps") == witnessed
    assert released(app.stored, app.board, calibration=CURVES) == (480, "")
    assert released(app.stored, app.board)[0] == 60


@pytest.mark.parametrize(
    ("stored", "reason"), [(None, "not commissioned"), (None, ""), ({"release_c": 480}, "changed")]
)
def test_correction_signs_no_record_that_does_not_hold(stored, reason):
    app = Signing(stored, reason)
    assert app.sign(CURVES) is True
    assert app.stored == stored and app.signed["calibration"] == CURVES


def test_correction_whose_record_cannot_be_stored_is_told():
    app = Signing(record(board(), 480, done(9)), refuses=True)
    assert app.sign(CURVES) is False
