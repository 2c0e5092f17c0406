"""An evening on the simulated oven: by a rehearsal of the whole controller, or a plain thermostat."""

from dataclasses import dataclass

from host.oven import Plant
from host.simulator.cook import Cook
from host.simulator.rehearsal import COMMISSIONED_C, Rehearsal

MODEL = "simulated oven with these elements; not checked against a real oven"
STEP_S = 5.0  # step of the simulated oven; house
BREAD_EVERY_S = 260.0  # as quickly as the simulated cook of the rehearsal lays them at 450 degC
NEAR_K = 5.0  # so near to the wanted temperature a bread may be laid; house
DOOR_S = 16.0  # s; house: open twice for 8 s, bread in and bread out
MEAN_FROM_BREAD, MEAN_TO_BREAD = 1, 5  # breads between which the mean power is taken; house
SLICE_S = 20.0  # s; house


@dataclass(frozen=True)
class Evening:
    """`energy_j` of the whole evening, `baking_w` mean power once baking, `source` in words."""

    energy_j: float
    baking_w: float
    source: str


def thermostat(oven: Plant, wanted_c: int, hours: float) -> Evening:
    """Evening on `oven` with a proportional thermostat (band 4 K) and a bread each 260 s."""
    steps = max(1, int(hours * 3600 / STEP_S))
    reached_at, since_bread_s, start_j = None, 0.0, 0.0
    for step in range(steps):
        share = min(1.0, max(0.0, (wanted_c + 2 - oven.temperature_c("dome")) / 4.0))
        oven.step(STEP_S, {"top": share, "deck": share})
        if reached_at is None:
            if oven.temperature_c("dome") >= wanted_c - NEAR_K:
                reached_at, start_j = step + 1, oven.energy()["in_j"]
            continue
        since_bread_s += STEP_S
        near = oven.temperature_c("dome") >= wanted_c - NEAR_K
        if since_bread_s >= BREAD_EVERY_S and near:
            oven.event("door", seconds=DOOR_S)
            oven.event("load", bake_s=90.0, water_g=25.0)
            since_bread_s = 0.0
    energy_j = oven.energy()["in_j"]
    baking_s = 0 if reached_at is None else (steps - reached_at) * STEP_S
    baking_w = (energy_j - start_j) / baking_s if baking_s else energy_j / (steps * STEP_S)
    return Evening(energy_j, baking_w, f"{MODEL}; plain thermostat, a bread each 260 s")


def rehearsed(oven: Plant, wanted_c: int, hours: float) -> Evening | None:
    """Evening on `oven` run by the controller's own code up to the fifth bread.

    The rest of the evening goes on at the mean power from the first to the fifth bread. None where
    the controller trips, is not commissioned for `wanted_c`, or does not get to five breads.
    """
    if wanted_c > COMMISSIONED_C:
        return None
    cook = Cook()
    with Rehearsal(plant=oven, settings={"setpoint_c": round(wanted_c)}, cook=cook) as evening:
        evening.advance(10)
        evening.send("start")
        marks = {}
        while evening.now_s < hours * 3600 and MEAN_TO_BREAD not in marks:
            evening.advance(SLICE_S)
            marks.setdefault(cook.breads, (evening.now_s, oven.energy()["in_j"]))
            if evening.state not in ("running", "held"):
                return None
    if MEAN_FROM_BREAD not in marks or MEAN_TO_BREAD not in marks:
        return None
    (first_s, first_j), (last_s, last_j) = marks[MEAN_FROM_BREAD], marks[MEAN_TO_BREAD]
    baking_w = (last_j - first_j) / (last_s - first_s)
    energy_j = last_j + baking_w * (hours * 3600 - last_s)
    return Evening(energy_j, baking_w, f"{MODEL}; rehearsal with the controller's own code")
