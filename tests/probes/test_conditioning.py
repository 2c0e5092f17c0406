"""Conditioning: what counts as a jump, when a new level is believed, median, ages, calibration."""

import pytest
from tizzone.probes.conditioning import Conditioner, calibration_fault
from tizzone.probes.reading import JUMP, NO_VALUE_MC, NONE_YET, OPEN, SHORT_GROUND, SILENT, Reading

TICK_MS = 250
# As they are promised, not as the module has them.
_RISE_MC_PER_TICK = 25_000
_FALL_MC_PER_TICK = 40_000
_CONSISTENT_READINGS = 8
_STALE_MS = 600
_SATURATED_MS = 100_000_000


class Feed:
    """A conditioner fed by hand; every call to `give` is one tick with a new answer."""

    def __init__(self, calibration=None):
        self.reading = Reading()
        self.conditioner = Conditioner(calibration)

    def give(self, value_mc, fault=0, junction_mc=25000, dt_ms=TICK_MS):
        r = self.reading
        r.begin((r.serial * 7) & 0xFFFF, r.serial)
        r.fault = fault
        r.junction_mc = junction_mc
        if not fault:
            r.value_mc = value_mc
        self.conditioner.update(r, dt_ms)
        return self.conditioner


def test_before_the_first_answer_nothing_is_usable():
    feed = Feed()
    c = feed.conditioner
    assert not c.usable and c.fault == NONE_YET and c.same_ms == 0 and c.calibration_fault is None
    for _ in range(10):
        c.update(feed.reading, TICK_MS)
        assert not c.usable and c.fault == NONE_YET
    assert c.bad_ms == c.same_ms == 2500
    assert c.pv_mc == c.limit_mc == NO_VALUE_MC


@pytest.mark.parametrize(
    ("step_mc", "usable"),
    [
        (_RISE_MC_PER_TICK - 1, True),
        (_RISE_MC_PER_TICK, True),
        (_RISE_MC_PER_TICK + 1, False),
        (-_FALL_MC_PER_TICK + 1, True),
        (-_FALL_MC_PER_TICK, True),
        (-_FALL_MC_PER_TICK - 1, False),
    ],
)
def test_a_step_is_plausible_up_to_the_limit_and_not_beyond(step_mc, usable):
    feed = Feed()
    feed.give(300000)
    c = feed.give(300000 + step_mc)
    assert c.usable is usable
    assert c.fault == (0 if usable else JUMP)


@pytest.mark.parametrize(("dt_ms", "allowed_k"), [(100, 25), (250, 25), (400, 40), (500, 50), (600, 50), (5000, 50)])
def test_the_allowed_rise_grows_with_elapsed_time_and_is_bounded(dt_ms, allowed_k):
    for extra_mc, usable in ((0, True), (1, False)):
        feed = Feed()
        feed.give(100000)
        assert feed.give(100000 + allowed_k * 1000 + extra_mc, dt_ms=dt_ms).usable is usable


def test_a_single_spike_is_refused_and_leaves_no_trace():
    feed = Feed()
    for _ in range(3):
        feed.give(450000)
    c = feed.give(510000)
    assert not c.usable and c.pv_mc == 450000 and c.bad_ms == TICK_MS
    assert c.limit_mc == 510000  # the high limit sees it all the same
    c = feed.give(450250)
    assert c.usable and c.bad_ms == 0 and c.pv_mc == 450000


def test_a_new_level_is_believed_after_eight_consistent_rejections():
    feed = Feed()
    feed.give(450000)
    for i in range(_CONSISTENT_READINGS):
        c = feed.give(100000 + 100 * i)
        assert c.fault == JUMP and c.pv_mc == 450000
    assert c.bad_ms == _CONSISTENT_READINGS * TICK_MS  # 2 s: what a supervisor can count on
    c = feed.give(100800)
    assert c.usable and c.pv_mc == 100800


def rejected(feed, value_mc, most=30):
    """How many readings of a new level are refused before it is believed."""
    count = 0
    while count < most and not feed.give(value_mc).usable:
        count += 1
    return count


def test_each_reading_that_disagrees_starts_the_count_of_a_new_level_again():
    feed = Feed()
    feed.give(450000)
    for _ in range(5):
        feed.give(100000)
    assert rejected(feed, 300000) == 8
    for _ in range(5):
        feed.give(100000)
    assert feed.give(300000).usable
    assert rejected(feed, 100000) == 8


@pytest.mark.parametrize("junction_mc, apart_k", [(25000, 25.001), (25000, 40), (37000, 0)])
def test_rejected_readings_agree_only_as_closely_as_believed_ones(junction_mc, apart_k):
    feed = Feed()
    feed.give(450000)
    for i in range(40):  # half of them too far above the one before, by their value or by the chip's own temperature
        c = feed.give(100000 + i % 2 * int(apart_k * 1000), junction_mc=junction_mc if i % 2 else 25000)
        assert c.fault == JUMP


