"""What the experiment refuses as disturbed, rule by rule: rises, swings, the swing after the record, the stone."""

import pytest
from test_experiment_rules import DONE, FIT, RELAY, RISE, at_relay, module, swinging, trial  # noqa: F401

NEAR = {"rel": 1e-9}


def rise(trial, seconds, level, tick_s=0.5):  # noqa: F811
    """The last 40 K of a rise to a level, in so many seconds for the last 30 K."""
    trial._at = level
    trial._enter(RISE)
    trial._past_c = []
    level_c = trial.levels_c[level]
    reading_c = level_c - 40.0
    step_k = 30.0 * tick_s / seconds
    while trial.phase == RISE:
        reading_c = min(reading_c + step_k, level_c)
        if reading_c > level_c - step_k / 2:
            reading_c = level_c
        trial.step(reading_c, tick_s)


@pytest.mark.parametrize(("held_pct", "share"), [(13.0, 0.9209), (26.0, 0.8182), (60.0, 0.3115), (90.0, 0.2453)])
def test_what_the_oven_loses_counts_for_nothing_in_the_time_of_a_rise(trial, held_pct, share):  # noqa: F811
    """Held by 13 % at 150 in a room of 20: 11.5 % at 135, 18.5 % at 205, so 81.5 of 88.5 % heat it further."""
    trial.steady = [(150.0, held_pct)]
    assert trial._spare(1) / trial._spare(0) == pytest.approx(share, rel=1e-3)
    rise(trial, 100.0, 0)
    rise(trial, 100.0, 1)
    assert trial.quality["slower"] == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize(("seconds", "refused"), [(100.0, False), (109.0, False), (111.5, True), (60.0, False)])
def test_last_thirty_kelvin_that_take_longer_to_the_second_level_are_refused(trial, seconds, refused):  # noqa: F811
    rise(trial, 100.0, 0)
    assert trial.phase == RELAY and trial.quality == {}
    assert trial._last_before_s == pytest.approx(100.0, abs=1.0)
    trial.steady = [(150.0, 0.0)]
    rise(trial, seconds, 1)
    assert trial.quality["slower"] == pytest.approx(seconds / 100.0, abs=0.01)
    assert trial.phase == (DONE if refused else RELAY)
    assert ("full output heats less than before: was the mains changed" in trial.reason) is refused


def test_last_kelvins_count_from_thirty_below_the_level_on(trial):  # noqa: F811
    for reading_c in (119.9, 120.0, 123.0, 126.0):
        trial.step(reading_c, 0.5)
    assert trial._last_s == 1.5
    trial._last_s = 7.0
    trial._past_c = []
    trial.step(150.0, 0.5)
    assert (trial._last_before_s, trial._last_s) == (7.5, 0.0)


class Watch:
    """Stands for the watch over the swings: says what it is told to, keeps what it is asked."""

    def __init__(self):
        self.asked, self.odd_add, self.odd_turn, self.is_over, self.weaker = [], False, False, False, 0.95

    def begin(self, rough):
        self.asked.append(("begin", rough))

    def add(self, pv_c, dt_s, heats):
        self.asked.append(("add", pv_c, dt_s, heats))
        return self.odd_add

    def turned(self, heats, on_pct):
        self.asked.append(("turned", heats, on_pct))
        return self.odd_turn

    def over(self):
        self.asked.append(("over",))
        return self.is_over


@pytest.fixture
def watch(trial):  # noqa: F811
    trial._swing_watch = Watch()
    return trial._swing_watch


@pytest.mark.parametrize(("high_pct", "rough"), [(100.0, 0), (99.0, 1), (40.0, 1)])
def test_swings_of_a_level_begin_with_its_output(trial, watch, high_pct, rough):  # noqa: F811
    trial._high_pct = high_pct
    trial.step(150.0, 0.25)
    assert watch.asked == [("begin", rough)]


def test_less_heat_begins_the_swings_anew(trial, watch):  # noqa: F811
    at_relay(trial, [(0.0, 12.0)] * 300)
    trial._slower()
    assert watch.asked == [("begin", 1)]


def test_every_tick_and_every_turn_at_a_level_is_watched(trial, watch):  # noqa: F811
    at_relay(trial)
    trial._out_pct, trial._high_pct = 0.0, 40.0
    trial.step(148.0, 0.25)
    trial.step(147.0, 0.5)
    trial.step(150.0, 0.25)
    trial.step(153.0, 0.25)
    expected = [
        ("add", 148.0, 0.25, False),
        ("add", 147.0, 0.5, False),
        ("turned", True, 40.0),
        ("add", 150.0, 0.25, True),
        ("add", 153.0, 0.25, True),
        ("turned", False, 40.0),
    ]
    assert watch.asked == expected and not trial.done


