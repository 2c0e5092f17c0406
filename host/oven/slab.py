"""Heat conducted through the thickness of a plate: the stone, the insulated wall, a flatbread.

Finite volumes with a node on each face (the end nodes hold half a layer), so that the temperature
of a face is a number of its own. Explicit in time: `largest_step_s()` says how long a step may be.
Energy is conserved exactly, since what leaves one node enters its neighbour.
"""

from __future__ import annotations

from collections.abc import Sequence


class Slab:
    """A plate of `layers` equal layers and `layers + 1` nodes; temperatures in K, front first.

    area_m2, thickness_m; conductivity_w_mk at `reference_k`, growing by `slope_per_k` of itself
    for each K of the mean temperature of a layer; density_kg_m3, heat_j_kgk; front_extra_j_k,
    back_extra_j_k: heat capacity of sheets fixed to a face. Raises ValueError for fewer than two
    layers or a size that is not positive.
    """

    def __init__(
        self,
        area_m2: float,
        thickness_m: float,
        conductivity_w_mk: float,
        density_kg_m3: float,
        heat_j_kgk: float,
        layers: int,
        start_k: float,
        slope_per_k: float = 0.0,
        reference_k: float = 293.15,
        front_extra_j_k: float = 0.0,
        back_extra_j_k: float = 0.0,
    ) -> None:
        if layers < 2:
            raise ValueError("a slab needs at least two layers")
        sizes = (area_m2, thickness_m, conductivity_w_mk, density_kg_m3, heat_j_kgk)
        if not all(size > 0.0 for size in sizes):
            raise ValueError("a slab's sizes and properties must be above zero")
        layer_j_k = area_m2 * thickness_m / layers * density_kg_m3 * heat_j_kgk
        link_w_k = conductivity_w_mk * area_m2 * layers / thickness_m
        self.node_j_k = layer_j_k
        self.front_j_k = layer_j_k / 2 + front_extra_j_k
        self.back_j_k = layer_j_k / 2 + back_extra_j_k
        # link = _base + _grow * (T1 + T2): the mean temperature of the layer written out
        self._base_w_k = link_w_k * (1.0 - slope_per_k * reference_k)
        self._grow_w_k2 = link_w_k * slope_per_k / 2
        self._even = slope_per_k == 0.0
        self.t_k = [float(start_k)] * (layers + 1)

    def step(self, dt_s: float, front_w: float, back_w: float) -> None:
        """Advance by dt_s with front_w and back_w (W, positive into the slab) at the two faces."""
        t_k, base, grow = self.t_k, self._base_w_k, self._grow_w_k2
        per_j = dt_s / self.node_j_k
        left, here = t_k[0], t_k[1]
        flow = (base + grow * (left + here)) * (left - here)
        t_k[0] = left + (front_w - flow) * dt_s / self.front_j_k
        last = len(t_k) - 1
        if self._even:  # the same with fewer look-ups: a stone
            for i in range(1, last):
                right = t_k[i + 1]
                onward = base * (here - right)
                t_k[i] = here + (flow - onward) * per_j
                flow = onward
                here = right
            t_k[last] = here + (flow + back_w) * dt_s / self.back_j_k
            return
        for i in range(1, last):
            right = t_k[i + 1]
            onward = (base + grow * (here + right)) * (here - right)
            t_k[i] = here + (flow - onward) * per_j
            flow = onward
            here = right
        t_k[last] = here + (flow + back_w) * dt_s / self.back_j_k

    def slopes(self, t_k: Sequence[float], front_w: float, back_w: float) -> list[float]:
        """dT/dt in K/s of every node for temperatures t_k: the same equations, written for an ODE
        solver.
        """
        flows = [front_w]
        for left, right in zip(t_k[:-1], t_k[1:], strict=True):
            flows.append((self._base_w_k + self._grow_w_k2 * (left + right)) * (left - right))
        flows.append(-back_w)
        return [(flows[i] - flows[i + 1]) / self.capacity_j_k(i) for i in range(len(t_k))]

    def capacity_j_k(self, node: int) -> float:
        """Heat capacity of one node, J/K."""
        if node == 0:
            return self.front_j_k
        return self.back_j_k if node == len(self.t_k) - 1 else self.node_j_k

    def energy_j(self, from_k: float) -> float:
        """Heat held above the temperature from_k, J."""
        inner = sum(self.t_k[1:-1]) - from_k * (len(self.t_k) - 2)
        ends = self.front_j_k * (self.t_k[0] - from_k) + self.back_j_k * (self.t_k[-1] - from_k)
        return self.node_j_k * inner + ends

    def largest_step_s(self) -> float:
        """Longest stable explicit step of the inner nodes at the present temperatures, s."""
        hot_k = max(self.t_k)
        link_w_k = max(self._base_w_k + 2 * self._grow_w_k2 * hot_k, self._base_w_k)
        return min(self.node_j_k / 2, self.front_j_k, self.back_j_k) / link_w_k
