"""The twin is fitted to an oven of another structure (three lumps, delay) and asked about its next evening."""

import numpy as np
import pytest

from host import oven
from host.learning import loop, twin


def evening_of(plant, setpoint_c, seed, seconds):
    run = loop.Loop(plant, loop.pid(), setpoint_c, seed=seed)
    run.run(seconds)
    return np.array(run.log)


@pytest.mark.slow
def test_twin_of_a_foreign_oven_predicts_its_next_evening():
    other = oven.other(0)
    first = evening_of(other, 450.0, 1, 4000)
    evening = twin.Evening(first[:, 0], first[:, 2], first[:, 4], first[:, 5])
    found = twin.fit(evening, other.parameters.top_w, other.parameters.deck_w)
    following = evening_of(oven.ThreeLump(other.parameters, 101), 430.0, 8, 4000)
    predicted = evening_of(found.plant(), 430.0, 9, 4000)
    arrive, foretold = (np.argmax(rows[:, 1] > 425.0) * 0.25 for rows in (following, predicted))
    assert foretold == pytest.approx(arrive, rel=0.05)
    assert np.sqrt(np.mean((following[:, 1] - predicted[:, 1]) ** 2)) <= 8.0
    assert set(found.known) == set(twin.SCALES)
    assert all(spread > 0.0 for spread in found.known.values())
    assert len(list(found.lines())) == len(twin.SCALES) + 1


@pytest.fixture(scope="module")
def own():
    """An evening of an oven of the twin's own structure, with walls 1.3 times as heavy and a thin probe."""
    plant = oven.preset("standard", liner_j_k=6300.0 * 1.3, dome_probe_mm=1.5, top_sees_stone=0.14)
    rows = evening_of(plant, 450.0, 1, 4500)
    return twin.Evening(rows[:, 0], rows[:, 2], rows[:, 4], rows[:, 5])


@pytest.mark.slow
def test_twin_tells_each_scale_within_twice_what_it_says_it_knows(own):
    found = twin.fit(own, 1500.0, 1400.0)
    assert found.fault == ""
    true = {"liner": 1.3, "wall": 1.0, "stone": 1.0, "air_coupling": 1.0, "elements": 1.0, "probe": 0.5}
    for name, value in true.items():
        assert abs(np.log(found.scales[name] / value)) <= 2.0 * found.known[name] + 0.3 * (name == "probe"), name
    assert all(spread >= twin.MODEL for spread in found.known.values())


@pytest.mark.slow
@pytest.mark.parametrize("times", [0.5, 1.7])
def test_twin_with_wrong_watts_is_refused_and_says_so(own, times):
    found = twin.fit(own, 1500.0 * times, 1400.0 * times)
    assert "watts" in found.fault


def test_twin_that_misses_its_own_evening_is_refused():
    good = twin.Twin(None, dict.fromkeys(twin.SCALES, 1.0), dict.fromkeys(twin.SCALES, 0.1), 3.0)
    assert good.fault == ""
    for rms_k in (twin.RMS_MAX_K + 0.1, 253.0, float("nan")):
        good.rms_k = rms_k
        assert "rms" in good.fault


def test_scale_at_its_bound_is_refused_only_where_the_record_knows_it():
    found = twin.Twin(None, dict.fromkeys(twin.SCALES, 1.0), dict.fromkeys(twin.SCALES, 0.1), 3.0)
    found.scales["air_coupling"] = twin.HIGH
    assert "air_coupling" in found.fault
    found.known["air_coupling"] = twin.KNOWN + 0.1
    assert found.fault == ""


def test_residuals_that_repeat_each_other_count_once():
    draw = np.random.default_rng(1)
    white = draw.normal(size=4000)
    assert twin.repeats(white) == pytest.approx(1.0, abs=0.1)
    red = np.zeros(4000)
    for i in range(1, 4000):
        red[i] = 0.8 * red[i - 1] + white[i]
    assert twin.repeats(red) == pytest.approx(9.0, rel=0.2)  # (1 + 0.8) / (1 - 0.8)
    assert twin.repeats(np.zeros(10)) == 1.0


@pytest.mark.parametrize(
    "seconds, start_c, top_c, word",
    [(600, 20, 450, "short"), (4000, 90, 450, "cold"), (4000, 20, 150, "200")],
)
def test_record_that_no_twin_can_be_made_of_says_so(seconds, start_c, top_c, word):
    t_s = np.arange(0.0, seconds)
    with pytest.raises(ValueError, match=word):
        twin.Evening(t_s, np.linspace(start_c, top_c, len(t_s)), np.ones(len(t_s)), np.ones(len(t_s)))
