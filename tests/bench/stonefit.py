"""Chooses the rates of device/tizzone/control/stone.py: a fit to evenings of simulated ovens with factors of their own.

    python -m tests.bench.stonefit [--ovens 12] [--rounds 8]

All rates are common to every oven, four factors (thin, heat, bread, skin) belong to each oven, held to 0 by a prior.
Gauss-Newton with damping; prints the rates, what is left with each oven's own factors and with typical ones, and the
covariance of the factors. Seeds from 300 on, so that the tests' ovens stay unseen. Minutes of one core.
"""

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "stone"))

from evenings import session, stone  # noqa: E402

from host import oven  # noqa: E402

STEP_S = 4.0
NAMES = ["AIR", "UNDER", "DECK", "SHARE", "RATIO", "LAG_S", "EVEN", "BREAD", "WARMS", "SKIN_S", "SKIN_LAG_S"]
GROUPS = (("AIR", "UNDER", "SHARE"), ("DECK",), ("BREAD",), ("SKIN_S",))
PRIOR = np.array([0.6, 0.7, 0.4, 1.0])
NOISE_K = 6.0
EVERY = 8  # of the steps that are compared; neighbours say the same
TOGETHER = 40.0  # how many compared steps count as one: the model's errors last


def evenings(count):
    """(ovens, steps, [dome, deck, bread, true surface])"""
    made = [session(oven.sample(300 + n), 300 + n).data for n in range(count)]
    made += [session(oven.other(300 + n), 300 + n).data for n in range(count // 3)]
    made += [session(oven.third(300 + n), 300 + n).data for n in range(count // 3)]
    data = np.stack(made)
    return data[:, : data.shape[1] // 2 * 2].reshape(len(made), -1, 2, data.shape[2]).mean(2)


def followed(data, rates):
    """Surface by the model's equations for rates (ovens, 11)."""
    air, under, deck_k_s, share, ratio, lag_s, even, bread_k, warms, skin_s, skin_lag_s = rates.T
    image = data[:, 0, 0].copy()
    upper, core, skin = image.copy(), image.copy(), np.zeros(len(image))
    under_bread = np.full(len(image), stone._BREAD_C)
    out = np.empty(data.shape[:2])
    for i in range(data.shape[1]):
        dome, deck, bread = data[:, i].T[:3]
        out[:, i] = upper - skin
        image = image + (np.maximum(dome, image - stone._DOOR_K) - image) * np.minimum(1.0, STEP_S / lag_s)
        to_face = air * _glow(image, upper, even) * (image - upper) * (1.0 - stone._COVER * bread)
        to_core = under * _glow(image, core, even) * (image - core) + deck_k_s * deck
        taken = bread * bread_k * (upper - skin - under_bread)
        under_bread = np.where(bread > 0, under_bread + warms * (upper - under_bread) * STEP_S, stone._BREAD_C)
        skin = skin + (skin_s * taken - skin) * np.minimum(1.0, STEP_S / skin_lag_s)
        shared = np.minimum(share, 0.8 / STEP_S) * (upper - core)
        upper, core = upper + (to_face - shared - taken) * STEP_S, core + (to_core + shared) * ratio * STEP_S
    return out


def _glow(one, other, even):
    return even + (1.0 - even) * ((one + other + 546.3) / 1400.0) ** 3


class Fit:
    """Common logarithms `x` and each oven's factors `own`."""

    def __init__(self, data):
        self.data = data
        self.x = np.log([getattr(stone, "_" + name) for name in NAMES])
        self.own = np.zeros((len(data), len(GROUPS)))
        self.weight = np.where(data[:, :, 0] < 150.0, 0.3, 1.0)[:, ::EVERY] / NOISE_K

    def rates(self, x, own):
        """(ovens, 11) rates."""
        logs = np.tile(x, (len(self.data), 1))
        for j, names in enumerate(GROUPS):
            for name in names:
                logs[:, NAMES.index(name)] += own[:, j]
        return np.exp(logs)

    def off(self, x, own):
        """Weighted differences, (ovens, compared steps)."""
        model = followed(self.data, self.rates(x, own))
        return (model - self.data[:, :, 3])[:, ::EVERY] * self.weight

    def round(self, damping=0.3):
        """One damped Gauss-Newton step; halved until it helps."""
        count, k, n = len(NAMES), len(GROUPS), len(self.data)
        here = self.off(self.x, self.own)
        slope = np.zeros((*here.shape, count + n * k))
        for j in range(count):
            slope[:, :, j] = (self.off(self.x + 0.03 * np.eye(count)[j], self.own) - here) / 0.03
        for j in range(k):
            more = (self.off(self.x, self.own + 0.03 * np.eye(k)[j]) - here) / 0.03
            for oven_number in range(n):
                slope[oven_number, :, count + k * oven_number + j] = more[oven_number]
        flat = slope.reshape(-1, count + n * k)
        prior = np.concatenate([np.zeros(count), np.tile(PRIOR**-2.0, n)])
        matrix = flat.T @ flat / TOGETHER + np.diag(prior)
        matrix += damping * np.diag(np.diag(matrix)) + 1e-9 * np.eye(len(matrix))
        gradient = flat.T @ here.ravel() / TOGETHER + prior * np.concatenate([np.zeros(count), self.own.ravel()])
        step = np.clip(-np.linalg.solve(matrix, gradient), -0.5, 0.5)
        before = self.cost(here, self.own)
        for _ in range(6):
            x, own = self.x + step[:count], self.own + step[count:].reshape(n, k)
            if self.cost(self.off(x, own), own) < before:
                self.x, self.own = x, own
                return
            step = step / 2.0

    def cost(self, off, own):
        """What is minimised."""
        return (off**2).sum() / TOGETHER + (own**2 / PRIOR**2).sum()

    def rms(self, own):
        """Per oven, K."""
        return np.sqrt(np.mean((followed(self.data, self.rates(self.x, own)) - self.data[:, :, 3]) ** 2, axis=1))


def main(arguments=None):
    """Fit and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=12)
    parser.add_argument("--rounds", type=int, default=8)
    options = parser.parse_args(arguments)
    fit = Fit(evenings(options.ovens))
    for _ in range(options.rounds):
        fit.round()
        print(f"cost {fit.cost(fit.off(fit.x, fit.own), fit.own):.1f}", flush=True)
    mean = fit.own.mean(0)
    for j, names in enumerate(GROUPS):
        for name in names:
            fit.x[NAMES.index(name)] += mean[j]
    fit.own -= mean
    print("  ".join(f"{name} {value:.5g}" for name, value in zip(NAMES, np.exp(fit.x), strict=True)))
    for word, own in (("own factors", fit.own), ("typical", 0 * fit.own)):
        left = fit.rms(own)
        print(f"{word}: {np.sqrt((left**2).mean()):.1f} K rms, worst {left.max():.1f}")
    print(np.cov(fit.own.T).round(3))
    return 0


if __name__ == "__main__":
    sys.exit(main())
