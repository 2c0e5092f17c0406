import math

import pytest

from host import oven
from host.learning import learn as on_ovens
from tests.control.toy import Toy, learn


def made(identify, **named):
    return identify.Experiment(**{"levels_c": (150.0, 220.0), **named})


def test_experiment_on_a_known_plant_finds_its_parameters(identify):
    toy, trial = Toy(), made(identify)
    learn(trial, toy)
    result = trial.result()
    assert result["ok"], result["reason"]
    model = result["model"]
    # the plant that was simulated: rise 0.006 K/s per %, lag 12 s, delay 8 s
    assert model["k"] / model["tau1_s"] == pytest.approx(0.006, rel=0.15)
    assert model["theta_s"] + model["tau2_s"] == pytest.approx(20.0, abs=2.5)
    # steady output at a level: (T - Ta) / (rise x loss time)
    for level_c, out_pct in result["steady"]:
        assert out_pct == pytest.approx((level_c - 20.0) / 3.0, rel=0.06)
    assert result["quality"]["share"] > 0.97
    assert 1.2 < result["quality"]["ms"] <= 1.75


def test_experiment_asks_only_bounded_outputs_and_stays_below_250(identify):
    toy, trial = Toy(), made(identify)
    highest = []
    outs = learn(trial, toy, lambda t, e: highest.append(t.seen_c))
    assert {out for out in outs} <= {0.0, 100.0}
    assert max(highest) < 250.0
    assert trial.step(20.0, 0.25) == 0.0


@pytest.mark.parametrize(
    "levels_c",
    [(), (150.0, 180.0), (59.0,), (231.0,), (150.0, 231.0), (220.0, 150.0), (60, 120, 200), (float("nan"),)],
)
def test_experiment_refuses_levels_that_may_not_be(identify, levels_c):
    with pytest.raises(ValueError, match="level"):
        identify.Experiment(levels_c=levels_c)


def at(second, act):
    """Do `act(toy, experiment)` once, at that second."""
    done = []

    def when(toy, trial):
        if toy.time_s >= second and not done:
            done.append(1)
            act(toy, trial)

    return when


def set_offset(kelvin):
    return lambda toy, trial: setattr(toy, "offset_k", kelvin)


def wave(amplitude_k, period_s):
    def act(toy, trial):
        toy.offset_k = amplitude_k * math.sin(2 * math.pi * toy.time_s / period_s)

    return act


def noisy(sigma_k):
    return lambda toy, trial: setattr(toy, "noise_k", sigma_k)


def creeping(toy, trial):
    # the mains sag while it runs: the heat fades, the mean output climbs
    toy.gain = max(0.05, 1.0 - toy.time_s / 2500.0)