@pytest.mark.parametrize("name", ["odd_add", "odd_turn"])
@pytest.mark.parametrize("reading_c", [150.0, 153.0])
def test_swing_unlike_those_before_is_refused(trial, watch, name, reading_c):  # noqa: F811
    at_relay(trial)
    setattr(watch, name, True)
    out_pct = trial.step(reading_c, 0.25)
    odd = name == "odd_add" or reading_c > 152.5
    assert trial.done is odd and ("swings as it did not before: was the mains" in trial.reason) is odd
    assert out_pct == (0.0 if odd else 100.0)


def test_level_that_settles_is_over_for_the_watch(trial, watch):  # noqa: F811
    at_relay(trial)
    trial._settled(41.0, 40.0, 1.0)
    assert watch.asked == [("over",)] and trial.phase == RISE and trial._out_pct == 0.0


def told(trial, reading_c):  # noqa: F811
    """One tick at this reading, whatever the one before was."""
    trial._past_c = []
    return trial.step(reading_c, 0.25)


def sealed(trial, out_pct):  # noqa: F811
    window = at_relay(trial, level=1)
    trial._sealed, trial._out_pct = 1, out_pct
    return window


def test_after_the_record_a_whole_heating_half_is_awaited_and_not_recorded(trial, watch):  # noqa: F811
    window = sealed(trial, 100.0)
    window.full = True
    for reading_c, out_pct, stands in ((221.0, 100.0, 1), (223.0, 0.0, 1), (220.0, 0.0, 1), (217.0, 100.0, 2)):
        assert told(trial, reading_c) == out_pct
        assert (trial.phase, trial._sealed) == (RELAY, stands)
    assert told(trial, 220.0) == 100.0 and trial._sealed == 2
    assert told(trial, 223.0) == 0.0
    assert (trial.phase, trial._phase_s) == (FIT, 0.0)
    assert trial.quality == {"weaker": 0.95} and window.added == []
    assert watch.asked[-1] == ("over",)


def test_record_that_is_still_open_does_not_wait_for_a_half(trial, watch):  # noqa: F811
    at_relay(trial, level=1)
    trial._out_pct = 0.0
    for reading_c in (217.0, 220.0, 223.0):
        told(trial, reading_c)
        assert trial._sealed == 0 and trial.phase == RELAY


@pytest.mark.parametrize(
    ("level", "sample_s", "times", "coarse"),
    [(1, 6.0, 6, True), (1, 6.0, 7, False), (1, 12.0, 6, False), (0, 6.0, 6, False)],
)
def test_oven_with_few_swings_in_half_an_hour_gets_a_whole_one_at_the_last_level(trial, level, sample_s, times, coarse):  # noqa: F811
    window = at_relay(trial, swinging(times), level=level, first=40.0, last=40.0, sample_s=sample_s)
    window.full, trial._sample_s = True, 6.0
    trial.step(trial.levels_c[level], 0.25)
    assert window.coarse is coarse
    assert bool(trial.steady) is not coarse


def test_heat_that_achieves_less_at_the_second_level_is_refused(trial, watch):  # noqa: F811
    sealed(trial, 0.0)
    watch.is_over, watch.weaker = True, 0.8
    told(trial, 217.0)
    assert told(trial, 223.0) == 0.0
    assert trial.done and "the heat achieves less than before: was the mains" in trial.reason
    assert trial.quality == {"weaker": 0.8}


def test_stone_that_sinks_is_refused_in_every_phase_but_the_fit(trial):  # noqa: F811
    asked_of = []
    trial._stone_watch.add = lambda *asked: asked_of.append(asked) or True
    assert trial.step(100.0, 0.25, 80.0) == 0.0
    assert asked_of == [(80.0, 100.0, 0.25)]
    assert trial.done and trial.reason == "the stone sank: was a bread laid?"
    other = module.Experiment()
    other._stone_watch.add = lambda *asked: asked_of.append(asked) or False
    assert other.step(100.0, 0.25) == 100.0
    assert asked_of[1] == (None, 100.0, 0.25)


def test_last_half_that_was_odd_ends_it_although_nothing_more_is_awaited(trial, watch):  # noqa: F811
    sealed(trial, 100.0)
    trial._sealed, watch.odd_turn = 2, True
    assert told(trial, 223.0) == 0.0
    assert trial.done and "swings as it did not before" in trial.reason
