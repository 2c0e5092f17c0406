"""The relay experiment at its level, one rule after the other: switching, settling, what is refused, what is found."""

import pytest
from test_experiment_rules import DONE, FIT, RELAY, RISE, at_relay, module, swinging, trial  # noqa: F401

NEAR = {"rel": 1e-9}


@pytest.mark.parametrize(
    ("before_pct", "pv_c", "out_pct"),
    [
        (0.0, 147.4, 80.0),
        (0.0, 147.5, 0.0),
        (80.0, 147.5, 80.0),
        (80.0, 152.5, 80.0),
        (80.0, 152.6, 0.0),
        (0.0, 152.6, 0.0),
    ],
)
def test_output_turns_two_and_a_half_kelvin_beyond_the_level(trial, before_pct, pv_c, out_pct):  # noqa: F811
    at_relay(trial)
    trial._out_pct, trial._high_pct = before_pct, 80.0
    assert trial.step(pv_c, 0.25) == out_pct
    assert trial._window.added == [(pv_c, before_pct, 0.25)]  # with what was in force before


def test_mean_output_of_the_first_five_minutes_is_kept(trial):  # noqa: F811
    at_relay(trial)
    trial._out_pct = 0.0
    trial.step(140.0, 0.5)
    assert trial._first_pct == pytest.approx(100.0 * 0.5 / 300.0, **NEAR)
    trial._phase_s = 299.5
    trial.step(140.0, 0.5)
    assert trial._first_pct == pytest.approx(100.0 / 300.0, **NEAR)
    trial.step(140.0, 0.5)  # beyond them
    assert trial._first_pct == pytest.approx(100.0 / 300.0, **NEAR)


@pytest.mark.parametrize("times", range(9))
def test_swings_are_counted_by_the_changes_of_the_output(trial, times):  # noqa: F811
    at_relay(trial, swinging(times))
    assert trial._swings() == times
    at_relay(trial, [(0.0, 100.0 - out) for _, out in swinging(times)])
    assert trial._swings() == times


@pytest.mark.parametrize(
    ("outs", "found"),
    [
        ([100, 26, 100], 0), ([100, 25, 100], 0), ([100, 24, 100], 2), ([0, 74, 0], 0), ([0, 75, 0], 0),
        ([0, 76, 0], 2), ([51, 76, 24], 1), ([50, 76, 24], 2), ([51, 24], 1), ([50, 24], 0), ([100, 60, 40, 60], 0),
    ],
)  # fmt: skip
@pytest.mark.parametrize("high_pct", [100.0, 40.0])
def test_swing_counts_from_a_quarter_to_three_quarters_of_the_output(trial, outs, found, high_pct):  # noqa: F811
    at_relay(trial, [(0.0, out * high_pct / 100) for out in outs])
    trial._high_pct = high_pct
    assert trial._swings() == found


@pytest.mark.parametrize(("times", "longer"), [(6, True), (7, False)])
def test_oven_that_swings_too_seldom_gets_a_longer_record_and_less_heat(trial, times, longer):  # noqa: F811
    window = at_relay(trial, swinging(times), first=50.0, last=10.0)
    window.full = True
    trial._out_pct = 100.0
    mean_pct = window.mean_out(0, 300)
    out_pct = trial.step(150.0, 0.25)
    high_pct = min(100.0, 2.5 * mean_pct) if longer else 100.0
    assert trial._high_pct == out_pct == pytest.approx(high_pct)
    assert window.begun == (2 if longer else 1)
    assert trial._sample_s == trial._window.sample_s == (6.0 if longer else 2.0)
    assert trial._window.base_c == 150.0 and trial.phase == RELAY


@pytest.mark.parametrize(
    ("out_pct", "high_pct"), [(8.0, 30.0), (12.0, 30.0), (13.0, 32.5), (39.0, 97.5), (40.0, 100.0), (60.0, 100.0)]
)
def test_less_heat_is_two_and_a_half_times_the_mean_within_30_and_100(trial, out_pct, high_pct):  # noqa: F811
    for before_pct, after_pct in ((100.0, high_pct), (0.0, 0.0)):
        at_relay(trial, [(0.0, out_pct)] * 300)
        trial._out_pct = before_pct
        trial._slower()
        assert trial._high_pct == pytest.approx(high_pct)
        assert trial._out_pct == pytest.approx(after_pct)


def test_longer_record_is_not_made_longer_again(trial):  # noqa: F811
    window = at_relay(trial, swinging(2), first=50.0, last=40.0, sample_s=6.0)
    window.full, trial._sample_s = True, 6.0
    trial.step(150.0, 0.25)
    assert window.begun == 1 and trial.phase == RELAY and not trial.steady and not window.coarse


