"""The twin of a user's oven: parameters of the simulated oven fitted to a recorded evening.

What the record must hold: the preheat from near the room's temperature and some holding after it, the switching of both
zones, the dome's reading, and the stone's where there is a probe. Seven scales are fitted by least squares against the
standard oven; each comes with how well the record knows it: one standard deviation of its logarithm, from the curvature
with what neighbouring readings repeat of each other left out, and never less than what the watts and the model itself
are known to. A twin that does not follow its evening, or whose masses all come out alike wrong, says why (`fault`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import least_squares

from host.oven.oven import Oven
from host.oven.parameters import NAMED

if TYPE_CHECKING:
    from host.oven.parameters import OvenParameters


STEP_S = 2.0
COMPARE_S = 20.0
# scale: the parameters it multiplies
SCALES = {
    "liner": ("liner_j_k",),
    "wall": ("wall_w_mk", "glass_w_k", "glass_area_m2"),
    "stone": ("stone_kg_m3",),
    "stone_coupling": ("air_stone_w_m2k", "stone_emissivity"),
    "air_coupling": ("air_liner_w_k",),
    "elements": ("top_j_k", "deck_j_k"),
    "probe": ("dome_probe_mm",),
}
LOW, HIGH = 0.4, 2.2
AT_BOUND = 0.02  # so near a bound, relative, a scale has not been found
KNOWN = 0.25  # a scale with a larger deviation is not known from this record
MODEL = 0.15  # rated power is allowed +5/-10 % (IEC 60335-1, from memory), and an oven is no six numbers; house
RMS_MAX_K = 10.0  # twins of simulated ovens of three structures follow within 1-6 K; house
MASSES = ("liner", "wall", "stone")  # all of them go with the watts
MASS_MIN, MASS_MAX = 0.6, 1.6


@dataclass
class Twin:
    """`plant(seed)` is the fitted oven; `scales` and `known` map scale -> factor and its relative deviation."""

    parameters: OvenParameters
    scales: dict
    known: dict
    rms_k: float

    def plant(self, seed: int = 0) -> Oven:
        """A fresh simulated oven with the fitted parameters."""
        return Oven(self.parameters, seed)

    @property
    def fault(self) -> str:
        """Why this twin is no twin, or ""."""
        if not self.rms_k <= RMS_MAX_K:
            return (f"it misses the dome of its own evening by {self.rms_k:.0f} K rms, {RMS_MAX_K:.0f} K are allowed: "
                    "are the watts right, and was it one whole evening from cold?")  # fmt: skip
        masses = float(np.exp(np.mean([np.log(self.scales[name]) for name in MASSES])))
        if not MASS_MIN <= masses <= MASS_MAX:
            return (f"walls and stone come out {masses:.2f} times the standard oven's, all of them: "
                    "measure what the elements draw, the watts do not fit this oven")  # fmt: skip
        for name, value in self.scales.items():
            bound = value <= LOW * (1 + AT_BOUND) or value >= HIGH * (1 - AT_BOUND)
            if bound and self.known[name] <= KNOWN:
                return f"{name} comes out {value:.2f} of the standard oven, as far as is allowed: are the watts right?"
        return ""

    def lines(self) -> Iterator[str]:
        """What a person reads."""
        for name, value in self.scales.items():
            sure = "" if self.known[name] <= KNOWN else "  (this evening does not tell)"
            yield f"{name}: {value:.2f} of the standard oven, give or take {100 * self.known[name]:.0f} %{sure}"
        yield f"the twin follows the dome of this evening within {self.rms_k:.1f} K rms"


def scaled(base: OvenParameters, scales: Mapping[str, float]) -> OvenParameters:
    """OvenParameters with the scales applied."""
    changes = {}
    for name, factor in scales.items():
        for field in SCALES[name]:
            changes[field] = min(getattr(base, field) * factor, 0.95) if "emissivity" in field else (
                getattr(base, field) * factor)  # fmt: skip
    return replace(base, **changes, turbulence_k=0.0, mains_wander=0.0)


def follow(parameters: OvenParameters, evening: Evening) -> np.ndarray:
    """Dome readings (°C) every COMPARE_S of a noiseless oven under the record's own switching."""
    plant = Oven(parameters, 0)
    plant.substep_s = STEP_S  # coarse, four times as quick; elements answer in 20 s
    every = round(COMPARE_S / STEP_S)
    seen = []
    for i in range(len(evening.top)):
        if i in evening.events:
            for name, values in evening.events[i]:
                plant.event(name, **values)
        plant.step(STEP_S, {"top": evening.top[i], "deck": evening.deck[i]})
        if i % every == every - 1:
            seen.append(plant.temperature_c("dome"))
    return np.array(seen)


