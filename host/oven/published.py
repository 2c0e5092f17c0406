"""A simulated oven put to the tests that household ovens are sold by: preheat, hold, and the soaked brick.

After IEC 60350-1 (clauses 7.2 and 7.4, its figures from memory where so marked): empty oven, stone out, the oven's own
thermostat, room at 23 degrees. The energy of the brick is set against SEC = 0.0042 V + 0.55 kWh of Regulation (EU)
65/2014, Annex II.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from .base import LATENT_J_G, ZERO_C_K, Plant
from .parameters import STEFAN_W_M2K4, Surroundings
from .roofed import RoofedParameters
from .slab import Slab
from .threelump import ThreeLumpParameters

if TYPE_CHECKING:
    from host.oven.oven import Oven


ROOM_C = 23.0
RISE_K = 180.0  # conventional heating: the oven's middle over the room; from memory
DIFFERENTIAL_K = 8.0  # of an everyday thermostat; common practice, no source
LITRES_OF_STONE_M2 = 600.0  # a 60 litre oven takes a stone of 0.1 m2: what `size` scales in the sampler
STEP_S = 0.5


class Thermostat:
    """The oven's own: both elements together, off at the setting, on again DIFFERENTIAL_K below."""

    def __init__(self, setting_c: float) -> None:
        self.setting_c = setting_c
        self.on = True

    def heat(self, plant: Plant) -> dict[str, float]:
        """Shares for the next step, by the true air in the middle."""
        air_c = plant.true_c("dome")
        if air_c >= self.setting_c + DIFFERENTIAL_K / 2:
            self.on = False
        elif air_c <= self.setting_c - DIFFERENTIAL_K / 2:
            self.on = True
        return {"top": float(self.on), "deck": float(self.on)}


def emptied(parameters: Surroundings) -> dict[str, float]:
    """Changes of `parameters` that take the stone out, room and mains as in the tests.

    A lumped oven has no stone to take out: its stone gets next to no heat capacity and no exchange, and what an
    element sent to it goes to the walls.
    """
    changes = {"ambient_c": ROOM_C, "turbulence_k": 0.0, "mains_wander": 0.0}
    if isinstance(parameters, RoofedParameters):
        gone = ("top_stone_black_m2", "deck_stone_black_m2", "stone_sides_black_m2", "stone_roof_black_m2")
        changes |= dict.fromkeys(gone, 1e-5) | {"stone_j_k": 200.0, "stone_air_w_k": 1e-3, "stone_link_w_k": 1e-2}
        for element in ("top", "deck"):
            shares = (getattr(parameters, f"{element}_{place}_black_m2") for place in ("sides", "stone"))
            changes[f"{element}_sides_black_m2"] = sum(shares)
    elif isinstance(parameters, ThreeLumpParameters):
        whole_w_k = parameters.element_chamber_w_k + parameters.element_stone_w_k
        changes |= {"stone_j_k": 200.0, "chamber_stone_w_k": 1e-2, "element_stone_w_k": 1e-3}
        changes["element_chamber_w_k"] = whole_w_k
    else:
        changes["stone_in"] = 0.0
    return changes


def empty_figures(plant_of: Callable[..., Plant]) -> dict[str, float]:
    """{preheat_min, holding_w} of the ovens of any structure that `plant_of(**changes)` makes."""
    changes = emptied(plant_of().parameters)
    return {"preheat_min": preheat_min(plant_of(**changes)), "holding_w": holding_w(plant_of(**changes))}


def preheat_min(plant: Plant) -> float:
    """Minutes from cold until the middle of the empty oven has risen by RISE_K; NaN if it never does."""
    thermostat = Thermostat(plant.ambient_c + RISE_K)
    while plant.true_c("dome") < plant.ambient_c + RISE_K:
        plant.step(STEP_S, thermostat.heat(plant))
        if plant.time_s > 7200.0:
            return math.nan
    return plant.time_s / 60.0


def holding_w(plant: Plant, setting_c: float = 200.0, settle_s: float = 5400.0, over_s: float = 3600.0) -> float:
    """Mean W that keep the empty oven at `setting_c`, after it has settled."""
    thermostat = Thermostat(setting_c)
    begin_j = 0.0
    for step in range(round((settle_s + over_s) / STEP_S)):
        if step == round(settle_s / STEP_S):
            begin_j = plant.energy()["in_j"]
        plant.step(STEP_S, thermostat.heat(plant))
    return (plant.energy()["in_j"] - begin_j) / over_s


def standard_energy_kwh(litres: float) -> float:
    """Energy per cycle of the standard cavity, kWh: Regulation (EU) 65/2014, Annex II."""
    return 0.0042 * litres + 0.55


def litres(plant: Oven) -> float:
    """The cavity's volume that belongs to a stone of this size."""
    return plant.parameters.stone_area_m2 * LITRES_OF_STONE_M2


