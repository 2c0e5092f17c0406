"""The baking stone: a column under the bread and the rim around it, in layers, and what a probe in it touches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from .slab import Slab

if TYPE_CHECKING:
    from host.oven.parameters import OvenParameters


ACROSS_M = 0.020  # between the two: as far as heat spreads in four minutes, sqrt(pi a t) with a = 5.4e-7 m2/s
BLEND_M = 0.010  # a probe so near the edge of the bread is partly in both columns


class Stone:
    """`middle` and `rim` are Slabs, face first; parameters as in OvenParameters; temperatures in K.

    With `stone_in` 0 the stone lies elsewhere: nothing reaches it.
    """

    def __init__(self, parameters: OvenParameters, start_k: float) -> None:
        p = parameters
        self.share = share = p.bread_area_m2 / p.stone_area_m2  # of the stone that a bread covers
        self.middle, self.rim = (
            Slab(
                p.stone_area_m2 * part,
                p.stone_m,
                p.stone_w_mk,
                p.stone_kg_m3,
                p.stone_j_kgk,
                p.stone_layers,
                start_k,
            )
            for part in (share, 1.0 - share)
        )
        radius_m = math.sqrt(p.bread_area_m2 / math.pi)
        self.across_w_k = p.stone_w_mk * 2 * math.pi * radius_m * p.stone_m / ACROSS_M
        self._layers = p.stone_layers
        depth = min(p.stone_probe_depth_mm / 1000.0 / p.stone_m, 1.0) * p.stone_layers
        self._node = min(int(depth), p.stone_layers - 1)
        self._part = depth - self._node
        self.rim_share = (p.stone_probe_from_middle_mm / 1000.0 - radius_m + BLEND_M) / (2 * BLEND_M)
        self.rim_share = min(1.0, max(0.0, self.rim_share))

    def step(self, dt_s: float, middle_w: float, rim_w: float, middle_under_w: float, rim_under_w: float) -> None:
        """Advance by dt_s with these W into the faces and undersides."""
        middle, rim = self.middle, self.rim
        middle.step(dt_s, middle_w, middle_under_w)
        rim.step(dt_s, rim_w, rim_under_w)
        per_j = self.across_w_k / self._layers * dt_s
        inner_m, inner_r = per_j / middle.node_j_k, per_j / rim.node_j_k
        one, other = middle.t_k, rim.t_k
        for node, one_k in enumerate(one):
            off_k = one_k - other[node]
            one[node] = one_k - off_k * inner_m
            other[node] += off_k * inner_r

    def seen_k(self) -> float:
        """What lies at the probe's depth and place."""
        node, part, rim_share = self._node, self._part, self.rim_share
        t_k = self.middle.t_k
        middle_k = t_k[node] + part * (t_k[node + 1] - t_k[node])
        t_k = self.rim.t_k
        return middle_k + rim_share * (t_k[node] + part * (t_k[node + 1] - t_k[node]) - middle_k)

    def slopes(
        self,
        middle_k: Sequence[float],
        rim_k: Sequence[float],
        middle_w: float,
        rim_w: float,
        middle_under_w: float,
        rim_under_w: float,
    ) -> list[float]:
        """dT/dt in K/s of every node, middle before rim: the same equations for an ODE solver."""
        one = self.middle.slopes(middle_k, middle_w, middle_under_w)
        other = self.rim.slopes(rim_k, rim_w, rim_under_w)
        per_s = self.across_w_k / self._layers
        for node, off_k in enumerate(a - b for a, b in zip(middle_k, rim_k, strict=True)):
            one[node] -= off_k * per_s / self.middle.node_j_k
            other[node] += off_k * per_s / self.rim.node_j_k
        return [*one, *other]

    def energy_j(self, from_k: float) -> float:
        """Heat held above the temperature from_k, J."""
        return self.middle.energy_j(from_k) + self.rim.energy_j(from_k)
