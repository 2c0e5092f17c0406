"""Many evenings of one simulated oven at once: the plants of `host.oven`, their numbers stacked into arrays.

Quick enough for histories of 60 evenings (about a second). Left out against a rehearsal: the board's code, relay
windows (the output acts as a share), breads and doors; the controller is a plain one. Evenings differ in mains, room,
length and, as asked, in the health of the oven.
"""

import copy
import dataclasses

import numpy as np

from host import oven
from host.oven.base import ZERO_C_K
from host.runs.recording import DTYPE

STEP_S = 3.0
KEEP = 4  # one row in four steps
KINDS = {"layered": oven.sample, "lumped": oven.other}


def stack(things):
    """One thing whose floats are arrays over `things`, where they differ; a plain float where they do not."""
    first = things[0]
    if isinstance(first, (bool, int, str)) or first is None:
        return first
    if isinstance(first, float):
        return first if all(thing == first for thing in things) else np.array(things)
    if isinstance(first, (list, tuple)):
        return type(first)(stack(list(items)) for items in zip(*things, strict=True))
    if dataclasses.is_dataclass(first) or type(first).__module__.startswith("host.oven"):
        made = copy.copy(first)
        for name in vars(first):
            setattr(made, name, stack([getattr(thing, name) for thing in things]))
        return made
    return first


class Evenings:
    """`count` evenings of oven `seed` of a kind ("layered", "lumped"). `health`: arrays (count) of multipliers by name:
    power, top (that element alone), loss (all of the holding loss, through the leak), wall (the same through the
    insulation), probe (share of the rise above the room that the dome probe shows), mass (stone)."""

    def __init__(self, kind, seed, count, health, voltage, room_c, setpoint_c=450.0, hold_w=1500.0,
                 chance=0, quiet=False):  # fmt: skip
        self.random, self.noise = np.random.default_rng([chance, seed]), 0.0 if quiet else 1.0
        self.count, self.setpoint_c, self.room_c = count, np.full(count, setpoint_c), np.asarray(room_c, float)
        one = np.ones(count)
        get = {name: np.asarray(health.get(name, one), float) for name in
               ("power", "top", "loss", "wall", "probe", "mass")}  # fmt: skip
        first = KINDS[kind](seed)
        # the integral starts at the power that the oven is expected to need, as the board's does
        self.hold_pct = 100.0 * hold_w / (first.parameters.top_w + first.parameters.deck_w)
        plants = []
        for k in range(count):
            health_k = {name: float(values[k]) for name, values in get.items()}
            new = changes(first.parameters, health_k, float(self.room_c[k]), hold_w)
            plants.append(type(first)(dataclasses.replace(first.parameters, **new), seed))
        self.plant = plant = stack(plants)
        self.share, self.voltage, self.wander = get["probe"], np.asarray(voltage, float), np.zeros(count)
        self.eddy, self.tip = np.zeros(count), self.room_c + ZERO_C_K
        self.stone_tip = self.tip.copy()
        plant._mains_power = lambda dt_s: (self.voltage * (1 + self.wander)) ** 2
        plant._sense = self.sense

    def sense(self, dt_s, air_k, glow_k4, element_k, stone_k, exit_k):
        """First-order sheaths in the air alone, and the share of the rise that the probe shows."""
        p, room_k = self.plant.parameters, self.room_c + ZERO_C_K
        keep = np.exp(-dt_s / 8.0)
        self.eddy = self.eddy * keep + self.random.normal(0, 0.4 * self.noise, self.count) * np.sqrt(1 - keep**2)
        seen_k = room_k + self.share * (air_k + self.eddy - room_k)
        self.tip = self.tip + (seen_k - self.tip) * (1 - np.exp(-dt_s / p.dome_probe_s))
        self.stone_tip = self.stone_tip + (stone_k - self.stone_tip) * (1 - np.exp(-dt_s / p.stone_probe_s))

    def run(self, hold_s, until_c=280.0, longest_s=20000.0):
        """All of them, held `hold_s` (array) after reaching the setpoint; -> list of row arrays of the run file."""
        n, plant, goal = self.count, self.plant, self.setpoint_c
        out, sum_pct, near_s = np.full(n, 100.0), np.full(n, self.hold_pct), np.full(n, np.nan)
        approach, before = np.ones(n, bool), self.tip - ZERO_C_K
        kept, t_s, keep = [], 0.0, np.exp(-STEP_S / 300.0)
        while t_s < longest_s:
            pv = self.tip - ZERO_C_K + self.random.normal(0, 0.15 * self.noise, n)
            rate, before = (self.tip - ZERO_C_K - before) / STEP_S, self.tip - ZERO_C_K
            near_s = np.where(np.isnan(near_s) & (pv >= goal - 5), t_s, near_s)
            asked = t_s < near_s + hold_s
            asked |= np.isnan(near_s)
            approach &= pv + 40.0 * rate < goal
            off = goal - pv
            sum_pct = np.where(approach, sum_pct, np.clip(sum_pct + 2.5 * off * STEP_S / 250.0, 0, 100))
            out = np.where(approach, 100.0, np.clip(2.5 * off + sum_pct - 60.0 * rate, 0, 100)) * asked
            if round(t_s / STEP_S) % KEEP == 0:
                kept.append((t_s, pv, np.where(asked, goal, 0.0), out, self.stone_tip - ZERO_C_K))
                if not asked.any() and (pv < until_c).all():
                    break
            plant._substep(STEP_S, out / 100.0, out / 100.0)
            self.wander = self.wander * keep + self.random.normal(0, 0.006 * self.noise, n) * np.sqrt(1 - keep**2)
            t_s += STEP_S
        return self.rows(kept)

    def rows(self, kept):
        """Kept moments -> one structured array an evening."""
        t_s = np.array([one[0] for one in kept])
        columns = [np.array([np.broadcast_to(one[i], self.count) for one in kept]) for i in range(1, 5)]
        evenings = []
        for k in range(self.count):
            rows = np.zeros(len(t_s), DTYPE)
            rows["t_s"], rows["pv_c"], rows["dome_c"] = t_s, columns[0][:, k], columns[0][:, k]
            rows["setpoint_c"], rows["out_pct"] = columns[1][:, k], columns[2][:, k]
            rows["heat_top"] = rows["heat_deck"] = columns[2][:, k] / 100.0
            rows["stone_c"] = rows["stone_pv_c"] = columns[3][:, k]
            rows["state"], rows["permit"], rows["contactor"] = "running", 1, rows["out_pct"] > 0
            rows["box_c"], rows["power_w"] = np.nan, np.nan
            evenings.append(rows)
        return evenings