@pytest.mark.parametrize(("count", "full", "looks"), [(300, True, True), (299, True, False), (300, False, False)])
def test_record_is_judged_when_it_is_full_and_once_a_sample(trial, count, full, looks):  # noqa: F811
    window = at_relay(trial, swinging(9)[:count], first=40.0, last=40.0)
    window.full = full
    trial.step(150.0, 0.25)
    assert bool(trial.steady) is looks


@pytest.mark.parametrize(
    ("first", "last", "end"),
    [
        (44.7, 40.0, "settled"),
        (44.9, 40.0, "goes on"),
        (35.3, 40.0, "settled"),
        (35.1, 40.0, "goes on"),
        (40.0, 47.9, "goes on"),
        (40.0, 48.0, "goes on"),
        (40.0, 48.1, "refused"),
        (40.0, 40.0, "settled"),
        (56.0, 50.0, "goes on"),
    ],
)
def test_level_is_settled_within_twelve_per_cent_and_an_oven_that_needs_more_is_refused(trial, first, last, end):  # noqa: F811
    window = at_relay(trial, swinging(9), first=first, last=last)
    window.full = True
    out_pct = trial.step(150.0, 0.25)
    assert bool(trial.steady) is (end == "settled")
    assert trial.done is (end == "refused")
    assert ("needs more than before" in trial.reason) is (end == "refused")
    assert out_pct == 0.0 or end == "goes on"


@pytest.mark.parametrize(("times", "refused"), [(6, False), (7, True)])
def test_oven_with_few_swings_may_need_more_for_a_while(trial, times, refused):  # noqa: F811
    window = at_relay(trial, swinging(times), first=30.0, last=40.0, sample_s=12.0)
    window.full, trial._sample_s = True, 6.0
    trial.step(150.0, 0.25)
    assert trial.done is refused


def test_oven_that_swings_too_seldom_is_not_settled_yet(trial):  # noqa: F811
    at_relay(trial, swinging(6), first=40.0, last=40.0).full = True
    trial.step(150.0, 0.25)
    assert trial.steady == [] and trial.phase == RELAY and trial._sample_s == 6.0


def test_less_heat_goes_by_each_sample_of_the_record(trial):  # noqa: F811
    at_relay(trial, [(0.0, 100.0)] + [(0.0, 12.0)] * 299)
    trial._slower()
    assert trial._high_pct == pytest.approx(2.5 * (100.0 + 299 * 12.0) / 300, **NEAR)


def test_level_that_settles_at_the_last_moment_has_settled(trial):  # noqa: F811
    at_relay(trial, swinging(9), first=40.0, last=40.0).full = True
    trial._phase_s = 7200.0
    trial.step(150.0, 0.25)
    assert trial.steady and not trial.done and trial.reason == ""


def test_level_that_does_not_settle_in_two_hours_ends_it(trial):  # noqa: F811
    at_relay(trial)
    trial._phase_s = 7199.5
    trial.step(150.0, 0.5)
    assert not trial.done
    trial.step(150.0, 0.25)
    assert "did not settle" in trial.reason


def settle(trial, first_pct, slope_k_s, **more):  # noqa: F811
    window = at_relay(trial, swinging(9), first=42.0, last=40.0, **more)
    window.full = True
    trial._first_pct, trial._slope_k_s = first_pct, slope_k_s
    trial._phase_s = 600.0
    return trial.step(trial.levels_c[trial._at], 0.25)


def test_first_level_leads_to_the_second(trial):  # noqa: F811
    trial._sample_s = 6.0
    assert settle(trial, 40.0, 0.3) == 0.0
    assert trial.steady == [(151.5, 40.0)]  # the mean reading there, and what held it
    assert trial._rise_k_s_pct == pytest.approx(0.005, **NEAR)  # by each per cent beyond what the level needs
    assert (trial.phase, trial._at, trial._phase_s) == (RISE, 1, 0.0)
    assert (trial._window.base_c, trial._window.sample_s) == (220.0, 6.0)
    assert trial.quality == {} and trial._sealed == 0
    trial._past_c = []
    assert trial.step(150.0, 0.25) == 100.0  # and up again


def test_mean_output_near_all_of_it_tells_no_endless_rise(trial):  # noqa: F811
    settle(trial, 99.5, 0.3)
    assert trial._rise_k_s_pct == pytest.approx(0.3, **NEAR)


def test_record_of_the_last_level_is_closed_when_it_has_settled(trial):  # noqa: F811
    assert settle(trial, 40.0, 0.3, level=1) == 100.0  # one swing more
    assert trial.quality == {"settling_pct": pytest.approx(-5.0), "switches": 9}
    assert (trial.phase, trial._sealed) == (RELAY, 1)
    assert trial.steady == [(221.5, 40.0)]