class Evening:
    """A record on an even grid of STEP_S: `top`, `deck` (shares), `dome_c` every COMPARE_S, `events` {step: [...]}.

    Built from arrays of times in s, readings in °C and shares 0..1; events are (t_s, name, values). ValueError where it
    cannot be used.
    """

    def __init__(
        self,
        t_s: np.ndarray | Sequence[float],
        dome_c: np.ndarray | Sequence[float],
        top: np.ndarray | Sequence[float],
        deck: np.ndarray | Sequence[float],
        events: Iterable[tuple[float, str, dict[str, float]]] = (),
    ) -> None:
        t_s, dome_c = np.asarray(t_s, float), np.asarray(dome_c, float)
        if len(t_s) < 600 or t_s[-1] - t_s[0] < 1800.0:
            raise ValueError("the record is too short for a twin: half an hour at least, from cold")
        if dome_c[0] > 60.0 or dome_c.max() < 200.0:
            raise ValueError("a twin needs an evening from cold to 200 C or more")
        grid = np.arange(t_s[0], t_s[-1] - STEP_S, STEP_S)

        def mean(values):
            total = np.concatenate([[0.0], np.cumsum(np.asarray(values, float)[:-1] * np.diff(t_s))])
            return np.diff(np.interp(np.append(grid, grid[-1] + STEP_S), t_s, total)) / STEP_S

        self.top, self.deck = np.clip(mean(top), 0, 1).tolist(), np.clip(mean(deck), 0, 1).tolist()
        every = round(COMPARE_S / STEP_S)
        self.dome_c = np.interp(grid[every - 1 :: every] + STEP_S, t_s, dome_c)
        self.ambient_c = float(dome_c[0])
        self.events = {}
        for at_s, name, values in events:
            self.events.setdefault(int((at_s - t_s[0]) / STEP_S), []).append((name, values))


def repeats(left: np.ndarray | Sequence[float]) -> float:
    """How many neighbouring residuals tell the same: (1 + r) / (1 - r) of a first-order process; from memory."""
    left = np.asarray(left, float) - np.mean(left)
    whole = float(np.dot(left, left))
    r = float(np.dot(left[1:], left[:-1])) / whole if whole > 0.0 else 0.0
    r = min(max(r, 0.0), 0.98)
    return (1.0 + r) / (1.0 - r)


def fit(
    evening: Evening, top_w: float, deck_w: float, base: OvenParameters | None = None, stone_m: float | None = None
) -> Twin:
    """-> Twin. `top_w`, `deck_w`: what the elements draw (measured or from their plates)."""
    base = replace(base or NAMED["standard"], top_w=top_w, deck_w=deck_w, ambient_c=evening.ambient_c, name="twin")
    if stone_m:
        base = replace(base, stone_m=stone_m)
    names = list(SCALES)
    # a door or a bread is an event whose details the record does not hold: such moments weigh less
    quick = np.abs(np.gradient(evening.dome_c)) > 1.5 * COMPARE_S
    weight = np.where(quick, 0.1, 1.0)

    def away(logs):
        scales = dict(zip(names, np.exp(logs), strict=True))
        miss = (follow(scaled(base, scales), evening) - evening.dome_c) * weight
        # a soft pull towards the standard oven keeps unknown scales in place: 5 K for a factor of e
        return np.concatenate([miss / np.sqrt(len(miss)), 5.0 * logs / np.sqrt(len(names)) * 0.2])

    found = least_squares(away, np.zeros(len(names)), bounds=(np.log(LOW), np.log(HIGH)), diff_step=0.02, max_nfev=12)
    count = len(evening.dome_c)
    left = found.fun[:count] * np.sqrt(count)
    rms_k = float(np.sqrt(np.mean((left / weight) ** 2)))
    slopes = found.jac[:count] * np.sqrt(count)
    spread = np.linalg.pinv(slopes.T @ slopes) * max(np.mean(left**2), 0.01) * repeats(left)
    known = dict(zip(names, np.hypot(np.sqrt(np.diag(spread)), MODEL).tolist(), strict=True))
    scales = dict(zip(names, np.exp(found.x).tolist(), strict=True))
    return Twin(scaled(base, scales), scales, known, rms_k)
