"""Time and pace by heat: bounds, words, what fails, and what old plans keep."""

import math
import types

import pytest

from host import oven
from host.plans import bake_plan
from host.shim.loader import world
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal
from tests.bench.heat_board import Board, club, figures

W = world()
B = W.load("tizzone.evening.bake_plan")
F = W.load("tizzone.evening.flow")
P = W.load("tizzone.evening.plan_in_force")
R = W.load("tizzone.evening.breads")
S = W.load("tizzone.evening.sequence")


class Stone:
    """A stone that the test sets."""

    def __init__(self):
        self.surface_c = self.core_c = 430.0
        self.bread_c, self.sigma_k, self.thick = 80.0, 5.0, 1.0

    def ready_at_c(self, wanted_c):
        return wanted_c


def leg(**values):
    made = {row[0]: row[1] for row in B.FIELDS}
    made |= {"dome_c": 450, "share_pct": 50, "breads": 12, "bake_s": 90, "stone_c": 440, "base_kj": 1290} | values
    found = [made[row[0]] for row in B.FIELDS]
    assert B.leg_fault(found) is None
    return found


@pytest.fixture
def bench():
    """(flow, app, sequence) with a bread just laid."""
    return laid()


def laid(**values):
    seq = S.Sequence(300_000)
    seq.use_plan([leg(**values)], 200_000)
    seq.start(False)
    heater = types.SimpleNamespace(top=types.SimpleNamespace(on=1))
    app = types.SimpleNamespace(
        evening=types.SimpleNamespace(stone=Stone(), breads=R.Breads()),
        heater=heater,
        sequence=seq,
        dome=types.SimpleNamespace(pv_mc=450_000),
    )
    flow = P.flow_for(seq.legs)()
    turn(flow, app, S.LOAD)
    turn(flow, app, S.BAKE)
    return flow, app, seq


def turn(flow, app, stage):
    app.sequence._enter(stage)
    flow.tick(app, app.sequence, 250)


def pass_time(flow, app, seconds, steps=True):
    for _ in range(int(seconds / 2)):
        app.sequence.stage_ms += 2000
        flow.tick(app, app.sequence, 2000)
        if steps:
            flow.step(app, app.sequence)


def test_time_ends_when_the_base_has_its_heat(bench):
    flow, app, seq = bench
    while seq.stage_ms < seq.bake_ms:
        pass_time(flow, app, 2)
    assert flow.heat.base_kj == pytest.approx(1290.0, rel=0.03)
    assert seq.bake_ms != 90_000


@pytest.mark.parametrize(("surface_c", "bound_ms"), [(900.0, 63_000), (250.0, 135_000)], ids=["hot", "cold"])
def test_time_stays_within_seventy_and_a_hundred_and_fifty_per_cent(bench, surface_c, bound_ms):
    flow, app, seq = bench
    app.evening.stone.surface_c = surface_c
    pass_time(flow, app, 20)
    assert seq.bake_ms == bound_ms


def test_last_seconds_of_a_bake_do_not_move(bench):
    flow, app, seq = bench
    while seq.bake_ms - seq.stage_ms > 12_000:
        pass_time(flow, app, 2)
    set_ms = seq.bake_ms
    app.evening.stone.surface_c = 100.0
    pass_time(flow, app, 8)
    assert seq.bake_ms == set_ms


@pytest.mark.parametrize("what", ["stale", "nan", "unsure", "cold", "endless"])
def test_failing_estimate_leaves_the_seconds_of_the_plan(bench, what):
    flow, app, seq = bench
    pass_time(flow, app, 20)
    assert seq.bake_ms != 90_000
    assert not flow.fixed
    stone = app.evening.stone
    if what == "nan":
        stone.surface_c = math.nan
    elif what == "unsure":
        stone.sigma_k = 60.0
    elif what == "cold":
        stone.surface_c = 20.0
    elif what == "endless":
        app.dome.pv_mc = 3_000_000
    pass_time(flow, app, 14, steps=what != "stale")
    assert flow.fixed
    assert seq.bake_ms == 90_000
    assert flow.line().endswith("by=seconds")
    assert not flow.rules(seq)
    turn(flow, app, S.RECOVER)
    assert not flow.rules(seq)  # the stone's own rule, as without heat


