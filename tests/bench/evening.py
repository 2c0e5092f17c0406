"""One measured evening of one controller on one oven: preheat, soak, three breads; figures of the sheath itself."""

import numpy as np

from host.learning.loop import TICK_S, Loop

PREHEAT_MAX_S = 5400.0
SOAK_S = 2400.0
BAND_S = 600.0  # the band is the peak to peak of the last ten minutes of the soak
BREADS = 3
DOOR_S = 8.0
BAKE_S = 90.0
RECOVER_S = 400.0
NEAR_K = 5.0


def full_power(plant, setpoint_c=450.0, **loop):
    """Seconds until setpoint - 5 K with everything on: the bound. NaN where the oven does not get there."""
    run = Loop(plant, Always(100.0), setpoint_c, **loop)
    while run.time_s < PREHEAT_MAX_S:
        row = run.tick()
        if row[1] >= setpoint_c - NEAR_K:
            return row[0]
    return float("nan")


class Always:
    """A controller with a fixed output."""

    def __init__(self, out_pct):
        self.out_pct = out_pct

    def update(self, setpoint_c, pv_c, dt_s):
        """The same, always."""
        return self.out_pct


def measure(plant, controller, setpoint_c=450.0, keep=False, **loop):
    """Figures of an evening, K and s: arrive_s, overshoot_k, band_k, mean_pct, recover_s, rebound_k, switchings.

    recover_s: worst of the breads, from taking out until the sheath is within 5 K; rebound_k: worst rise above the
    setpoint after it. NaN where the oven never arrives.
    """
    run = Loop(plant, controller, setpoint_c, **loop)
    _until(run, setpoint_c - NEAR_K, PREHEAT_MAX_S)
    figures = dict.fromkeys(("arrive_s", "overshoot_k", "band_k", "mean_pct", "recover_s", "rebound_k"), float("nan"))
    if run.time_s < PREHEAT_MAX_S:
        figures["arrive_s"] = run.time_s - TICK_S
        soak = run.run(SOAK_S)
        figures["overshoot_k"] = max(0.0, soak[:, 1].max() - setpoint_c)
        end = soak[-round(BAND_S / TICK_S) :]
        figures["band_k"] = float(np.ptp(end[:, 1]))
        figures["offset_k"] = float(end[:, 1].mean() - setpoint_c)
        figures["mean_pct"] = float(end[:, 3].mean())
        breads = [_bread(run, setpoint_c) for _ in range(BREADS)]
        figures["recover_s"] = max(each[0] for each in breads)
        figures["rebound_k"] = max(each[1] for each in breads)
    figures["switchings_h"] = run.heater.top.switchings / run.time_s * 3600.0
    if keep:
        figures["log"] = np.array(run.log)
    return figures


def _until(run, level_c, most_s):
    while run.time_s < most_s:
        row = run.tick()
        run.log.append(row)
        if row[1] >= level_c:
            return


def _bread(run, setpoint_c):
    """Lay, bake, take out, recover: (seconds until within 5 K after taking out, rebound in K)."""
    bound = run.controller if hasattr(run.controller, "laid") else None
    if bound is not None:
        bound.laid()
    run.plant.event("door", seconds=DOOR_S)
    run.run(DOOR_S / 2)
    run.plant.event("load", bake_s=BAKE_S, water_g=25.0)
    run.run(DOOR_S / 2 + BAKE_S - DOOR_S)
    run.plant.event("door", seconds=DOOR_S)
    run.run(DOOR_S / 2)
    run.plant.event("unload")
    begun = len(run.log)
    for _ in range(round(RECOVER_S / TICK_S)):
        run.log.append(run.tick())
        if bound is not None:
            bound.look(run.log[-1][1], setpoint_c, is_out=True)
    after = np.array(run.log[begun:])[:, 1]
    # within 5 K for good: the door still stands open when the bread comes out
    low = np.flatnonzero(after < setpoint_c - NEAR_K)
    seconds = (low[-1] + 1) * TICK_S if len(low) else 0.0
    return seconds, max(0.0, float(after.max()) - setpoint_c)
