"""First evenings against last evenings: which single cause moves all figures as they have moved.

An evening's logarithms y = level + cause * direction + mains + scatter. The mains of an evening are unknown (or
measured); they move all figures together, so their scatter is a covariance along one direction and a mere change of
mains is not taken for anything else. Levels are means weighted by what each evening knows, with little weight for
evenings that are unlike the others. Every cause is fitted with the spread that simulated ovens have in its direction.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from host.history.directions import direction, mains
from host.history.evening import METERS, NAMES, vector

ALL = (*NAMES, *METERS)
# scatter of one evening's figure (standard deviation of the logarithm) at the least: simulated evenings with turbulence
# and a wandering mains have 0.01 to 0.03; a history that scatters more raises all of them
SCATTER = np.array([0.018, 0.022, 0.022, 0.018, 0.025, 0.005, 0.006, 0.007])
OWN_SCALE = ("hold", "cool", "stone")  # their scatter, beyond what the mains do to them, is judged by itself
MAINS_SHARE = 0.02  # voltage from evening to evening, standard deviation of its logarithm
MAINS_LASTING = 0.01  # and between one season and another: common practice, no source
LASTING = 0.004  # of any other figure: another shelf, another kitchen air
FIRST, LEAST = 12, 8  # evenings that make the reference: wanted, and at the least
WINDOWS = (3, 6, 10)  # last evenings, each tried
LIKE_CAUSE = 0.25  # standard deviation of a cause's logarithm before anything is known
COOL, SOAK_EVENINGS = ALL.index("cool"), 15
GRID = np.concatenate([-np.geomspace(0.005, 0.9, 70)[::-1], np.geomspace(0.005, 0.9, 70)])
HUBER = 1.6
# The cook knows of another stone or a door left ajar and says --since: so they count less where nobody has
RARE = {"mass": 6.0, "cooling": 6.0}


class Shift:
    """`moved`, `cov`: change of the logarithms of `names` and its covariance; `before`, `after`: evenings used."""

    def __init__(
        self, moved: np.ndarray, cov: np.ndarray, use: np.ndarray, before: np.ndarray, after: np.ndarray
    ) -> None:
        self.moved, self.cov, self.use, self.before, self.after = moved, cov, use, before, after
        self.names = [ALL[i] for i in use]


class Cause:
    """A cause fitted to a shift: `size` (logarithm), `sd`, `gain` (fall of -2 log likelihood), `misfit`."""

    def __init__(self, name: str, size: float, sd: float, gain: float, misfit: float, freedom: int) -> None:
        self.name, self.size, self.sd, self.gain = name, size, sd, gain
        self.misfit, self.freedom, self.share = misfit, freedom, 0.0


def matrix(evenings: list[dict[str, Any]], usual_setpoint_c: float) -> np.ndarray:
    """-> array (evenings, figures) of logarithms, NaN where there is none."""
    rows = []
    for evening in evenings:
        meters = [np.log(evening[name]) if (evening.get(name) or 0) > 0 else np.nan for name in METERS]
        rows.append(np.append(vector(evening, usual_setpoint_c), meters))
    logs = np.array(rows).reshape(len(rows), len(ALL))
    logs[:, COOL] -= soak_effect([evening.get("hot_s") for evening in evenings], logs[:, COOL])
    return logs


def soak_effect(hot_s: list[float | None], cool: np.ndarray) -> np.ndarray | float:
    """What a longer evening does to the cooling (walls and stone are hot right through), from this history itself."""
    hours = np.array([np.nan if not value else np.log(value) for value in hot_s], float)
    if np.isfinite(hours + cool).sum() < SOAK_EVENINGS:
        return 0.0
    found = theil_sen(hours, cool)
    slope = found[0] if found else 0.0  # never: there are more points than it asks for
    return np.nan_to_num(slope * (hours - np.nanmedian(hours)))


def evening_cov(logs: np.ndarray, least: int = 6) -> np.ndarray:
    """Covariance of one evening's figures: never below the least, more where this history scatters more from one
    evening to the next (so that a slow change does not count)."""
    along, scatter = mains(), SCATTER.copy()
    for i in map(ALL.index, OWN_SCALE):
        steps = np.diff(logs[np.isfinite(logs[:, i]), i])
        if len(steps) >= least:
            seen2 = (float(np.median(np.abs(steps))) / 0.6745) ** 2 / 2.0
            scatter[i] = np.sqrt(max(scatter[i] ** 2, seen2 - (MAINS_SHARE * along[i]) ** 2))
    cov, ratios = np.diag(scatter**2) + MAINS_SHARE**2 * np.outer(along, along), []
    for one, next_ in zip(logs[:-1], logs[1:], strict=True):
        step = next_ - one
        use = np.isfinite(step)
        count = use.sum()
        if count:
            distance2 = step[use] @ np.linalg.solve(2 * cov[np.ix_(use, use)], step[use])
            ratios.append(distance2 / (count * (1 - 2 / (9 * count)) ** 3))  # median of chi square, Wilson-Hilferty
    return cov * (max(1.0, float(np.median(ratios))) if len(ratios) >= least else 1.0)


def level(logs: np.ndarray, use: np.ndarray, cov: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """-> (mean, covariance) of the figures `use` over these evenings, unlike evenings counting less."""
    weights, mean = np.ones(len(logs)), np.nanmedian(logs[:, use], axis=0)
    for _ in range(4):
        total, moment = np.zeros((len(use), len(use))), np.zeros(len(use))
        distances = np.zeros(len(logs))
        for k, row in enumerate(logs[:, use]):
            has = np.flatnonzero(np.isfinite(row))
            if not len(has):
                continue
            inverse = np.linalg.inv(cov[np.ix_(use[has], use[has])])
            off = row[has] - mean[has]
            distances[k] = np.sqrt(off @ inverse @ off / len(has))
            total[np.ix_(has, has)] += weights[k] * inverse
            moment[has] += weights[k] * (inverse @ row[has])
        mean, weights = np.linalg.solve(total, moment), np.minimum(1.0, HUBER / np.maximum(distances, 1e-9))
    return mean, np.linalg.inv(total)


def shift(logs: np.ndarray, first: np.ndarray, last: np.ndarray) -> Shift | None:
    """-> Shift from the evenings `first` to the evenings `last` (index arrays), or None where too little is in both."""
    known = np.isfinite(logs)
    use = np.flatnonzero((known[first].sum(axis=0) >= 4) & (known[last].sum(axis=0) >= 2))
    if not len(use):
        return None
    cov = evening_cov(logs)
    before, cov_before = level(logs[first], use, cov)
    after, cov_after = level(logs[last], use, cov)
    along = mains()[use]
    lasting = LASTING**2 * np.eye(len(use)) + MAINS_LASTING**2 * np.outer(along, along)
    return Shift(after - before, cov_before + cov_after + lasting, use, first, last)


def causes() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """name -> (direction, spread) of everything that is tried; the last two are habits, no faults."""
    found = {name: direction(name) for name in ("power", "gasket", "wall", "probe", "mass")}
    for name, figure in (("stone_probe", "stone"), ("cooling", "cool")):
        found[name] = (np.eye(len(ALL))[ALL.index(figure)], np.zeros((len(ALL), len(ALL))))
    return found


def fit(change: Shift) -> list[Cause]:
    """-> list of Cause, the likeliest first; `share` is the weight of each among them."""
    r, cov, use = change.moved, change.cov, change.use
    nothing = minus2log(r, cov)
    fitted = []
    for name, (mean, spread) in causes().items():
        mean, spread = mean[use], spread[np.ix_(use, use)]
        if not np.abs(mean).max() > 0.1:
            continue
        off = r - GRID[:, None] * mean
        values = minus2log(off, cov + GRID[:, None, None] ** 2 * spread) + (GRID / LIKE_CAUSE) ** 2
        best = int(np.argmin(values))
        size = float(GRID[best])
        whole = cov + size**2 * spread
        misfit = float((r - size * mean) @ np.linalg.solve(whole, r - size * mean))
        sd = float(1 / np.sqrt(mean @ np.linalg.solve(whole, mean)))
        gain = float(nothing - values[best]) - RARE.get(name, 0.0)
        fitted.append(Cause(name, size, sd, gain, misfit, max(1, len(use) - 1)))
    likely = np.exp([(cause.gain - max(c.gain for c in fitted)) / 2 for cause in fitted])
    for cause, share in zip(fitted, likely / likely.sum(), strict=True):
        cause.share = float(share)
    return sorted(fitted, key=lambda cause: -cause.gain)


def minus2log(r: np.ndarray, cov: np.ndarray) -> float | np.ndarray:
    """-2 log likelihood of r (..., n) under a normal law of covariance (..., n, n), without its constant."""
    distance2 = np.sum(r * np.linalg.solve(cov, r[..., None])[..., 0], axis=-1)
    return distance2 + np.linalg.slogdet(cov)[1]


def series(logs: np.ndarray, change: Shift, cause_name: str, baseline: np.ndarray) -> np.ndarray:
    """Size of a cause in every single evening (logarithm), NaN where an evening says nothing."""
    mean, _ = causes()[cause_name]
    cov = evening_cov(logs)
    found = np.full(len(logs), np.nan)
    for k, row in enumerate(logs):
        use = change.use[np.isfinite(row[change.use])]
        if len(use) and np.abs(mean[use]).max() > 0.1:
            inverse = np.linalg.inv(cov[np.ix_(use, use)])
            off = row[use] - baseline[np.searchsorted(change.use, use)]
            found[k] = mean[use] @ inverse @ off / (mean[use] @ inverse @ mean[use])
    return found


def theil_sen(x: np.ndarray, y: np.ndarray) -> tuple[float, float, float] | None:
    """-> (slope, lowest, highest): median of all pairs' slopes with Sen's interval at 95 %, from Kendall's variance.

    Sen, P. K. (1968), J. Am. Stat. Assoc. 63, 1379-1389 (from memory). None for fewer than six points.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    ok = np.isfinite(x + y)
    x, y = x[ok], y[ok]
    n = len(x)
    if n < 6:
        return None
    i, j = np.triu_indices(n, 1)
    apart = x[j] != x[i]
    slopes = np.sort((y[j] - y[i])[apart] / (x[j] - x[i])[apart])
    half = 1.96 * np.sqrt(n * (n - 1) * (2 * n + 5) / 18.0)
    low = int(max(0, np.floor((len(slopes) - half) / 2) - 1))
    high = int(min(len(slopes) - 1, np.ceil((len(slopes) + half) / 2)))
    return float(np.median(slopes)), float(slopes[low]), float(slopes[high])