def test_next_bread_is_tried_by_heat_again(bench):
    flow, app, seq = bench
    pass_time(flow, app, 14, steps=False)
    assert flow.fixed
    turn(flow, app, S.RECOVER)
    flow.step(app, seq)
    turn(flow, app, S.BAKE)
    pass_time(flow, app, 20)
    assert not flow.fixed
    assert seq.bake_ms != 90_000


def test_next_bread_is_due_when_base_and_top_would_get_their_heat():
    flow, app, seq = laid(stretch_pct=5)
    while seq.stage_ms < seq.bake_ms:
        pass_time(flow, app, 2)
    turn(flow, app, S.RECOVER)
    stone = app.evening.stone
    stone.bread_c = 30.0
    for _ in range(30):
        pass_time(flow, app, 2)
    assert flow.rules(seq)
    enough_c = flow.wanted_c
    stone.surface_c = stone.core_c = enough_c + 0.5
    pass_time(flow, app, 2)
    assert stone.surface_c >= flow.wanted_c  # the base has enough
    app.dome.pv_mc = 200_000
    pass_time(flow, app, 240)
    assert stone.surface_c < flow.wanted_c  # but the top would not
    slower, app, seq = laid(stretch_pct=0)
    while seq.stage_ms < seq.bake_ms:
        pass_time(slower, app, 2)
    turn(slower, app, S.RECOVER)
    app.evening.stone.bread_c = 30.0
    pass_time(slower, app, 60)
    assert slower.wanted_c > enough_c


def recovering(by_heat, stone_ready):
    seq = S.Sequence(300_000)
    assert not seq.by_heat  # until somebody says so
    seq.use_plan([leg(recover_s=60, wait_min=1)], 200_000)
    seq.start(False)
    seq._enter(S.RECOVER)
    seq.by_heat, seq.stone_ready = by_heat, stone_ready
    return seq


@pytest.mark.parametrize(("by_heat", "due_mc"), [(1, 410_000), (0, 445_000)], ids=["by heat", "by seconds"])
def test_next_bread_is_due_at_its_floor_below_the_setpoint_and_not_under_it(by_heat, due_mc):
    seq = recovering(by_heat, 1)
    for _ in range(480):
        seq.step(due_mc - 1, True, False, False, False, 250)
    assert seq.stage == S.RECOVER
    seq.step(due_mc, True, False, False, False, 250)
    assert (seq.stage, seq.unready, seq.by_heat) == (S.LOAD, 0, 0)  # and said anew of the next


def test_longest_recovery_by_heat_is_that_of_a_dome_that_is_back():
    seq = recovering(1, 0)
    for _ in range(480):  # 120 s: longer than the plan's longest
        seq.step(444_999, True, False, False, False, 250)
    assert seq.stage == S.RECOVER
    seq.step(445_000, True, False, False, False, 250)
    assert (seq.stage, seq.unready) == (S.LOAD, 1)


def test_heat_is_not_asked_before_the_door_for_the_bread_shows_in_the_reading():
    """A bread just out: the dome still reads its setpoint and says nothing of the heat that the open door takes."""
    flow, app, seq = laid(stretch_pct=20)
    while seq.stage_ms < seq.bake_ms:
        pass_time(flow, app, 2)
    turn(flow, app, S.RECOVER)
    told = []
    for _ in range(12):
        pass_time(flow, app, 2)
        told.append((seq.stage_ms, seq.by_heat))
    assert [by_heat for at_ms, by_heat in told if at_ms < 16_000] == [0] * 7
    assert [by_heat for at_ms, by_heat in told if at_ms >= 16_000] == [1] * 5


def test_estimate_that_stands_still_gives_the_next_bread_back_to_the_dome(bench):
    flow, app, seq = bench
    turn(flow, app, S.RECOVER)
    pass_time(flow, app, 20)
    assert seq.by_heat
    pass_time(flow, app, 12, steps=False)
    assert (seq.by_heat, flow.fixed) == (0, 1)