def changes(p, health, room_c, hold_w):
    """Parameters to change for one evening of this health."""
    more_w_k = hold_w * (health["loss"] - 1) / 430.0
    made = {"top_w": p.top_w * health["power"] * health["top"], "deck_w": p.deck_w * health["power"],
            "ambient_c": room_c}  # fmt: skip
    if hasattr(p, "wall_w_mk"):
        made["vent_w_k"] = p.vent_w_k + more_w_k
        made["wall_w_mk"] = p.wall_w_mk * (1 + (health["wall"] - 1) / 0.65)  # walls: about 65 % of the loss
        made["stone_m"] = p.stone_m * health["mass"]
        made["stone_layers"] = 5  # ten thin ones would need shorter steps
    else:
        made["loss_w_k"] = p.loss_w_k + more_w_k + hold_w * (health["wall"] - 1) / 430.0
        made["stone_j_k"] = p.stone_j_k * health["mass"]
    return made


# what fails -> (health it acts on, sign)
FAULTS = {"healthy": (None, 0), "element": ("power", -1), "one element": ("top", -2), "gasket": ("loss", 1),
          "insulation": ("wall", 1), "probe low": ("probe", -1), "probe high": ("probe", 1)}  # fmt: skip
ROOM_C, VOLTS, AMPERES = 19.0, 230.0, 12.6
NIGHTS = 60
BEGINS, FULL = 14, 40  # a fault begins after this many evenings and is whole after so many; it grows no further


def histories(kind, seed, faults, size, count=NIGHTS):
    """{fault: list of observed evenings}: one oven, each fault growing to `size` (share) at evening FULL.

    Every evening has its own mains (2 %), room, length; cooling scatters by 2.5 % (door, fan), the stone by 0.4 %;
    `volts` and `amperes` are what meters of 0.4 % and 0.5 % would have shown. One evening in 25 is unlike the others.
    """
    from host.history.evening import observe

    random, n = np.random.default_rng([seed, round(1000 * size)]), count * len(faults)
    ramp = np.clip((np.arange(count) + 1 - BEGINS) / (FULL - BEGINS), 0.0, 1.0)
    health = {name: np.ones(n) for name in ("power", "top", "loss", "wall", "probe", "mass")}
    for i, fault in enumerate(faults):
        name, sign = FAULTS[fault]
        if name:
            health[name][i * count : (i + 1) * count] = 1.0 + sign * size * ramp
    odd = random.random(n) < 0.04
    health["mass"][odd] *= random.uniform(0.7, 1.4, odd.sum())
    season = 4.0 * np.sin(np.arange(count) / 10.0)
    room_c = ROOM_C + random.normal(0, 2.0, n) + np.tile(season, len(faults))
    voltage = np.exp(random.normal(0, 0.02, n))
    evenings = Evenings(kind, seed, n, health, voltage, room_c, hold_w=hold_w(kind, seed), chance=1)
    found = [observe(rows, []) for rows in evenings.run(random.uniform(900, 3000, n))]
    p = KINDS[kind](seed).parameters
    top = p.top_w / (p.top_w + p.deck_w)
    conducts = health["power"] * (1 - top + top * health["top"])
    for k, evening in enumerate(found):
        evening["name"] = f"evening {k % count + 1}"
        for name, scatter in (("cool", 0.025), ("stone", 0.004)):
            if evening[name]:
                evening[name] *= random.normal(1.0, scatter)
        evening["volts"] = VOLTS * voltage[k] * random.normal(1.0, 0.004)
        evening["amperes"] = AMPERES * voltage[k] * conducts[k] * random.normal(1.0, 0.005)
    return {fault: found[i * count : (i + 1) * count] for i, fault in enumerate(faults)}


def metered(evenings, meter=""):
    """The evenings with "mains_v", "current_a" or no meter."""
    return [{**evening, "mains_v": evening["volts"] if meter == "mains_v" else None,
             "current_a": evening["amperes"] if meter == "current_a" else None} for evening in evenings]  # fmt: skip


def hold_w(kind, seed):
    """What holds 450 °C in this oven, W."""
    from host.history.evening import observe

    evening = observe(Evenings(kind, seed, 1, {}, [1.0], [20.0], quiet=True).run(np.array([1500.0]))[0], [])
    p = KINDS[kind](seed).parameters
    return (evening["hold"] or 60.0) / 100.0 * (p.top_w + p.deck_w)
