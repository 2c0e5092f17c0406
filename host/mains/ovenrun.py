"""What the simulated oven says about this build: time, reach, energy of an evening, heat soak.

The simulated oven was not checked against a real one: every figure from here is to be verified.
"""

import copy
from dataclasses import dataclass
from functools import lru_cache

from host.oven import preset

MODEL = "simulated standard oven with these elements; not checked against a real oven"
FULL_S = 3 * 3600
SOAK_S = 2 * 3600
STEP_S = 5.0
BREAD_EVERY_S = 300.0
DOOR_S = 10.0
SHARE_USED = 0.85  # of the power while baking; the rest is in hand (common practice, no source)


@dataclass(frozen=True)
class Study:
    """Temperatures in degC, times in s, energies in J, powers in W; None = never reached."""

    highest_c: float
    highest_low_c: float
    time_to_s: float | None
    time_to_low_s: float | None
    energy_j: float
    holding_w: float
    power_w: float
    needed_w: float
    electronics_peak_c: float
    casing_peak_c: float
    evening_source: str


def plant(top_w, deck_w, room_c, name="standard"):
    """Simulated oven with these element powers, W, in a room of `room_c`, without noise."""
    return preset(
        name, top_w=top_w, deck_w=deck_w, ambient_c=room_c, turbulence_k=0.0, mains_wander=0.0
    )


@lru_cache(maxsize=32)
def study(top_w, deck_w, room_c, wanted_c, hours):
    """Study of an oven with `top_w` and `deck_w` (W at the supply's nominal voltage)."""
    highest_c, time_to_s = full_power(plant(top_w, deck_w, room_c), wanted_c)
    low = plant(top_w, deck_w, room_c)
    low.event("mains", ratio=0.9)
    highest_low_c, time_to_low_s = full_power(low, wanted_c)
    oven = plant(top_w, deck_w, room_c)
    energy_j, holding_w, source = evening(oven, wanted_c, hours)
    needed_w = holding_w / SHARE_USED
    if time_to_s is None:
        strong = plant(2 * top_w, 2 * deck_w, room_c)
        needed_w = max(evening(strong, wanted_c, 3.0)[1] / SHARE_USED, top_w + deck_w)
    electronics_c, casing_c = soak(oven)
    return Study(
        highest_c, highest_low_c, time_to_s, time_to_low_s, energy_j, holding_w, top_w + deck_w,
        needed_w, electronics_c, casing_c, source,
    )  # fmt: skip


def full_power(oven, wanted_c):
    """(air after three hours at full power, degC; time to `wanted_c`, s, or None)."""
    time_to_s = None
    for step in range(int(FULL_S / STEP_S)):
        oven.step(STEP_S, {"top": 1.0, "deck": 1.0})
        if time_to_s is None and oven.true_c("dome") >= wanted_c:
            time_to_s = (step + 1) * STEP_S
    return oven.true_c("dome"), time_to_s


def evening(oven, wanted_c, hours):
    """(energy J, mean power W while baking, source) of an evening of `hours` from cold.

    A plain proportional thermostat (band 20 K), one flatbread each five minutes with the door open
    for 10 s, once the wanted temperature is reached. The one place that knows how an evening is
    run: a rehearsal of the whole controller can stand here.
    """
    steps = int(hours * 3600 / STEP_S)
    reached_at, since_bread_s = None, 0.0
    start_j = 0.0
    for step in range(steps):
        share = min(1.0, max(0.0, (wanted_c + 5 - oven.temperature_c("dome")) / 20.0))
        oven.step(STEP_S, {"top": share, "deck": share})
        if reached_at is None:
            if oven.temperature_c("dome") >= wanted_c:
                reached_at, start_j = step + 1, oven.energy()["in_j"]
            continue
        since_bread_s += STEP_S
        if since_bread_s >= BREAD_EVERY_S:
            oven.event("door", seconds=DOOR_S)
            oven.event("load", bake_s=90.0, water_g=25.0)
            since_bread_s = 0.0
    energy_j = oven.energy()["in_j"]
    baking_s = 0 if reached_at is None else (steps - reached_at) * STEP_S
    holding_w = (energy_j - start_j) / baking_s if baking_s else energy_j / (hours * 3600)
    source = f"{MODEL}; plain thermostat, a bread each five minutes"
    return energy_j, holding_w, source


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