def test_words_move_the_wanted_heats_by_small_steps_and_within_bounds():
    book = R.Breads()
    for n in range(8):
        book.begin(n * 200, 440, 450, 50, 0)
    assert F.words_pct(book) == (0, 0)
    book.take_words(0, 1, 2, 50)
    assert F.words_pct(book) == (0, 5)
    book.take_words(1, 2, 3, 50)
    assert F.words_pct(book) == (-5, 5)
    book.take_words(2, 3, 1, 50)
    assert F.words_pct(book) == (-3, 3)
    for n in range(3, 8):
        book.take_words(n, 1, 1, 50)
    assert F.words_pct(book) == (7, 13)
    for n in range(8):
        book.take_words(n, 3, 3, 50)
    assert F.words_pct(book) == (-25, -25)


def test_word_about_a_bread_is_heard_by_the_next_and_told():
    flow, app, seq = laid()
    pass_time(flow, app, 2)
    assert flow.base_kj == 1290.0
    app.evening.breads.begin(0, 440, 450, 50, 0)
    app.evening.breads.take_words(0, 2, 1, 50)
    pass_time(flow, app, 2)
    assert flow.base_kj == pytest.approx(1354.5)
    assert flow.moved_line(app.evening.breads) == "wanted heat base +5 %, top +0 %"


def test_thicker_bread_warms_more_slowly():
    _, app, _ = laid(bread_g_dm2=66)
    assert app.evening.stone.thick == 1.5
    _, app, _ = laid()
    assert app.evening.stone.thick == 1.0


@pytest.mark.parametrize("name", bake_plan.shipped())
def test_plan_without_heats_is_sent_and_run_as_before(name):
    plan = bake_plan.load(name)
    for one in plan.legs:
        one.update(base_kj=0, stretch_pct=0, bread_g_dm2=0)
    legs = plan.compact()["legs"]
    assert {len(one) for one in legs} == {B.OLD_FIELDS}
    assert P.flow_for(legs) is None
    assert P.flow_for(()) is None  # settings alone


def test_leg_has_all_of_the_old_or_all_of_the_new_numbers():
    whole = leg()
    assert B.leg_fault(whole[:13]) is None
    assert "13 or 16" in B.leg_fault(whole[:14])
    assert "13 or 16" in B.leg_fault([*whole, 0])
    whole[B.STONE] = 0
    assert B.leg_fault(whole) == "base_kj needs stone_c"


@pytest.mark.slow
def test_board_without_room_for_it_bakes_by_seconds_and_says_so(monkeypatch):
    real = P.flow_for.__globals__["__builtins__"]["__import__"]

    def full(name, *rest):
        if name == "tizzone.evening.flow":
            raise MemoryError
        return real(name, *rest)

    monkeypatch.setitem(P.flow_for.__globals__["__builtins__"], "__import__", full)
    board = Board(oven.sample(605), club(base_kj=1290, breads=2), seed=605)
    assert board.app.evening.plan.flow is None
    board.run()
    assert figures(board)["bake_s"] == [90, 90]
    assert board.app.evening.breads.line(1).endswith("seconds")


@pytest.mark.parametrize("gone", [0, 1])
def test_flow_is_loaded_with_its_plan_and_leaves_with_it(gone):
    """In an evening loading would make a tick late, which is a trip."""
    board = Board(oven.sample(605), club(base_kj=0 if gone else 1290, stretch_pct=0), seed=605)
    assert (board.app.evening.plan.flow is None) == bool(gone)
    board.app.evening.plan.use(board.app, None)
    assert board.app.evening.plan.flow is None


def test_recovery_after_a_power_cut_needs_no_bread_before_it(bench):
    _, app, seq = bench
    flow = F.Flow()
    turn(flow, app, S.RECOVER)
    pass_time(flow, app, 20)
    assert flow.rules(seq)
    assert flow.wanted_c > 300.0


@pytest.mark.slow
def test_evening_over_the_board_takes_another_plan_and_none():
    """What followed the heat is gone with the evening: an idle board has no legs to look at."""
    board = Board(oven.sample(605), club(base_kj=1290, breads=2), seed=605).run()
    app = board.app
    assert app.evening.flow is None
    app.sequence.state = S.IDLE
    app.evening.plan.use(app, None)
    assert app.sequence.legs == ()
    for _ in range(40):
        board.tick()
    app.evening.start(app, False)
    assert app.evening.flow is None
    for _ in range(40):
        board.tick()