class Brick:
    """The load: a porous brick 230 x 114 x 64 mm, 920 g dry with 1050 g of water (masses from memory), from 5 degrees.

    A slab through its thickness, symmetric, of which one half is stepped. The edges are counted to its faces, and its
    conductivity is that which warms the middle as the whole block's does: by its slowest mode (the sum of 1 / L^2 over
    three sides instead of one), and four fifths of that, since a block's middle begins later than a slab's. Its
    surface stays wet: what evaporates follows from the heat transfer by Lewis's relation.
    """

    SIZE_M = (0.230, 0.114, 0.064)
    DRY_KG, WATER_KG = 0.920, 1.050
    DRY_J_KGK, WATER_J_KGK = 850.0, 4190.0  # fired clay and water; from memory
    WET_W_MK = 0.9  # two thirds water, one third fired clay; from memory
    START_C, RISE_K = 5.0, 55.0
    LAYERS = 8
    AIR_W_M2K = 9.0  # free convection in the closed cavity; common practice, no source
    EMISSIVITY = 0.93  # wet and rough; from memory
    LEWIS_PER_HPA = 1.6  # K for each hPa: 0.622 r / (cp p Le^(2/3)), 1 over the constant of a wet-bulb thermometer

    def __init__(self) -> None:
        a, b, c = self.SIZE_M
        self.surface_m2 = 2 * (a * b + a * c + b * c)
        mass_kg = self.DRY_KG + self.WATER_KG
        heat_j_kgk = (self.DRY_KG * self.DRY_J_KGK + self.WATER_KG * self.WATER_J_KGK) / mass_kg
        # one half: half the mass behind half the surface; the depth to the middle is that of the thickness
        half_m2, depth_m = self.surface_m2 / 2, c / 2
        like_block = 0.8 * a * b * c / (2 * half_m2 * depth_m) * sum((c / side) ** 2 for side in self.SIZE_M)
        self.half = Slab(
            half_m2,
            depth_m,
            self.WET_W_MK * like_block,
            mass_kg / 2 / (half_m2 * depth_m),
            heat_j_kgk,
            self.LAYERS,
            self.START_C + ZERO_C_K,
        )
        self.evaporated_g = 0.0

    @property
    def core_c(self) -> float:
        """At the two thermocouples, in the middle."""
        return self.half.t_k[-1] - ZERO_C_K

    def step(self, dt_s: float, air_k: float, liner_k: float, vapour_hpa: float) -> tuple[float, float, float]:
        """Pass dt_s; returns (W from the air, W from the walls, W of evaporation) of the whole brick."""
        face_k = self.half.t_k[0]
        air_w = self.AIR_W_M2K * self.surface_m2 * (air_k - face_k)
        wall_w = STEFAN_W_M2K4 * self.EMISSIVITY * self.surface_m2 * (liner_k**4 - face_k**4)
        over_hpa = saturation_hpa(face_k - ZERO_C_K) - vapour_hpa
        steam_w = max(0.0, self.LEWIS_PER_HPA * self.AIR_W_M2K * self.surface_m2 * over_hpa)
        self.half.step(dt_s, (air_w + wall_w - steam_w) / 2, 0.0)
        self.evaporated_g += steam_w * dt_s / LATENT_J_G
        return air_w, wall_w, steam_w


def saturation_hpa(t_c: float) -> float:
    """Vapour pressure over water of 1..100 degrees, hPa: Antoine's equation, constants from memory."""
    return 1.333224 * 10.0 ** (8.07131 - 1730.63 / (233.426 + t_c))


def brick(plant: Oven, settle_s: float = 0.0) -> tuple[float, float]:
    """(kWh, minutes) until the brick's middle has risen by 55 K, from a cold oven whose thermostat stands RISE_K over
    the room; (NaN, NaN) if it never does.

    The vapour in the cavity: what evaporates, less what the vent's air (its heat loss is known) carries away.
    """
    load, thermostat = Brick(), Thermostat(plant.ambient_c + RISE_K)
    begin_j, p = plant.energy()["in_j"], plant.parameters
    vent_kg_s, vapour_hpa = p.vent_w_k / 1006.0, 10.0
    while load.core_c < load.START_C + load.RISE_K:
        plant.step(STEP_S, thermostat.heat(plant))
        air_w, wall_w, steam_w = load.step(STEP_S, plant._air_k, plant.wall.t_k[0], vapour_hpa)
        plant._air_k -= air_w * STEP_S / p.air_j_k
        plant.wall.t_k[0] -= wall_w * STEP_S / plant.wall.front_j_k
        plant._lost_j += (air_w + wall_w) * STEP_S  # into the brick and its steam
        vapour_hpa = _vapour(vapour_hpa, steam_w / LATENT_J_G / 1000.0, vent_kg_s, litres(plant), plant._air_k)
        if plant.time_s > 14400.0:
            return math.nan, math.nan
    return (plant.energy()["in_j"] - begin_j) / 3.6e6, plant.time_s / 60.0


def _vapour(vapour_hpa, steam_kg_s, vent_kg_s, litres_, air_k):
    """Vapour pressure after a step: steam pushes out as much mixture as comes in, the vent exchanges the rest."""
    holds_kg = litres_ / 1000.0 * 101325.0 / (461.5 * air_k)  # of steam alone in that room
    share = vapour_hpa / 1013.25
    gains = (steam_kg_s * (1.0 - share) - vent_kg_s / 0.622 * (share - 0.01)) / holds_kg
    return min(1013.25, max(0.0, (share + gains * STEP_S) * 1013.25))


def figures(plant_of: Callable[..., Oven]) -> dict[str, float]:
    """{preheat_min, holding_w, brick_kwh, brick_min, eei} of the ovens that `plant_of(**changes)` makes."""
    changes = emptied(plant_of().parameters)
    kwh, minutes = brick(plant_of(**changes))
    return empty_figures(plant_of) | {
        "brick_kwh": kwh,
        "brick_min": minutes,
        "eei": 100.0 * kwh / standard_energy_kwh(litres(plant_of(**changes))),
    }
