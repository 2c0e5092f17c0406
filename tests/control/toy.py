"""A small oven for quick tests: lag, delay and losses, exact enough to know what an identification must find."""

import random


class Toy:
    """rise in K/s per %, lag and delay in s, loss time constant in s; noise in K."""

    def __init__(self, rise=0.006, lag_s=12.0, delay_s=8.0, loss_s=500.0, noise_k=0.1, seed=1):
        self.rise, self.lag_s, self.loss_s = rise, lag_s, loss_s
        self.noise_k = noise_k
        self.gain = 1.0
        self.offset_k = 0.0
        self.drift_k_s = 0.0
        self._random = random.Random(seed)
        self.body_c = self.seen_c = 20.0
        self._line = [0.0] * round(delay_s / 0.25)
        self.time_s = 0.0

    def reading_c(self):
        """What the probe shows."""
        return self.seen_c + self.offset_k + self._random.gauss(0.0, self.noise_k)

    def step(self, out_pct):
        """A quarter of a second."""
        self._line.append(out_pct * self.gain)
        late_pct = self._line.pop(0)
        self.body_c += 0.25 * (self.rise * late_pct + self.drift_k_s - (self.body_c - 20.0) / self.loss_s)
        self.seen_c += 0.25 / self.lag_s * (self.body_c - self.seen_c)
        self.time_s += 0.25


def learn(experiment, toy, act=None, most_s=30_000.0):
    """Run an experiment on the toy; `act(toy, experiment)` comes before each tick. Returns the outputs asked for."""
    outs = []
    while not experiment.done and toy.time_s < most_s:
        if act is not None:
            act(toy, experiment)
        out_pct = experiment.step(toy.reading_c(), 0.25)
        outs.append(out_pct)
        toy.step(out_pct)
    return outs
