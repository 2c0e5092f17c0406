"""What the simulated oven says about this build: reach, time, holding power, heat soak.

The simulated oven was not checked against a real one: every figure from here is to be verified.
"""

import copy
from dataclasses import dataclass
from functools import lru_cache

from host.mains import evening as evenings
from host.oven import preset

FULL_S = 3 * 3600
SOAK_S = 2 * 3600
HOLD_S, HOLD_MEAN_S = 2 * 3600, 1800
STRONG_W = 6000.0
STEP_S = evenings.STEP_S
COARSE_S = 2.0  # four times the oven's own substep: within 0.5 K and 1 % of it (checked by a test)
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


def plant(top_w, deck_w, room_c, name="standard", substep_s=COARSE_S):
    """Simulated oven with these element powers, W, in a room of `room_c`, without noise."""
    oven = preset(name, top_w=top_w, deck_w=deck_w, ambient_c=room_c, turbulence_k=0.0, mains_wander=0.0)
    oven.substep_s = substep_s
    return oven


@lru_cache(maxsize=64)
def study(top_w, deck_w, room_c, wanted_c, hours, rehearse=False):
    """Study of an oven with `top_w` and `deck_w` (W at the supply's nominal voltage).

    `rehearse` runs the evening with the controller's own code (about ten seconds) where it can.
    """
    highest_c, time_to_s = full_power(plant(top_w, deck_w, room_c), wanted_c)
    low = plant(top_w, deck_w, room_c)
    low.event("mains", ratio=0.9)
    highest_low_c, time_to_low_s = full_power(low, wanted_c)
    # A weak oven is still warming after two hours; a stronger one shows what holding takes.
    arrives = time_to_s is not None and time_to_s < HOLD_S / 2
    strength = 1 if arrives else max(1.0, STRONG_W / (top_w + deck_w))
    holding_w = hold(plant(strength * top_w, strength * deck_w, room_c), wanted_c)
    oven, night = plant(top_w, deck_w, room_c), None
    if rehearse and time_to_s is not None:
        oven = plant(top_w, deck_w, room_c, substep_s=type(oven).substep_s)
        night = evenings.rehearsed(oven, wanted_c, hours)
    if night is None:
        oven = plant(top_w, deck_w, room_c)
        night = evenings.thermostat(oven, wanted_c, hours)
    electronics_c, casing_c = soak(oven)
    return Study(
        highest_c, highest_low_c, time_to_s, time_to_low_s, holding_w, top_w + deck_w,
        night.energy_j, night.baking_w, electronics_c, casing_c, night.source,
    )  # fmt: skip


def full_power(oven, wanted_c):
    """(air after three hours at full power, degC; time to `wanted_c`, s, or None)."""
    time_to_s = None
    for step in range(int(FULL_S / STEP_S)):
        oven.step(STEP_S, {"top": 1.0, "deck": 1.0})
        if time_to_s is None and oven.true_c("dome") >= wanted_c:
            time_to_s = (step + 1) * STEP_S
    return oven.true_c("dome"), time_to_s


def hold(oven, wanted_c):
    """Mean power of the last half hour of two hours at `wanted_c` with the door shut, W."""
    before_j = 0.0
    for step in range(int(HOLD_S / STEP_S)):
        if step * STEP_S == HOLD_S - HOLD_MEAN_S:
            before_j = oven.energy()["in_j"]
        share = min(1.0, max(0.0, (wanted_c + 2 - oven.temperature_c("dome")) / 4.0))
        oven.step(STEP_S, {"top": share, "deck": share})
    return (oven.energy()["in_j"] - before_j) / HOLD_MEAN_S


def soak(oven):
    """(peak of the oven's electronics, peak of its casing), degC, after a power cut, no fan."""
    still = copy.deepcopy(oven)
    still.fan_running = False
    electronics_c, casing_c = still.temperature_c("box"), still.true_c("casing")
    for _ in range(int(SOAK_S / STEP_S)):
        still.step(STEP_S, {"top": 0.0, "deck": 0.0})
        electronics_c = max(electronics_c, still.temperature_c("box"))
        casing_c = max(casing_c, still.true_c("casing"))
    return electronics_c, casing_c
