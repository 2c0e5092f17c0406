"""The statistics against a reference library (scipy) and known cases."""

import numpy as np
import pytest
from scipy import stats

from host.history.shift import ALL, evening_cov, matrix, minus2log, theil_sen


@pytest.mark.parametrize("seed", range(5))
def test_theil_sen_agrees_with_scipy(seed):
    random = np.random.default_rng(seed)
    x = np.arange(25.0)
    y = 0.3 * x + random.standard_t(2, 25)
    slope, low, high = theil_sen(x, y)
    reference = stats.theilslopes(y, x, alpha=0.95)
    assert slope == pytest.approx(reference.slope, abs=1e-12)
    # the reference rounds the rank to the nearest, ours outwards: its interval lies within ours, by a rank at most
    assert low <= reference.low_slope + 1e-12 and high >= reference.high_slope - 1e-12
    assert high - low <= 1.15 * (reference.high_slope - reference.low_slope)


def test_theil_sen_few_points_or_gaps():
    assert theil_sen([1, 2, 3, 4, 5], [1, 2, 3, 4, 5]) is None
    assert theil_sen(range(8), [0, 1, np.nan, 3, 4, 5, 6, 700])[0] == pytest.approx(1.0)


def test_minus2log_agrees_with_scipy():
    random = np.random.default_rng(3)
    root = random.normal(size=(4, 4))
    cov, r = root @ root.T + np.eye(4), random.normal(size=(6, 4))
    reference = [-2 * stats.multivariate_normal(np.zeros(4), cov).logpdf(one) - 4 * np.log(2 * np.pi) for one in r]
    assert minus2log(r, np.broadcast_to(cov, (6, 4, 4))) == pytest.approx(reference)


def test_scatter_of_a_wild_history_is_believed_and_a_calm_one_keeps_the_least():
    random = np.random.default_rng(1)
    least = evening_cov(np.zeros((3, len(ALL))))
    calm = evening_cov(random.multivariate_normal(np.zeros(len(ALL)), 0.01 * least, 60))
    wild = evening_cov(random.multivariate_normal(np.zeros(len(ALL)), 9.0 * least, 60))
    assert np.allclose(calm, least)
    assert (np.diag(wild) > 4.0 * np.diag(least)).all()


def test_slow_change_does_not_raise_the_scatter():
    random = np.random.default_rng(2)
    least = evening_cov(np.zeros((3, len(ALL))))
    logs = random.multivariate_normal(np.zeros(len(ALL)), 0.5 * least, 60) + np.linspace(0, 0.4, 60)[:, None]
    assert (np.diag(evening_cov(logs)) < 2.0 * np.diag(least)).all()  # the change itself is over 20 times the scatter


def test_matrix_of_empty_evenings_is_all_unknown():
    assert np.isnan(matrix([{}, {"rise": 0.0, "room_c": 20.0, "setpoint_c": 450.0}], 450.0)).all()