def test_noise_that_never_agrees_is_never_believed():
    feed = Feed()
    feed.give(450000)
    for i in range(200):
        c = feed.give(100000 if i % 2 else 300000)
        assert not c.usable
    assert c.bad_ms == 200 * TICK_MS and c.pv_mc == 450000


def test_a_fault_between_rejected_readings_starts_the_count_again():
    feed = Feed()
    feed.give(450000)
    for _ in range(_CONSISTENT_READINGS):
        feed.give(100000)
    c = feed.give(0, fault=OPEN)
    assert c.fault == OPEN
    for _ in range(_CONSISTENT_READINGS):
        assert feed.give(100000).fault == JUMP
    assert feed.give(100000).usable


def test_a_jump_of_the_chips_own_temperature_is_refused():
    feed = Feed()
    feed.give(450000, junction_mc=25000)
    assert feed.give(450000, junction_mc=29000).usable
    assert feed.give(450000, junction_mc=24999).fault == JUMP
    assert feed.give(450000, junction_mc=28000).usable
    assert feed.give(450000, junction_mc=32001).fault == JUMP


def test_probes_without_a_junction_are_judged_by_their_value_alone():
    feed = Feed()
    feed.give(300000, junction_mc=NO_VALUE_MC)
    assert feed.give(301000, junction_mc=NO_VALUE_MC).usable
    assert feed.give(326001, junction_mc=NO_VALUE_MC).fault == JUMP
    feed.give(301000, junction_mc=NO_VALUE_MC)
    # ... and an answer that tells it is not measured from one that did not, nor the other way round
    assert feed.give(301000, junction_mc=25000).usable
    assert feed.give(301000, junction_mc=NO_VALUE_MC).usable


def test_median_of_three_takes_the_middle():
    feed = Feed()
    feed.give(400000)
    feed.give(401000)
    assert feed.give(409000).pv_mc == 401000
    assert feed.give(402000).pv_mc == 402000
    assert feed.give(403000).pv_mc == 403000


@pytest.mark.parametrize(("gap_ms", "later"), [(500, (400000, 415000)), (501, (420000, 420000))])
def test_readings_from_before_a_long_gap_have_no_vote(gap_ms, later):
    feed = Feed()
    for _ in range(3):
        feed.give(400000)
    assert (feed.give(420000, dt_ms=gap_ms).pv_mc, feed.give(415000).pv_mc) == later


def test_one_spoiled_reading_in_three_leaves_the_process_value_alone():
    feed = Feed()
    for i in range(60):  # a transient of 20 K (no jump: 25 K is) at every third reading, up and down
        spoiled_mc = (20000 if i % 2 else -20000) if i % 3 == 2 else 0
        c = feed.give(450000 + spoiled_mc)
        assert c.usable and c.pv_mc == 450000
        assert c.limit_mc == 450000 + spoiled_mc


def test_a_slow_probe_holds_its_value_between_answers_and_goes_silent_after():
    feed = Feed()
    feed.give(200000)
    c = feed.conditioner
    c.update(feed.reading, _STALE_MS - 1)
    assert c.usable and c.bad_ms == 0
    c.update(feed.reading, 1)
    assert not c.usable and c.fault == SILENT and c.bad_ms == 1
    assert feed.give(200000).usable
    c.update(feed.reading, _STALE_MS - 1)  # from the new answer on
    assert c.usable


def test_a_probe_whose_answers_were_faults_alone_goes_silent_too():
    feed = Feed()
    c = feed.give(0, fault=OPEN)
    c.update(feed.reading, _STALE_MS - 1)
    assert c.fault == OPEN
    for _ in range(4):
        c.update(feed.reading, TICK_MS)
        assert c.fault == SILENT
    feed.give(200000)
    feed.give(0, fault=NONE_YET)  # a chip that has lost its supply and starts again
    c.update(feed.reading, _STALE_MS)
    assert c.fault == SILENT


@pytest.mark.parametrize(
    ("dt_ms", "counts_ms"), [(0, 0), (60_000, 60_000), (60_001, 60_000), (1 << 29, 60_000), (-1, 60_000)]
)
def test_a_time_that_cannot_be_counts_as_a_minute(dt_ms, counts_ms):
    feed = Feed()
    c = feed.conditioner
    c.update(feed.reading, dt_ms)
    assert c.bad_ms == c.same_ms == counts_ms


def test_a_clock_that_goes_back_widens_what_is_allowed_like_any_long_gap():
    feed = Feed()
    feed.give(100000)
    assert feed.give(150000, dt_ms=-1).usable
    assert feed.give(200001, dt_ms=-1).fault == JUMP


@pytest.mark.parametrize("half", ["code_hi", "code_lo"])
def test_the_age_of_the_raw_code_starts_anew_with_either_half(half):
    feed = Feed()
    feed.give(200000)
    r, c = feed.reading, feed.conditioner
    r.serial += 1
    c.update(r, TICK_MS)
    assert c.same_ms == TICK_MS
    r.serial += 1
    setattr(r, half, getattr(r, half) ^ 1)
    c.update(r, TICK_MS)
    assert c.same_ms == 0


