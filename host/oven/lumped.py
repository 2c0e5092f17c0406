"""What the ovens made of lumps share: a bread that is one lump on a stone whose face is a skin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .base import LATENT_J_G, Plant
from .bread_heat import BREAD_M2
from .skin import Skin

if TYPE_CHECKING:
    from host.oven.roofed import RoofedParameters
    from host.oven.threelump import ThreeLumpParameters

BOIL_K = 373.12


class Lumped(Plant):
    """Base of ThreeLump and Roofed; they add `_lumps_j()`, the heat of their lumps above the start, and
    `_above_w_m2(face_k)`, what a bread's face takes from above."""

    def __init__(self, parameters: RoofedParameters | ThreeLumpParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        self._bread_k: float | None = None
        self._skin = Skin(parameters)

    def _bake(self, dt_s, stone_k):
        """Heat the bread from the stone and boil its water; returns W drawn from the stone."""
        if self._bread_k is None:
            self._skin.step(dt_s, 0.0)
            return 0.0
        p = self.parameters
        drawn_w = p.bread_stone_w_k * (stone_k - self._skin.face_k - self._bread_k)
        bread_k = self._bread_k + drawn_w * dt_s / p.bread_j_k
        if bread_k > BOIL_K and self._water_g > 0.0:
            boiled_j = min((bread_k - BOIL_K) * p.bread_j_k, self._water_g * LATENT_J_G)
            self._water_g -= boiled_j / LATENT_J_G
            self._lost_j += boiled_j
            bread_k -= boiled_j / p.bread_j_k
        self._bread_k = bread_k
        self._skin.step(dt_s, drawn_w)
        self.baked[-1].add(dt_s, drawn_w / BREAD_M2, self._above_w_m2(bread_k))
        return drawn_w

    def _lay_bread(self, bake_s=90.0, water_g=25.0):
        super()._lay_bread(bake_s, water_g)
        self._bread_k = self._bread_start_k

    def _take_bread(self):
        super()._take_bread()
        if self._bread_k is not None:
            self._lost_j += self.parameters.bread_j_k * (self._bread_k - self._bread_start_k)
            self._bread_k = None

    def _stored_j(self):
        if self._bread_k is None:
            return self._lumps_j()
        return self._lumps_j() + self.parameters.bread_j_k * (self._bread_k - self._bread_start_k)

    def _lumps_j(self):
        raise NotImplementedError

    def _above_w_m2(self, face_k):
        raise NotImplementedError
