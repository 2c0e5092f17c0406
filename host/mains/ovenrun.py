"""What the simulated oven says about this build: reach, time, holding power, heat soak.

The simulated oven was not checked against a real one: every figure from here is to be verified.
"""

import copy
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from host.mains import evening as evenings
from host.oven import Plant, preset, sample

FULL_S = 3 * 3600  # s at full power until the oven is taken as steady; house
SOAK_S = 2 * 3600  # s after a power cut; the peak comes within an hour; house
HOLD_S, HOLD_MEAN_S = 2 * 3600, 1800  # s held, and s of them that count; house
STRONG_W = 6000.0  # W that reach any wanted temperature in the simulated ovens; house
STEP_S = evenings.STEP_S
COARSE_S = 2.0  # s; house: four times the oven's own substep: within 0.5 K and 1 % of it (checked by a test)
LOSSES = ("wall_w_mk", "vent_w_k", "glass_w_k", "glass_area_m2")  # parameters through which heat leaves the oven
SIZED = ("liner_j_k", "casing_j_k", "wall_area_m2", "casing_room_w_k", "glass_area_m2", "glass_w_k", "vent_w_k")
USUAL_L = 60.0  # cavity of the simulated standard oven
SAMPLED = 24  # random ovens that stand for an oven of which nothing was measured; house
# a third of them each: losses against an oven that passes the published tests; well insulated, and old with worn seals
LOSSES_OF_AGE = (0.85, 1.0, 1.35)  # house
FACTOR_LOW, FACTOR_HIGH = 0.2, 6.0  # losses against the standard oven that are believed; house
REACH_TURNS = 9  # halvings of the way from the present power to STRONG_W: within 0.2 % of it; house
SHARE_USED = 0.85  # of the power for holding; the rest is in hand (common practice, no source)


@dataclass(frozen=True)
class Study:
    """Temperatures in degC, times in s (None = never), energies in J, powers in W."""

    highest_c: float
    highest_low_c: float
    time_to_s: float | None
    time_to_low_s: float | None
    holding_w: float  # steady, door shut
    power_w: float
    energy_j: float
    baking_w: float
    electronics_peak_c: float
    casing_peak_c: float
    evening_source: str
    is_measured: bool  # losses from what a meter told of this very oven
    holding_low_w: float  # least and most that random ovens need, or the measured one twice
    holding_high_w: float
    reach_share: float  # of the random ovens that this power holds at the wanted temperature
    losses: float  # against the simulated standard oven
    reaching_w: float  # with this the wanted temperature is reached at -10 % supply too; 0 where it is already


@dataclass(frozen=True)
class Build:
    """What the sheet says of an oven: powers in W, room in degC, cavity in litres (None: a usual one), and what a meter
    told: `held_w` W at `held_at_c` degC (None: nothing was measured)."""

    top_w: float
    deck_w: float
    room_c: float
    volume_l: float | None = None
    held_w: float | None = None
    held_at_c: float | None = None

    @property
    def power_w(self) -> float:
        """Both elements, W."""
        return self.top_w + self.deck_w


def _size(volume_l):
    """Share of the usual cavity's surface."""
    return 1.0 if volume_l is None else (volume_l / USUAL_L) ** (2 / 3)


def plant(
    top_w: float,
    deck_w: float,
    room_c: float,
    name: str = "standard",
    substep_s: float = COARSE_S,
    losses: float = 1.0,
    volume_l: float | None = None,
) -> Plant:
    """Simulated oven with these element powers, W, in a room of `room_c` degC, without noise.

    `losses` scales every way out for heat; `volume_l` scales what grows with the cavity's surface.
    """
    usual = preset(name).parameters
    size = _size(volume_l)
    changed = {key: getattr(usual, key) * size for key in SIZED if size != 1.0}
    if losses != 1.0:
        changed |= {key: changed.get(key, getattr(usual, key)) * losses for key in LOSSES}
    oven = preset(
        name, top_w=top_w, deck_w=deck_w, ambient_c=room_c, turbulence_k=0.0, mains_wander=0.0, **changed
    )  # fmt: skip
    oven.substep_s = substep_s
    return oven


@lru_cache(maxsize=256)
def loss_factor(build: Build) -> float | None:
    """Losses of this oven against the standard one, so that it holds `held_at_c` with `held_w`; None where no factor
    within 0.2 to 6 does (the meter, or the temperature, was read wrong)."""

    def held(factor):
        watts = max(STRONG_W, build.power_w)
        return hold(plant(watts / 2, watts / 2, build.room_c, losses=factor, volume_l=build.volume_l), build.held_at_c)

    low, high = FACTOR_LOW, FACTOR_HIGH
    if not held(low) <= build.held_w <= held(high):
        return None
    for _ in range(12):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if held(middle) < build.held_w else (low, middle)
    return (low * high) ** 0.5


