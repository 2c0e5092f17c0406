"""Evenings on simulated ovens for the stone's estimate: what the board would see, and what the stone was.

The loop is the board's own Pid with a window spread evenly; setpoint, share, soak, bake and pauses are drawn by seed.
The ovens (ten stone layers and a wall, or three lumps and a delay) share no equation with the two-node estimator; none
of the seeds used in tests took part in choosing its rates.
"""

import random
from types import SimpleNamespace

import numpy as np

from host.shim.loader import world

WORLD = world()
Pid = WORLD.load("tizzone.control.pid").Pid
stone = WORLD.load("tizzone.control.stone")
STEP_S = 2
SPOT_SIGMA_K = 3.0  # of a good hand thermometer with the right emissivity


def session(plant, seed, length_s=7200):
    """An evening: rows every 2 s of (dome reading, deck share, bread on the stone, true surface, stone probe), and its
    landmarks."""
    draw = random.Random(seed)
    setpoint_c = draw.choice((350.0, 400.0, 450.0, 450.0, 470.0))
    share_pct, soak_s = draw.choice((42, 50, 50, 58)), draw.uniform(600, 1500)
    bake_s = draw.choice((75, 90, 120)) if setpoint_c >= 400 else 240
    gap_s = draw.uniform(150, 420)
    pid, rows = Pid(), []
    warm = reached = due_s = out_s = None
    loads, outs = [], []
    for t_s in range(length_s):
        pv_c = plant.temperature_c("dome")
        out_pct = pid.update(setpoint_c, pv_c, 1.0, not plant.door_open)
        top = 0.0 if plant.door_open else min(1.0, out_pct * share_pct / 5000.0)
        deck = 0.0 if plant.door_open else min(1.0, out_pct * (100 - share_pct) / 5000.0)
        if warm is None and pv_c >= 250.0:
            warm = t_s
        if reached is None and pv_c >= setpoint_c - 5.0:
            reached, due_s = t_s, t_s + soak_s
        if due_s is not None and t_s >= due_s and len(loads) < 10:
            plant.event("door", seconds=8.0)
            plant.event("load", bake_s=bake_s, water_g=25.0)
            loads.append(t_s)
            out_s = t_s + bake_s
            due_s = out_s + gap_s + (900.0 if len(loads) == 5 else 0.0)
        if t_s == out_s:
            plant.event("door", seconds=8.0)
            outs.append(t_s)
        rows.append((pv_c, deck, float(out_s is not None and t_s < out_s), plant.true_c("stone"),
                     plant.temperature_c("stone")))  # fmt: skip
        plant.step(1.0, {"top": top, "deck": deck})
    data = np.array(rows).reshape(-1, STEP_S, 5).mean(1)
    marks = {"warm": warm, "reached": reached, "loads": loads, "outs": outs, "setpoint_c": setpoint_c}
    return SimpleNamespace(data=data, **marks)


def spots(evening):
    """When four readings are taken: dome passing 250 °C, its arrival, the first bread just out, before the fifth."""
    return [evening.warm, evening.reached + 40, evening.outs[0] + 6, evening.loads[4] - 2]


