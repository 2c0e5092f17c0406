"""The rules of the relay experiment one by one, on a record that is written by hand; known plants: test_identify.py."""

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.experiment")
RISE, RELAY, FIT, DONE = range(4)


class Record:
    """Stands for the window of samples: `rows` [(K from its base, output in %)]; `full`: a sample is completed."""

    def __init__(self, base_c, sample_s=2.0):
        self.coarse = False
        self.begun = 0
        self.begin(base_c, sample_s)

    def begin(self, base_c, sample_s):
        self.base_c, self.sample_s = base_c, sample_s
        self.rows, self.added, self.full = [], [], False
        self.halves = {}
        self.begun += 1

    count = property(lambda self: len(self.rows))

    def add(self, pv_c, out_pct, dt_s):
        self.added.append((pv_c, out_pct, dt_s))
        return self.full

    def at(self, i):
        if not 0 <= i < len(self.rows):
            raise IndexError(i)
        return self.rows[i]

    def mean_out(self, first, last):
        return sum(out for _, out in self.rows[first:last]) / (last - first)

    def whole_swings(self, first, last):
        return self.halves[first, last]

    def coarsen(self):
        self.coarse = True


def swinging(times, high=100.0, count=300):
    """So many samples in which the output changes so many times, from high on."""
    return [(0.0, high if i * (times + 1) // count % 2 == 0 else 0.0) for i in range(count)]


@pytest.fixture
def trial(monkeypatch):
    monkeypatch.setattr(module, "Window", Record)
    return module.Experiment(levels_c=(150.0, 220.0))


def at_relay(trial, rows=(), level=0, first=None, last=None, last_k=1.5, sample_s=2.0):
    """At a level, with this record and these means of its two halves."""
    trial._at = level
    trial._window = Record(trial.levels_c[level], sample_s)
    trial._window.rows = list(rows)
    trial._window.halves = {(0, 150): (9.0, first), (150, 300): (last_k, last)}
    trial._first_pct = 0.0
    trial._past_c = []
    trial._enter(RELAY)
    return trial._window


# --- what it is made of -------------------------------------------------------------------------


@pytest.mark.parametrize("levels_c", [(60.0,), (230.0,), [150.0, 190.0], (190.0, 230.0), (60.0, 100.0)])
def test_levels_at_their_bounds_are_taken(levels_c):
    assert module.Experiment(levels_c=levels_c).levels_c == tuple(levels_c)


@pytest.mark.parametrize(
    "levels_c", [(), (59.9,), (230.1,), (150.0, 189.9), (190.0, 230.1), (59.9, 150.0), (100.0, 150.0, 200.0)]
)
def test_levels_beyond_their_bounds_are_not(levels_c):
    with pytest.raises(ValueError, match="level"):
        module.Experiment(levels_c=levels_c)


def test_fresh_experiment_rises_at_full_output_and_has_found_nothing(trial):
    assert (trial.levels_c, trial.ambient_c, trial.pid_filter_s, trial.wait_s) == ((150.0, 220.0), 20.0, 4.0, 5.0)
    assert (trial.phase, trial.done, trial.reason, trial.tuning) == (RISE, False, "", None)
    assert (trial._window.base_c, trial._window.sample_s) == (150.0, 2.0)
    assert trial.result() == {
        "ok": False, "reason": "", "tuning": None, "model": None, "steady": [], "power": None, "quality": {},
    }  # fmt: skip
    assert module.Experiment().levels_c == (150.0, 220.0)


def test_stop_is_final_and_learns_nothing(trial):
    trial.tuning = {"ti_s": 1.0}
    trial.stop()
    assert (trial.done, trial.reason, trial.tuning) == (True, "stopped", None)
    trial.stop("later")
    assert trial.reason == "stopped"
    assert trial.step(100.0, 0.25) == 0.0 and trial._window.added == []


# --- what ends it -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pv_c", "dt_s", "reason"),
    [
        (-49.9, 0.25, ""), (-50.0, 0.25, "missing"), (float("nan"), 0.25, "missing"), (600.0, 0.25, "missing"),
        (599.9, 0.25, "too far"), (100.0, 2.0, ""), (100.0, 2.01, "missing"), (100.0, 0.0, "missing"),
        (100.0, -0.25, "missing"), (185.0, 0.25, ""), (185.1, 0.25, "too far"),
    ],
)  # fmt: skip
def test_reading_and_tick_must_be_possible_and_near_the_level(trial, pv_c, dt_s, reason):
    out_pct = trial.step(pv_c, dt_s)
    assert trial.done is bool(reason) and reason in trial.reason
    assert out_pct == (0.0 if reason or pv_c > 150.0 else 100.0)


@pytest.mark.parametrize(("pv_c", "stops"), [(250.0, False), (250.1, True)])
def test_no_level_is_passed_beyond_250_degrees(trial, pv_c, stops):
    at_relay(trial, level=1)
    trial._past_c = [pv_c] * 5
    assert trial.step(pv_c, 0.25) == 0.0
    assert trial.done is stops


@pytest.mark.parametrize(
    ("step_k", "jumps"), [(3.9, False), (4.0, True), (-2.9, False), (-3.0, False), (-3.1, True), (-4.0, True)]
)
def test_reading_that_leaps_ends_it(trial, step_k, jumps):
    trial.step(100.0, 0.25)
    assert trial.step(100.0 + step_k, 0.25) == (0.0 if jumps else 100.0)
    assert trial.done is jumps and ("jumped" in trial.reason) is jumps


@pytest.mark.parametrize(("fall_k_s", "after_s"), [(0.79, None), (0.81, 4.25), (0.99, 3.25), (1.01, 3.0), (1.6, 2.0)])
def test_reading_that_falls_by_three_kelvin_in_four_seconds_ends_it(trial, fall_k_s, after_s):
    """The record holds one reading a second: the oldest is 3 to 4 s old. A closed oven falls by 2 K at most."""
    trial.step(140.0, 0.25)
    for i in range(4 * 12):
        seconds = i / 4
        trial.step(140.0 - fall_k_s * seconds, 0.25)
        if trial.done:
            break
    assert trial.done is (after_s is not None)
    if trial.done:
        assert seconds == after_s


def test_each_second_of_the_past_moves_down_and_ticks_of_any_length_fill_it(trial):
    for i in range(26):  # 0.375 s a tick: a second is full after 3, 3 and 2 of them
        trial.step(100.0 + i, 0.375)
    assert trial._past_c == [115.0, 118.0, 121.0, 123.0, 125.0]
    assert trial._past_s == 0.75  # what is left of a second counts for the next


# --- rising -------------------------------------------------------------------------------------


def test_rise_ends_at_the_level_with_a_record_of_its_own(trial):
    assert trial.step(149.9, 0.25) == 100.0 and trial.phase == RISE
    trial._sample_s, trial._first_pct = 6.0, 40.0
    assert trial.step(150.0, 0.25) == 0.0
    assert trial.phase == RELAY and trial._phase_s == 0.0 and trial._first_pct == 0.0
    assert (trial._window.base_c, trial._window.sample_s) == (150.0, 6.0)
    assert trial._slope_k_s == 0.0  # too short a record tells no slope


def test_output_in_force_goes_into_the_record_with_its_reading_and_time(trial):
    trial.step(100.0, 0.25)
    trial.step(101.0, 0.5)
    assert trial._window.added == [(100.0, 100.0, 0.25), (101.0, 100.0, 0.5)]


def test_level_that_is_not_reached_in_an_hour_ends_it(trial):
    trial._phase_s = 3599.5
    assert trial.step(100.0, 0.5) == 100.0
    assert trial.step(100.0, 0.25) == 0.0
    assert "not reached in an hour" in trial.reason
    late = module.Experiment(levels_c=(150.0,))
    late._phase_s = 3599.9
    late.step(150.0, 0.25)  # reached after all
    assert late.phase == RELAY


@pytest.mark.parametrize(("count", "slope_k_s"), [(23, 0.0), (24, 0.15), (40, 0.15)])
@pytest.mark.parametrize("sample_s", [2.0, 6.0])
def test_slope_is_that_between_two_means_of_four_twenty_samples_apart(trial, count, slope_k_s, sample_s):
    trial._window.rows = [(0.0, 100.0)] * (count - 24) + [(0.15 * sample_s * i, 100.0) for i in range(min(count, 24))]
    trial._window.sample_s = sample_s
    assert trial._slope() == pytest.approx(slope_k_s)


def test_slope_takes_each_of_its_samples(trial):
    for i in range(24):
        trial._window.rows = [(1.0 if k == i else 0.0, 0.0) for k in range(24)]
        share = -1.0 if i < 4 else 1.0 if i >= 20 else 0.0
        assert trial._slope() == pytest.approx(share / 4 / 40.0)


def test_slope_is_taken_when_the_level_is_reached(trial):
    trial._window.rows = [(0.3 * i, 100.0) for i in range(24)]
    trial.step(150.0, 0.25)
    assert trial._slope_k_s == pytest.approx(0.15)