@lru_cache(maxsize=64)
def sampled_holding_w(wanted_c: int, room_c: float, volume_l: float | None = None) -> tuple:
    """Power that each of SAMPLED random ovens, scaled to a cavity of `volume_l`, needs to hold `wanted_c`, W, least
    first."""
    found, size = [], _size(volume_l)
    for seed in range(SAMPLED):
        drawn = sample(seed).parameters
        changed = {key: getattr(drawn, key) * size for key in SIZED}
        losses = LOSSES_OF_AGE[seed % len(LOSSES_OF_AGE)]
        changed |= {key: changed.get(key, getattr(drawn, key)) * losses for key in LOSSES}
        oven = sample(seed, top_w=STRONG_W / 2, deck_w=STRONG_W / 2, ambient_c=room_c, turbulence_k=0.0,
                      mains_wander=0.0, **changed)  # fmt: skip
        oven.substep_s = COARSE_S
        found.append(hold(oven, wanted_c))
    return tuple(sorted(found))


@lru_cache(maxsize=64)
def study(build: Build, wanted_c: int, hours: float, rehearse: bool = False) -> Study:
    """Study of an oven that is to reach `wanted_c` degC.

    `rehearse` runs the evening with the controller's own code (about ten seconds) where it can.
    """
    factor = loss_factor(build) if build.held_w is not None else None
    losses = factor or 1.0
    size: dict[str, Any] = {"losses": losses, "volume_l": build.volume_l}
    watts = (build.top_w, build.deck_w, build.room_c)
    highest_c, time_to_s = full_power(plant(*watts, **size), wanted_c)
    low = plant(*watts, **size)
    low.event("mains", ratio=0.9)
    highest_low_c, time_to_low_s = full_power(low, wanted_c)
    holding_w = _holding_w(build, wanted_c, time_to_s, size)
    oven: Any = None
    evening = None
    if rehearse and time_to_s is not None:
        oven = plant(*watts, substep_s=preset("standard").substep_s, **size)
        evening = evenings.rehearsed(oven, wanted_c, hours)
    if evening is None:
        oven = plant(*watts, **size)
        evening = evenings.thermostat(oven, wanted_c, hours)
    electronics_c, casing_c = soak(oven)
    others = (holding_w,) * 2 if factor else sampled_holding_w(wanted_c, build.room_c, build.volume_l)
    share = sum(watts_ <= build.power_w for watts_ in others) / len(others)
    return Study(
        highest_c, highest_low_c, time_to_s, time_to_low_s, holding_w, build.power_w,
        evening.energy_j, evening.baking_w, electronics_c, casing_c, evening.source,
        factor is not None, others[0], others[-1], share, losses,
        0.0 if time_to_low_s is not None else _reaching_w(build, wanted_c, size),
    )  # fmt: skip


def _reaching_w(build, wanted_c, size):
    """Least power, W, that reaches `wanted_c` within three hours at -10 % supply; STRONG_W where none does."""
    low, high = 1.0, max(1.0, STRONG_W / build.power_w)
    for _ in range(REACH_TURNS):
        middle = (low + high) / 2
        oven = plant(middle * build.top_w, middle * build.deck_w, build.room_c, **size)
        oven.event("mains", ratio=0.9)
        low, high = (low, middle) if full_power(oven, wanted_c)[1] is not None else (middle, high)
    return high * build.power_w


def _holding_w(build, wanted_c, time_to_s, size):
    """Holding power, W. A weak oven is still warming after two hours; a stronger one shows what holding takes."""
    arrives = time_to_s is not None and time_to_s < HOLD_S / 2
    strength = 1 if arrives else max(1.0, STRONG_W / build.power_w)
    return hold(plant(strength * build.top_w, strength * build.deck_w, build.room_c, **size), wanted_c)


def full_power(oven: Any, wanted_c: int) -> tuple[float, float | None]:
    """(air after three hours at full power, degC; time to `wanted_c`, s, or None)."""
    time_to_s = None
    for step in range(int(FULL_S / STEP_S)):
        oven.step(STEP_S, {"top": 1.0, "deck": 1.0})
        if time_to_s is None and oven.true_c("dome") >= wanted_c:
            time_to_s = (step + 1) * STEP_S
    return oven.true_c("dome"), time_to_s


def hold(oven: Any, wanted_c: int) -> float:
    """Mean power of the last half hour of two hours at `wanted_c` with the door shut, W."""
    before_j = 0.0
    for step in range(int(HOLD_S / STEP_S)):
        if step * STEP_S == HOLD_S - HOLD_MEAN_S:
            before_j = oven.energy()["in_j"]
        share = min(1.0, max(0.0, (wanted_c + 2 - oven.temperature_c("dome")) / 4.0))
        oven.step(STEP_S, {"top": share, "deck": share})
    return (oven.energy()["in_j"] - before_j) / HOLD_MEAN_S


def soak(oven: Any) -> tuple[float, float]:
    """(peak of the oven's electronics, peak of its casing), degC, after a power cut, no fan."""
    still = copy.deepcopy(oven)
    still.fan_running = False
    electronics_c, casing_c = still.temperature_c("box"), still.true_c("casing")
    for _ in range(int(SOAK_S / STEP_S)):
        still.step(STEP_S, {"top": 0.0, "deck": 0.0})
        electronics_c = max(electronics_c, still.temperature_c("box"))
        casing_c = max(casing_c, still.true_c("casing"))
    return electronics_c, casing_c