@pytest.mark.parametrize(("times", "enough"), [(6, False), (7, True)])
def test_record_of_the_last_level_needs_seven_swings(trial, times, enough):  # noqa: F811
    window = at_relay(trial, swinging(times), level=1, first=40.0, last=40.0, sample_s=12.0)
    window.full, trial._sample_s = True, 6.0
    trial.step(220.0, 0.25)
    assert (trial.phase, trial._sealed) == ((RELAY, 1) if enough else (DONE, 0))
    assert ("too few swings" in trial.reason) is not enough


# --- the fit ------------------------------------------------------------------------------------


class Fitted:
    """What the judgement has at its end: the model's k and lag."""

    def __init__(self, k=0.6, tau1_s=100.0):
        self.best, self.times = (0.01, k, 0.0, 1.0), (8.0, tau1_s, 3.0)


GOOD = {"kc_pct_per_k": 4.0, "ti_s": 120.0, "td_s": 20.0, "lead_s": 25.0}


def fitting(trial, monkeypatch, *pieces):  # noqa: F811
    """In the fit, whose pieces are these."""
    asked = []
    monkeypatch.setattr(module, "judgement", lambda *named: asked.append(named) or iter(pieces))
    window = at_relay(trial, level=1)
    trial._rise_k_s_pct = 0.006
    trial.steady = [(150.0, 20.0), (220.0, 40.0)]
    trial._enter(FIT)
    return window, asked


def test_fit_is_a_piece_a_tick_and_its_end_the_tuning(trial, monkeypatch):  # noqa: F811
    fit = Fitted()
    window, asked = fitting(trial, monkeypatch, (fit, "", None), (fit, "", None), (fit, "", dict(GOOD)))
    for _ in range(2):
        assert trial.step(220.0, 0.25) == 0.0
        assert trial.phase == FIT and trial.tuning is None and not trial.done
    assert trial.step(220.0, 0.25) == 0.0
    assert asked == [(window, trial.quality, 4.0, 5.0)] and window.added == []
    found = dict(GOOD, rise_k_s_pct=pytest.approx(0.90 * 0.006, **NEAR))
    assert trial.tuning == found and trial.done
    result = trial.result()
    assert result["ok"] is True and result["reason"] == "" and result["tuning"] == found
    assert result["model"] == {"k": 0.6, "theta_s": 8.0, "tau1_s": 100.0, "tau2_s": 3.0}
    power = module.T.power_model(150.0, 20.0, 220.0, 40.0, 20.0)
    assert result["power"] == power is not None
    assert result["steady"] == [(150.0, 20.0), (220.0, 40.0)]


def test_power_needs_two_levels_and_a_tuning(trial, monkeypatch):  # noqa: F811
    fitting(trial, monkeypatch, (Fitted(), "", dict(GOOD)))
    assert trial.result()["power"] is None
    trial.step(220.0, 0.25)
    trial.steady = trial.steady[:1]
    assert trial.result()["ok"] and trial.result()["power"] is None


def test_fit_that_finds_nothing_says_why(trial, monkeypatch):  # noqa: F811
    fit = Fitted()
    fitting(trial, monkeypatch, (fit, "", None), (fit, "no model fits the record", None))
    trial.step(220.0, 0.25)
    trial.step(220.0, 0.25)
    assert trial.done and trial.tuning is None and trial.reason == "no model fits the record"
    fit.best = None
    assert trial.result()["model"] is None


@pytest.mark.parametrize(("k", "agrees"), [(0.239, False), (0.241, True), (1.79, True), (1.81, False)])
def test_model_and_rise_must_tell_of_the_same_oven(trial, monkeypatch, k, agrees):  # noqa: F811
    """Rate per per cent by the fit against that by the rise: 0.4 to 3 times."""
    fitting(trial, monkeypatch, (Fitted(k), "", dict(GOOD)))
    trial.step(220.0, 0.25)
    assert trial.done and (trial.tuning is not None) is agrees
    assert ("two different ovens" in trial.reason) is not agrees


def test_tuning_that_is_no_good_is_refused(trial, monkeypatch):  # noqa: F811
    fitting(trial, monkeypatch, (Fitted(), "", dict(GOOD, ti_s=1e9)))
    trial.step(220.0, 0.25)
    assert trial.tuning is None and "ti_s" in trial.reason


def test_reading_too_far_above_ends_the_fit_as_well(trial, monkeypatch):  # noqa: F811
    fitting(trial, monkeypatch, (Fitted(), "", dict(GOOD)))
    trial.step(250.1, 0.25)
    assert trial.done and trial.tuning is None and "too far" in trial.reason


def test_fit_stands_still_no_more_than_the_rest_when_the_reading_is_missing(trial, monkeypatch):  # noqa: F811
    fitting(trial, monkeypatch, (Fitted(), "", dict(GOOD)))
    trial.step(float("nan"), 0.25)
    assert trial.done and trial.tuning is None
