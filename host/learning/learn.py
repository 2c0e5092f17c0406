"""The device's identification run on a plant or on a recorded run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from host.learning.loop import Loop, Probe
from host.oven.base import Plant
from host.shim.loader import world

TIMEOUT_S = 25_000.0


class _Asked:
    """Lets an Experiment stand where a controller stands; `stone` reads the stone's probe, where there is one."""

    def __init__(self, experiment, stone=None):
        self.experiment = experiment
        self.stone = stone

    def update(self, setpoint_c, pv_c, dt_s):
        """The experiment's output."""
        return self.experiment.step(pv_c, dt_s, self.stone.read_c() if self.stone else None)


def experiment(**named: Any) -> Any:
    """The device's Experiment."""
    return world().load("tizzone.learning.experiment").Experiment(**named)


def on_plant(
    plant: Plant,
    seed: int = 0,
    disturb: Callable[[Loop, Any], None] | None = None,
    window_ms: int = 10_000,
    stone_probe: bool = False,
    keep: list[tuple[float, float, float]] | None = None,
    **named: Any,
) -> dict[str, Any]:
    """Run an experiment on `plant`; returns its result() with `seconds` added.

    `stone_probe`: the board has one, and the experiment sees it. `disturb(loop, experiment)` is called every tick
    before it; `keep`, a list, receives (t_s, pv_c, out_pct) a tick.
    """
    trial = experiment(ambient_c=plant.temperature_c("ambient"), **named)
    stone = Probe(plant, "stone", seed) if stone_probe else None
    loop = Loop(plant, _Asked(trial, stone), window_ms=window_ms, seed=seed)
    while not trial.done and loop.time_s < TIMEOUT_S:
        if disturb is not None:
            disturb(loop, trial)
        row = loop.tick()
        if keep is not None:
            keep.append((row[0], row[2], row[3]))
    trial.stop("it took too long")
    return dict(trial.result(), seconds=loop.time_s)


def on_record(
    times_s: Sequence[float], readings_c: Sequence[float], outputs_pct: Sequence[float], ambient_c: float = 20.0
) -> dict[str, Any]:
    """Fit and tune from a recorded relay run at one level; the same fit as on the board. Returns a result() dict.

    ValueError with one line where the record is too short or not even.
    """
    fitting = world().load("tizzone.learning.model_fit")
    judge = world().load("tizzone.learning.judgement")
    if len(times_s) < 60:
        raise ValueError("the record is too short: ten minutes around one level are needed")
    span_s = times_s[-1] - times_s[0]
    sample_s = max(2.0, span_s / fitting.SAMPLES)
    window = fitting.Window(sum(readings_c) / len(readings_c), sample_s)
    for i in range(1, len(times_s)):
        dt_s = times_s[i] - times_s[i - 1]
        if not 0.0 < dt_s <= 10.0:
            raise ValueError(f"the record has a gap of {dt_s:g} s at {times_s[i]:g} s")
        window.add(readings_c[i], outputs_pct[i - 1], dt_s)
    quality = {}
    fit, reason, tuning = list(judge.judgement(window, quality))[-1]
    model = None
    if fit.best is not None:
        model = dict(zip(("theta_s", "tau1_s", "tau2_s"), fit.times, strict=True), k=fit.best[1])
    # how the oven rises at full output is not in a record at one level: the value in force stays
    return {"ok": not reason, "reason": reason, "tuning": tuning, "model": model, "steady": [], "power": None,
            "quality": quality}  # fmt: skip
