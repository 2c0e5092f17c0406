"""More output than this oven needs: a probe that slips out of the heat, judged only where nothing else explains it."""

import pytest
from safety_bench import TICK_MS, Bench, L, load

SETPOINT_MC = 250_000
NEED_PM = 220


class Oven:
    """A rule fed with an output, near the setpoint unless told otherwise."""

    def __init__(self, setpoint_mc=SETPOINT_MC, hold_pm=450):
        self.rule = load("safety.slipped").Slipped(hold_pm)
        self.setpoint_mc = setpoint_mc
        self.give(0, 0, session=0)

    def give(self, out_pm, ms=TICK_MS, off_mk=0, session=1):
        for _ in range(max(1, ms // TICK_MS)):
            self.rule.judge(self.setpoint_mc + off_mk, self.setpoint_mc, session, out_pm, TICK_MS)
            if self.rule.slipped:
                return True
        return False

    def settled(self, out_pm=NEED_PM):
        assert not self.give(out_pm, 2 * L.SLIP_SETTLE_MS)
        return self


MOST_PM = NEED_PM * L.SLIP_RATIO_PCT // 100 + L.SLIP_MORE_PM


@pytest.mark.parametrize(
    ("out_pm", "slips"), [(NEED_PM, False), (MOST_PM - 1, False), (MOST_PM + 14, True), (1000, True)]
)
def test_slipped_half_as_much_again_for_minutes_is_too_much(out_pm, slips):
    assert Oven().settled().give(out_pm, 1_800_000) is slips


def test_slipped_takes_its_time_but_no_longer():
    oven = Oven().settled()
    assert not oven.give(1000, L.SLIP_MS)
    assert oven.give(1000, L.SLIP_SMOOTH_MS)


@pytest.mark.parametrize("off_mk", [L.CALM_MK + 1, -L.CALM_MK - 1])
def test_slipped_a_reading_away_from_the_setpoint_is_left_out(off_mk):
    oven = Oven().settled()
    for _ in range(20):
        assert not oven.give(1000, 120_000)
        assert not oven.give(1000, 1_000, off_mk)
    assert oven.rule.least_64 > 0  # what the oven needs is kept over doors and breads


@pytest.mark.parametrize("off_mk", [L.CALM_MK, -L.CALM_MK])
def test_slipped_a_reading_within_the_calm_band_counts(off_mk):
    oven = Oven()
    assert not oven.give(NEED_PM, 2 * L.SLIP_SETTLE_MS, off_mk)
    assert oven.give(1000, 600_000, off_mk)


def test_slipped_before_the_oven_has_settled_nothing_is_too_much():
    oven = Oven()
    assert not oven.give(1000, L.SLIP_SETTLE_MS - TICK_MS)
    assert oven.rule.least_64 == -1
    assert not oven.give(300, 3_600_000)  # it drank more while it warmed through, and needs less now


@pytest.mark.parametrize(("change_mk", "anew"), [(L.SLIP_SAME_MK, False), (L.SLIP_SAME_MK + 1, True),
                                                 (-L.SLIP_SAME_MK, False), (-L.SLIP_SAME_MK - 1, True)])  # fmt: skip
def test_slipped_another_setpoint_begins_anew(change_mk, anew):
    oven = Oven().settled()
    oven.setpoint_mc += change_mk
    oven.give(NEED_PM)
    assert (oven.rule.least_64 == -1) is anew


def test_slipped_the_end_of_the_evening_forgets_everything():
    oven = Oven().settled()
    assert oven.give(1000, 900_000)
    oven.rule.judge(SETPOINT_MC, SETPOINT_MC, 0, 0, TICK_MS)
    assert (oven.rule.slipped, oven.rule.least_64, oven.rule.over_ms, oven.rule.calm_ms) == (0, -1, 0, 0)


def test_slipped_rest_after_an_overshoot_is_not_what_the_oven_needs():
    oven = Oven()
    oven.give(0, L.SLIP_SETTLE_MS + 600_000)  # heat stored in the walls: nothing was asked for
    expected_pm = oven.rule.most_64() / 64
    assert expected_pm > NEED_PM * 0.9  # 60 % of the expected output, half as much again, and 6 %
    assert not oven.give(NEED_PM - 10, 1_800_000)


@pytest.mark.parametrize(("need_pm", "slips"), [(L.SLIP_SPARE_PM - 10, True), (L.SLIP_SPARE_PM + 10, False)])
def test_slipped_nearly_full_output_is_too_much_for_an_oven_that_had_some_to_spare(need_pm, slips):
    oven = Oven(450_000).settled(need_pm)
    assert oven.give(L.SLIP_FULL_PM + 20, 1_800_000) is slips


@pytest.mark.parametrize(("setpoint_mc", "judged"), [(L.SLIP_FROM_MC - 1, False), (L.SLIP_FROM_MC, True)])
def test_slipped_low_setpoints_are_not_judged(setpoint_mc, judged):
    oven = Oven(setpoint_mc)
    oven.give(100, 2 * L.SLIP_SETTLE_MS)
    assert oven.give(1000, 1_800_000) is judged


@pytest.mark.parametrize("setpoint_mc", [150_000, 450_000, 530_000])
def test_slipped_stays_within_small_integers_at_any_setpoint(setpoint_mc):
    oven = Oven(setpoint_mc, 1000)
    oven.settled(1000)
    assert 0 < oven.rule.most_64() < 1 << 30
    assert oven.rule.out_64 == 64_000 or oven.rule.out_64 > 63_000


def test_slipped_trips_the_supervisor_and_disowns_the_probe():
    bench = Bench(stone=False, sensed=False)
    bench.contactor(1)
    bench.relays(1, 1)
    bench.set_setpoint(SETPOINT_MC)
    bench.dome.reads(SETPOINT_MC)
    for out_pm, ms in ((NEED_PM, 2 * L.SLIP_SETTLE_MS), (1000, 900_000)):
        bench.seen.out_pm = out_pm
        for n in range(ms // TICK_MS):
            bench.dome.reads(SETPOINT_MC + n % 2 * 100)
            bench.tick()
            bench.sup.attendance.confirm()
    assert bench.first == "probe-slipped"
    assert not bench.sup.warmth.below(L.RESTART_MAX_MC)