DISTURBED = {
    "stopped at once": at(0.0, lambda toy, trial: trial.stop()),
    "stopped while rising": at(100.0, lambda toy, trial: trial.stop()),
    "stopped at the relay": at(900.0, lambda toy, trial: trial.stop("by hand")),
    "too short": at(1200.0, lambda toy, trial: trial.stop("the session ended")),
    "stopped in the fit": lambda toy, trial: trial.stop() if trial.phase == 2 else None,
    "door while rising": at(100.0, set_offset(-60.0)),
    "door at the relay": at(1000.0, set_offset(-40.0)),
    "probe pulled at the relay": at(1000.0, set_offset(-180.0)),
    "probe shifts up": at(1000.0, set_offset(25.0)),
    "reading too high": at(1000.0, set_offset(60.0)),
    "reading is NaN": at(800.0, set_offset(float("nan"))),
    "reading is infinite": at(800.0, set_offset(float("inf"))),
    "reading below the room": at(800.0, set_offset(-400.0)),
    "mains sag": creeping,
    "element fails": at(700.0, lambda toy, trial: setattr(toy, "gain", 0.0)),
    "relay welded": at(700.0, lambda toy, trial: setattr(toy, "drift_k_s", 0.6)),
    "another heat source swings it": wave(12.0, 200.0),
    "noise drowns it": noisy(12.0),
    "never heats": at(0.0, lambda toy, trial: setattr(toy, "gain", 0.0)),
    "heats hardly": at(0.0, lambda toy, trial: setattr(toy, "gain", 0.1)),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", DISTURBED)
def test_experiment_disturbed_learns_nothing_and_says_why(identify, name):
    toy, trial = Toy(), made(identify)
    outs = learn(trial, toy, DISTURBED[name])
    result = trial.result()
    assert trial.done
    assert result["tuning"] is None
    assert result["power"] is None
    assert not result["ok"]
    assert result["reason"]
    assert all(0.0 <= out <= 100.0 for out in outs)
    assert trial.step(100.0, 0.25) == 0.0


GOOD = {"kc_pct_per_k": 4.0, "ti_s": 120.0, "td_s": 20.0, "lead_s": 25.0, "rise_k_s_pct": 0.0045}


@pytest.mark.parametrize("value", [float("nan"), 0.0, -1.0, float("inf"), None, 1e9])
@pytest.mark.parametrize("name", ["kc_pct_per_k", "ti_s", "lead_s", "rise_k_s_pct"])
def test_learned_value_that_is_no_good_is_named(judge, name, value):
    assert judge.fault_of(GOOD) == ""
    assert name in judge.fault_of(dict(GOOD, **{name: value}))


@pytest.mark.parametrize("name", list(GOOD))
def test_learned_value_at_its_bounds_is_taken_and_just_beyond_not(judge, name):
    low, high = judge.BOUNDS[name]
    for value in (low, high):
        assert judge.fault_of(dict(GOOD, **{name: value})) == ""
    for value in (low - 1e-6, high + 1e-6):
        assert name in judge.fault_of(dict(GOOD, **{name: value}))


def test_tuning_is_slower_for_a_longer_delay(judge):
    quick = judge.start_tune(1.0, 6.0, 200.0, 10.0)
    slow = judge.start_tune(1.0, 40.0, 200.0, 10.0)
    assert slow["kc_pct_per_k"] < quick["kc_pct_per_k"] / 2
    # three quarters of what is later: the walls take a part of what is on its way
    assert slow["lead_s"] == pytest.approx(quick["lead_s"] + 0.75 * 34.0)


def test_recorded_relay_run_gives_the_model_of_the_board(identify):
    toy, trial = Toy(), made(identify, levels_c=(200.0,))
    rows = []
    toy_step = toy.step

    def kept(out_pct):
        rows.append((toy.time_s, toy.seen_c, out_pct))
        toy_step(out_pct)

    toy.step = kept
    learn(trial, toy)
    end = next(i for i in range(len(rows) - 1, 0, -1) if rows[i][2] > 0)
    rows = rows[end - 2300 : end : 4]  # as a run file: a row a second
    found = on_ovens.on_record(*zip(*rows, strict=True))
    assert found["ok"], found["reason"]
    board, record = trial.result()["model"], found["model"]
    assert record["k"] / record["tau1_s"] == pytest.approx(board["k"] / board["tau1_s"], rel=0.1)
    assert record["theta_s"] + record["tau2_s"] == pytest.approx(board["theta_s"] + board["tau2_s"], abs=2.0)


@pytest.mark.parametrize("times, word", [(list(range(30)), "short"), ([*range(100), *range(150, 250)], "gap")])
def test_record_that_cannot_be_used_says_so(times, word):
    with pytest.raises(ValueError, match=word):
        on_ovens.on_record(times, [200.0] * len(times), [50.0] * len(times))


@pytest.mark.slow
@pytest.mark.parametrize("plant", ["layered", "lumps"])
def test_simulated_oven_is_learned(judge, plant):
    made = oven.preset("standard") if plant == "layered" else oven.other(2)
    result = on_ovens.on_plant(made, 1)
    assert result["ok"], result["reason"]
    assert judge.fault_of(result["tuning"]) == ""
    if plant == "lumps":  # its elements are heavy: the approach must look further ahead
        assert result["tuning"]["lead_s"] > 50.0


def disturbed(make, seed, act, when, stone_probe=False, **changes):
    """Learning on an oven of this seed; `act(plant)` once when `when(loop, trial)`."""
    plant, done = make(seed, **changes), []

    def disturb(loop, trial):
        if not done and when(loop, trial):
            done.append(loop.time_s)
            act(plant)

    result = on_ovens.on_plant(plant, seed, disturb=disturb, window_ms=20_000, stone_probe=stone_probe)
    assert done
    return result


@pytest.mark.slow
@pytest.mark.parametrize("make, seed", [(oven.sample, 0), (oven.sample, 3), (oven.other, 2), (oven.third, 0)])
def test_mains_that_falls_by_an_eighth_between_the_levels_is_refused(make, seed):
    def between(loop, trial):
        return trial.phase == 1 and trial._at == 0 and trial._phase_s > 200.0

    result = disturbed(make, seed, lambda plant: plant.event("mains", ratio=0.88), between)
    assert result["tuning"] is None
    assert "was the mains changed" in result["reason"]
    assert on_ovens.on_plant(make(seed), seed, window_ms=20_000)["ok"]


@pytest.mark.slow
@pytest.mark.parametrize("make, seed", [(oven.sample, 0), (oven.sample, 3), (oven.third, 0)])
def test_mains_that_falls_by_an_eighth_after_the_second_rise_is_refused(make, seed):
    def late(loop, trial):
        return trial.phase == 1 and trial._at == 1 and trial._phase_s > 400.0

    result = disturbed(make, seed, lambda plant: plant.event("mains", ratio=0.88), late)
    assert result["tuning"] is None
    assert "was the mains changed" in result["reason"]


@pytest.mark.slow
@pytest.mark.parametrize("make, seed", [(oven.sample, 1), (oven.other, 0), (oven.third, 2)])
def test_bread_that_no_door_told_of_is_refused_where_the_stone_has_a_probe(make, seed):
    def lay(plant):
        plant.event("load", bake_s=90.0, water_g=25.0)

    result = disturbed(make, seed, lay, lambda loop, trial: loop.time_s > 1500.0, stone_probe=True)
    assert result["tuning"] is None
    assert result["reason"] == "the stone sank: was a bread laid?"
    assert on_ovens.on_plant(make(seed), seed, window_ms=20_000, stone_probe=True)["ok"]


@pytest.mark.slow
@pytest.mark.parametrize("make, seed", [(oven.sample, 1), (oven.sample, 4), (oven.other, 0), (oven.third, 2)])
def test_bread_through_a_door_without_a_contact_is_refused_behind_the_thickest_sheath(make, seed):
    def lay(plant):
        plant.event("door", seconds=8.0)
        plant.event("load", bake_s=90.0, water_g=25.0)

    result = disturbed(make, seed, lay, lambda loop, trial: loop.time_s > 1800.0, dome_probe_mm=4.5)
    assert result["tuning"] is None
    assert "was the door opened" in result["reason"]


@pytest.mark.slow
def test_gain_that_changes_in_the_middle_of_the_record_is_refused(identify):
    def weaker(toy, trial):  # the last ten minutes begin with the old gain
        if trial.phase == 1 and trial._window.count > 200:
            toy.gain = 0.7

    toy, trial = Toy(), made(identify, levels_c=(200.0,))
    learn(trial, toy, weaker)
    result = trial.result()
    assert result["tuning"] is None
    assert result["reason"]
