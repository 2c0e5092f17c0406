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


@pytest.mark.parametrize(
    "seconds, start_c, top_c, word",
    [(600, 20, 450, "short"), (4000, 90, 450, "cold"), (4000, 20, 150, "200")],
)
def test_record_that_no_twin_can_be_made_of_says_so(seconds, start_c, top_c, word):
    t_s = np.arange(0.0, seconds)
    with pytest.raises(ValueError, match=word):
        twin.Evening(t_s, np.linspace(start_c, top_c, len(t_s)), np.ones(len(t_s)), np.ones(len(t_s)))