def test_the_age_of_the_raw_code_counts_and_saturates():
    feed = Feed()
    feed.give(200000)
    r, c = feed.reading, feed.conditioner
    for i in range(4):
        r.serial += 1  # new answers, same code
        c.update(r, TICK_MS)
        assert c.same_ms == (i + 1) * TICK_MS
    for _ in range(2000):
        c.update(r, 60000)
    assert c.same_ms == c.bad_ms == _SATURATED_MS
    feed.give(200000)
    assert c.same_ms == 0


def test_a_fault_keeps_the_last_value_for_the_record_but_not_as_usable():
    feed = Feed()
    feed.give(450000)
    for n in range(1, 5):
        c = feed.give(0, fault=SHORT_GROUND)
        assert not c.usable and c.bad_ms == n * TICK_MS and c.fault == SHORT_GROUND
    assert c.limit_mc == 450000


CURVE = [[0, 500], [100000, -1000], [400000, 5000]]


def test_calibration_is_piecewise_linear_and_held_beyond_its_ends():
    c = Conditioner(CURVE)
    for reading, expected in (
        (-20000, -19500), (0, 500), (50000, 49750), (100000, 99000), (250000, 252000),
        (400000, 405000), (480000, 485000),
    ):  # fmt: skip
        assert abs(c.calibrated_mc(reading) - expected) <= 2, reading


@pytest.mark.parametrize(
    ("points", "pairs"),
    [
        # a correction that is as large as a reading is not taken for one
        ([[-50000, 15000], [100000, 0]], {-20000: -8000, 10000: 19000}),
        ([[0, 14000], [5000, 15000], [100000, 0]], {10000: 24210}),
        # colder than every point, and warmer
        ([[-50000, 1000], [-40000, 2000]], {-50001: -49001, -20000: -18000, 300000: 302000}),
        ([[i * 100000, i * 1000] for i in range(7)], {550000: 555500, 600000: 606000, 700000: 706000}),
        # points as close as they may lie
        ([[0, 0], [1, 2], [33, 3200]], {0: 0, 1: 3, 33: 3233, 34: 3234}),
        ([[0, 0], [32, 3200], [64, 6400]], {32: 3232, 64: 6464}),
        (((0, 500), (100000, 500)), {50000: 50500}),
    ],
)
def test_calibration_between_and_beyond_points_of_any_curve(points, pairs):
    c = Conditioner(points)
    assert c.calibration_fault is None
    for reading, expected in pairs.items():
        assert abs(c.calibrated_mc(reading) - expected) <= 2, reading
    assert len(c._points) == 14  # the memory of seven points, taken once


def test_calibration_never_lowers_what_the_high_limit_sees():
    feed = Feed([[400000, -14000]])
    c = feed.give(470000)
    assert c.pv_mc == 456000 and c.limit_mc == 470000
    feed = Feed([[400000, 14000]])
    assert feed.give(470000).limit_mc == 484000


@pytest.mark.parametrize(
    ("points", "word"),
    [
        ([[0, 15001]], "15 K"),
        ([[0, -15001]], "15 K"),
        ([[0, 0], [0, 1]], "rise"),
        ([[100, 0], [0, 0]], "rise"),
        ([[0, 15000], [30000, -15000]], "rise"),
        ([[1000001, 0]], "outside"),
        ([[-50001, 0]], "outside"),
        ([["0", 0]], "whole"),
        ([[0, 0.5]], "whole"),
        ([5], "point"),
        (["01"], "point"),
        ([[0.5, 0]], "whole"),
        ([[True, 0]], "whole"),
        ([[0]], "point"),
        ("text", "list"),
        (None, "list"),
        ([[i, 0] for i in range(8)], "at most 7"),
    ],
)
def test_an_absurd_curve_is_refused_and_leaves_no_correction(points, word):
    assert word in calibration_fault(points)
    c = Conditioner(CURVE)
    assert word in c.set_calibration(points)
    assert word in c.calibration_fault
    assert all(c.calibrated_mc(reading) == reading for reading in (-20000, 100000, 480000))


def test_a_curve_at_the_bounds_is_accepted():
    assert calibration_fault([[-50000, 15000], [0, 15000], [1000000, -15000]]) is None
    assert calibration_fault([]) is None


def test_a_jump_is_measured_from_the_last_reading_that_was_believed():
    feed = Feed()
    feed.give(100_000)
    assert not feed.give(200_000).usable  # refused: it must not become what the next one is measured from
    assert not feed.give(210_000).usable
    assert feed.give(105_000).usable
    # ... and from what the chip said, not from the corrected or the filtered value
    shifted = Feed([[0, 15_000], [500_000, 15_000]])
    shifted.give(100_000)
    assert shifted.give(100_000 + _RISE_MC_PER_TICK).usable
    assert not Feed().give(20_000, dt_ms=250).fault