def followed(evening, at_s=(), learned=None, seed=0, probe=None):
    """The estimator over an evening with spot readings `at_s`; (estimate, said-ready threshold by wanted, object).

    `probe`: (depth in mm, 1 at the rim) of a stone probe that it is told, None: there is none."""
    draw = random.Random(seed)
    model = stone.Stone()
    if learned is not None:
        assert model.take(learned)
    model.begin(float(evening.data[0, 0]))
    if probe is not None:
        model.seat(*probe)
    steps = {int(t_s) // STEP_S for t_s in at_s}
    seen = np.empty(len(evening.data))
    margin = np.empty(len(evening.data))
    for i, (pv_c, deck, bread, true_c, probe_c) in enumerate(evening.data.tolist()):
        if i in steps:
            model.spot(true_c + draw.gauss(0.0, SPOT_SIGMA_K))
        seen[i] = model.surface_c
        margin[i] = model.ready_at_c(0.0)
        model.step(pv_c, deck, float(STEP_S), 1 if bread > 0.5 else 0)
        model.probed = 0
        if probe is not None:
            model.probe(probe_c, float(STEP_S))
    return seen, margin, model


def earliest_k(evening, seen, margin, from_s, below=(50.0, 35.0, 20.0, 10.0, 0.0)):
    """How far below the wanted surface the stone was when 'ready' was said: the worst over soak, every recovery, and
    wanted surfaces so far `below` the setpoint, K; None if it was never said."""
    true_c = evening.data[:, 3]
    ends = [*evening.loads[1:], len(true_c) * STEP_S]
    spans = [(evening.reached, evening.loads[0]), *zip(evening.outs, ends, strict=False)]
    worst = None
    for begin_s, end_s in spans:
        first, last = max(int(begin_s), int(from_s)) // STEP_S + 1, int(end_s) // STEP_S
        for below_k in below:
            wanted_c = evening.setpoint_c - below_k
            said = np.flatnonzero(seen[first:last] >= wanted_c + margin[first:last])
            if len(said):
                early_k = wanted_c - true_c[first + said[0]]
                worst = early_k if worst is None else max(worst, early_k)
    return worst


def rms(values):
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def sags(evening, seen):
    """(true sag, sag by the estimate) of each bread, K: from its laying to the lowest until two minutes after it."""
    true_c, found = evening.data[:, 3], []
    for laid_s, out_s in zip(evening.loads, evening.outs, strict=False):
        first, last = int(laid_s) // STEP_S, (int(out_s) + 120) // STEP_S
        found.append(tuple(float(c[first] - c[first:last].min()) for c in (true_c, seen)))
    return found


EVERY_WANTED_K = tuple(map(float, range(61)))  # five of them miss or meet the worst by a tenth of a kelvin of the dome


def judge_probe(make, seed, depth_mm, rim):
    """Figures of one evening with a stone probe: rms while no bread lies there and in the two minutes after it, rms
    otherwise, how early 'ready' was said, and the largest difference of a reported sag from the true one."""
    changes = {"stone_probe_depth_mm": float(depth_mm), "stone_probe_from_middle_mm": 300.0 * rim}
    evening = session(make(seed, **changes), seed)
    seen, margin, _ = followed(evening, probe=(depth_mm, rim))
    hot = int(evening.reached) // STEP_S
    off_k = (seen - evening.data[:, 3])[hot:]
    baked = np.zeros(len(evening.data), bool)
    for laid_s, out_s in zip(evening.loads, evening.outs, strict=False):
        baked[int(laid_s) // STEP_S : (int(out_s) + 120) // STEP_S] = True
    pairs = sags(evening, seen)
    return {
        "calm_k": rms(off_k[~baked[hot:]]),
        "baked_k": rms(off_k[baked[hot:]]),
        "early_k": earliest_k(evening, seen, margin, evening.reached, EVERY_WANTED_K),
        "sag_off_k": max((abs(told - true) for true, told in pairs), default=0.0),
    }


def judge(evening, seed=0):
    """Figures of one evening: rms of typical values, of an evening with four spots (from the setpoint on), of the same
    oven's next evening; how early 'ready' was said in each."""
    true_c = evening.data[:, 3]
    hot = evening.reached // STEP_S
    typical, typical_margin, _ = followed(evening)
    at_s = spots(evening)
    spotted, spot_margin, model = followed(evening, at_s, seed=seed)
    again, again_margin, _ = followed(evening, learned=model.learned())
    return {
        "typical_k": rms(typical - true_c),
        "spots_k": rms((spotted - true_c)[hot:]),
        "after_k": rms((spotted - true_c)[int(at_s[-1]) // STEP_S + 1 :]),
        "again_k": rms(again - true_c),
        "early_typical_k": earliest_k(evening, typical, typical_margin, evening.reached),
        "early_spots_k": earliest_k(evening, spotted, spot_margin, at_s[1]),
        "early_again_k": earliest_k(evening, again, again_margin, evening.reached),
    }
