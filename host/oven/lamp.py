"""The bench before any oven: an incandescent lamp under a tin shade with a probe taped to it, at
most about 80 degrees.

Each zone drives a lamp of its own; "dome" is taped to the first shade, "stone" to the second. Two
lumps a lamp: filament and bulb, shade. Linear losses, since nothing here gets hot. Doors and
breads change little: an open door is a draught, a bread a wet cloth laid on the second shade.
"""

from __future__ import annotations

from dataclasses import dataclass

from .base import LATENT_J_G, ZERO_C_K, Plant
from .parameters import Surroundings


@dataclass
class LampParameters(Surroundings):
    """A 40 W lamp a zone; capacities J/K, conductances W/K."""

    name: str = "lamp"
    top_w: float = 40.0
    deck_w: float = 40.0
    bulb_j_k: float = 25.0
    bulb_shade_w_k: float = 0.5
    shade_j_k: float = 80.0
    shade_room_w_k: float = 0.75
    draught_w_k: float = 1.5
    cloth_w_k: float = 0.3
    turbulence_k: float = 0.1
    dome_probe_mm: float = 0.0  # taped on
    dome_probe_s: float = 3.0
    stone_probe_s: float = 3.0
    box_casing_w_k: float = 0.01


class LampBench(Plant):
    """Two lamps with a probe each; same contract as the ovens."""

    def __init__(self, parameters: LampParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        self._bulbs_k = [self._start_k, self._start_k]
        self._shades_k = [self._start_k, self._start_k]

    def true_c(self, place: str) -> float:
        """Degrees Celsius of the shades ("dome" and "stone") and bulbs ("top", "deck")."""
        known = {
            "dome": self._shades_k[0],
            "stone": self._shades_k[1],
            "top": self._bulbs_k[0],
            "deck": self._bulbs_k[1],
        }
        if place in known:
            return known[place] - ZERO_C_K
        return self.temperature_c(place)

    def _substep(self, dt_s, top, deck):
        p, ok, room_k = self.parameters, self.element_ok, self.ambient_c + ZERO_C_K
        power = self._mains_power(dt_s)
        watts = (
            power * p.top_w * top if ok["top"] else 0.0,
            power * p.deck_w * deck if ok["deck"] else 0.0,
        )
        loss_w_k = p.shade_room_w_k + (p.draught_w_k if self.door_open else 0.0)
        drawn_w = self._warm_box(dt_s, self._shades_k[0])
        for i in (0, 1):
            bulb_k, shade_k = self._bulbs_k[i], self._shades_k[i]
            onward_w, lost_w = p.bulb_shade_w_k * (bulb_k - shade_k), loss_w_k * (shade_k - room_k)
            if i == 1 and self.bread_in and self._water_g > 0.0:
                cloth_w = p.cloth_w_k * max(0.0, shade_k - room_k)
                self._water_g -= cloth_w * dt_s / LATENT_J_G
                lost_w += cloth_w
            self._bulbs_k[i] = bulb_k + (watts[i] - onward_w) * dt_s / p.bulb_j_k
            out_w = lost_w + (drawn_w if i == 0 else 0.0)
            self._shades_k[i] = shade_k + (onward_w - out_w) * dt_s / p.shade_j_k
            self._in_j += watts[i] * dt_s
            self._lost_j += lost_w * dt_s
        self._sense(dt_s, self._shades_k[0], self._shades_k[0] ** 4, self._bulbs_k[0], self._shades_k[1], room_k)
        self._pass_time(dt_s)

    def _stored_j(self):
        p, start_k = self.parameters, self._start_k
        return (
            p.bulb_j_k * (sum(self._bulbs_k) - 2 * start_k)
            + p.shade_j_k * (sum(self._shades_k) - 2 * start_k)
            + p.box_j_k * (self._box_k - start_k)
        )