@pytest.fixture(scope="module")
def two_evenings():
    """An unseen oven, twelve breads: (by seconds, by heat)."""
    changes = {"stone_probe_depth_mm": 7.5}
    return [
        Board(oven.sample(605, **changes), club(**more), (7.5, 0), seed=605).run()
        for more in ({"base_kj": 0, "stretch_pct": 0}, {"base_kj": 1290, "stretch_pct": 10})
    ]


@pytest.mark.slow
def test_evening_by_heat_is_faster_and_stays_even(two_evenings):
    """The twelfth bakes like the second: what was aimed at is 1.06 and 1.08, highest to lowest."""
    seconds, heat = (figures(board) for board in two_evenings)
    assert len(two_evenings[1].breads) == 12
    assert heat["pace_s"] < 0.85 * seconds["pace_s"]
    assert heat["base"] < 1.06
    assert heat["top"] < 1.08
    assert set(seconds["bake_s"]) == {90}
    assert min(heat["bake_s"]) >= 63
    assert max(heat["bake_s"]) <= 135


@pytest.mark.slow
def test_bread_baked_by_seconds_says_so_in_its_record_and_in_the_cue():
    """A stone that is not known after a restart of the board in a hot oven: seconds until it is."""
    told = []

    class Lost(Board):
        def tick(self):
            if self.app.sequence.stage == S.BAKE and len(self.breads) == 1:
                self.app.evening.stone.state_var = 3600.0
                cue = W.load("tizzone.evening.cue")._in_session(self.app, self.app.sequence)
                told.append(cue[0])
            elif len(self.breads) == 2:
                self.app.evening.stone.state_var = 49.0
            super().tick()

    board = Lost(oven.sample(605), club(base_kj=1290, breads=3), seed=605).run()
    assert [round(each.out_s - each.laid_s) for each in board.breads][1] == 90
    assert [each["fixed"] for each in board.told] == [0, 1, 0]
    assert told[-1] == "fixed: out in"
    assert len(told[-1]) <= 15  # the panel's line
    notes = [board.app.evening.breads.line(n).split("notes=")[1] for n in range(3)]
    assert ["seconds" in each for each in notes] == [False, True, False]


@pytest.mark.slow
def test_next_bread_by_heat_is_foretold_once_the_door_for_the_last_shows():
    told = []

    class Told(Board):
        def tick(self):
            super().tick()
            seq = self.app.sequence
            if seq.stage == S.RECOVER:
                told.append((seq.stage_ms, seq.by_heat, W.load("tizzone.evening.cue").next_s(self.app)))

    board = Told(oven.sample(605), club(base_kj=1290, stretch_pct=5, breads=3), (7.5, 0), seed=605)
    board.run()
    early = {words for at_ms, _, words in told if at_ms < 16_000}
    assert early == {"not known yet"}
    assert {by_heat for at_ms, by_heat, _ in told if at_ms > 20_000} == {1}
    assert any(words.startswith("~") for at_ms, _, words in told if at_ms > 20_000)


@pytest.mark.slow
def test_supervisor_bears_an_evening_by_heat_on_an_oven_that_is_slow_to_come_back():
    """Breads laid before the dome was back were taken for a slipped probe here, at the sixth, while the rule's time
    away went on through them."""
    plan = club(base_kj=1290, stretch_pct=20, breads=8)
    with Rehearsal(oven.third(602, stone_probe_depth_mm=7.5), cook=Cook(plan=plan)) as rehearsal:
        rehearsal.advance(5)
        for line in plan.lines():
            assert rehearsal.send(line).startswith("~ok")
        rehearsal.send("start")
        while rehearsal.now_s < 4 * 3600 and rehearsal.state in ("running", "held"):
            rehearsal.advance(10)
        assert (rehearsal.trip, rehearsal.state, len(rehearsal.plant.baked)) == ("none", "complete", 8)
