"""The oven: two elements, cavity air, liner and insulated wall, stone, door with its pane, bread; about 35
temperatures.

Radiation goes with T^4 between grey surfaces whose shares are parameters; convection passes
through the one air node, which is stepped implicitly because it is quick (a few seconds, under one
with the door open); all else is explicit. equations.py states the same equations plainly for an
independent solver. Left out: air layers, differences between roof and sides, differences within the
spot under the bread, heat that steam carries beyond its latent heat, and conductivity of the stone
changing with temperature.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from .base import LATENT_J_G, ZERO_C_K, Plant
from .door import exchange_w_k
from .equations import derivatives
from .parameters import STEFAN_W_M2K4, OvenParameters
from .slab import Slab
from .stone import Stone

BOIL_K = 373.12
BREAD_LAYERS = 3


class Oven(Plant):
    """The plant described by an OvenParameters; `seed` drives turbulence and mains wander."""

    def __init__(self, parameters: OvenParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        p, start_k = parameters, self._start_k
        self._top_k = self._deck_k = self._air_k = self._pane_k = start_k
        self.wall = Slab(
            p.wall_area_m2,
            p.wall_m,
            p.wall_w_mk,
            p.wall_kg_m3,
            p.wall_j_kgk,
            p.wall_layers,
            start_k,
            p.wall_slope_per_k,
            373.15,
            p.liner_j_k,
            p.casing_j_k,
        )
        self.stone = Stone(p, start_k)
        self.bread = None
        self._fixed = _fixed_of(p, self.stone.share)
        self._check_steps()

    def _check_steps(self):
        """ValueError when a part is so light that the longest substep would be unstable."""
        p, hot3 = self.parameters, 4 * 1300.0**3
        radiating = self._fixed
        shortest = {
            "top_j_k": p.top_j_k / ((radiating[0] + radiating[1]) * hot3 + p.top_air_w_k),
            "deck_j_k": p.deck_j_k / ((radiating[2] + radiating[3]) * hot3 + p.deck_air_w_k),
            "pane_j_k": p.pane_j_k / (radiating[6] * hot3 + p.glass_w_k + p.pane_air_w_k),
            "stone_m with its stone_layers": self.stone.middle.largest_step_s(),
            # wool conducts up to three times better hot than at the room
            "wall_m with its wall_layers": self.wall.largest_step_s() / 3,
            "bread_kg": (p.bread_kg / BREAD_LAYERS / p.bread_area_m2) ** 2
            * p.bread_j_kgk
            / (2 * p.bread_w_mk * p.bread_kg_m3),
        }
        for name, longest_s in shortest.items():
            if longest_s < self.substep_s:
                raise ValueError(f"{name}: too little mass to simulate in {self.substep_s:g} s steps")
        if p.bread_area_m2 > 0.97 * p.stone_area_m2:
            raise ValueError("bread_area_m2: the stone must leave a rim around the bread")
        if p.dome_probe_sees_element + p.dome_probe_sees_stone + p.dome_probe_sees_pane > 1.0:
            raise ValueError("dome_probe_sees_...: what a tip sees comes to 1 at the most")

    def true_c(self, place: str) -> float:
        """Degrees Celsius of the thing itself: "dome" the air, "stone" its face where the bread lies; also rim, liner,
        casing, pane, top, deck, under.
        """
        if place == "dome":  # asked at every step
            return self._air_k - ZERO_C_K
        known = {
            "stone": self.stone.middle.t_k[0],
            "rim": self.stone.rim.t_k[0],
            "under": self.stone.middle.t_k[-1],
            "liner": self.wall.t_k[0],
            "casing": self.wall.t_k[-1],
            "pane": self._pane_k,
            "top": self._top_k,
            "deck": self._deck_k,
        }
        return self._known_c(place, known)

    def _substep(self, dt_s, top, deck):
        # One long function on purpose: it runs four times a simulated second, calls cost most.
        p, ok = self.parameters, self.element_ok
        (
            to_liner, to_face, deck_liner, deck_under, face_rad, under_rad, pane_rad, glass_rad, glass,
            top_air, deck_air, liner_air, face_air, pane_air, leak, casing_room, air_j, top_j, deck_j, pane_j,
            sees_liner, sees_top, sees_stone, sees_pane, share,
        ) = self._fixed  # fmt: skip
        rest = 1.0 - share
        wall_k, middle_k, rim_k = self.wall.t_k, self.stone.middle.t_k, self.stone.rim.t_k
        top_k, deck_k, pane_k, liner_k, casing_k = self._top_k, self._deck_k, self._pane_k, wall_k[0], wall_k[-1]
        face_k, edge_k, under_k, room_k = middle_k[0], rim_k[0], middle_k[-1], self.ambient_c + ZERO_C_K
        edge_under_k = rim_k[-1]
        power = self._mains_power(dt_s)
        top_w = power * p.top_w * top if ok["top"] else 0.0
        deck_w = power * p.deck_w * deck if ok["deck"] else 0.0

        # fourth powers: top, deck, liner, face and rim, their undersides, pane, room
        t4, d4, l4, p4, r4 = top_k * top_k, deck_k * deck_k, liner_k * liner_k, pane_k * pane_k, room_k * room_k
        f4, e4, u4, v4 = face_k * face_k, edge_k * edge_k, under_k * under_k, edge_under_k * edge_under_k
        t4, d4, l4, p4, r4 = t4 * t4, d4 * d4, l4 * l4, p4 * p4, r4 * r4
        f4, e4, u4, v4 = f4 * f4, e4 * e4, u4 * u4, v4 * v4

        # what lies where the bread does: the bread, or the bare face
        if self.bread is None:
            spot_k, spot4 = face_k, f4
        else:
            spot_k = self.bread.t_k[-1]
            spot4 = spot_k**4
        spot_air, edge_air = face_air * share, face_air * rest
        if not self.fan_running:
            casing_room *= p.casing_still_share
        if self._door_s > 0.0:
            leak += exchange_w_k(p.door_area_m2, p.door_height_m, p.door_discharge, self._air_k, room_k)
            hole_w = STEFAN_W_M2K4 * p.door_area_m2 * (l4 - r4)
            away_w = STEFAN_W_M2K4 * p.pane_area_m2 * (p4 - r4) + p.pane_open_w_k * (pane_k - room_k)
            pane_air = pane_rad = 0.0
            p4_seen = r4
        else:
            hole_w = away_w = 0.0
            p4_seen = p4

        # air: implicit; everyone then meets its new temperature, so what one loses the other gains
        still = air_j / dt_s
        gains = still * self._air_k + top_air * top_k + deck_air * deck_k + liner_air * liner_k
        gains += spot_air * spot_k + edge_air * edge_k + pane_air * pane_k + leak * room_k
        self._air_k = air_k = gains / (still + top_air + deck_air + liner_air + face_air + pane_air + leak)

        top_liner_w, deck_liner_w = to_liner * (t4 - l4), deck_liner * (d4 - l4)
        top_spot_w, top_edge_w = to_face * share * (t4 - spot4), to_face * rest * (t4 - e4)
        liner_spot_w, liner_edge_w = face_rad * share * (l4 - spot4), face_rad * rest * (l4 - e4)
        deck_under_w, deck_edge_w = deck_under * share * (d4 - u4), deck_under * rest * (d4 - v4)
        liner_under_w, liner_low_w = under_rad * share * (l4 - u4), under_rad * rest * (l4 - v4)
        pane_w = pane_rad * (l4 - p4)
        glass_w = glass_rad * (p4 - r4) + glass * (pane_k - room_k)
        casing_w = casing_room * (casing_k - room_k)
        liner_w = top_liner_w + deck_liner_w + liner_air * (air_k - liner_k) - hole_w - pane_w
        liner_w -= liner_spot_w + liner_edge_w + liner_under_w + liner_low_w
        spot_w = top_spot_w + liner_spot_w + spot_air * (air_k - spot_k)
        edge_w = top_edge_w + liner_edge_w + edge_air * (air_k - edge_k)
        face_w = spot_w if self.bread is None else -self._bake(dt_s, face_k, spot_w)
        top_out_w = top_liner_w + top_spot_w + top_edge_w + top_air * (top_k - air_k)
        deck_out_w = deck_liner_w + deck_under_w + deck_edge_w + deck_air * (deck_k - air_k)

        self._top_k = top_k + (top_w - top_out_w) * dt_s / top_j
        self._deck_k = deck_k + (deck_w - deck_out_w) * dt_s / deck_j
        self._pane_k = pane_k + (pane_w + pane_air * (air_k - pane_k) - glass_w - away_w) * dt_s / pane_j
        self.stone.step(dt_s, face_w, edge_w, deck_under_w + liner_under_w, deck_edge_w + liner_low_w)
        self.wall.step(dt_s, liner_w, -casing_w - self._warm_box(dt_s, casing_k))
        self._in_j += (top_w + deck_w) * dt_s
        self._lost_j += (hole_w + away_w + glass_w + casing_w + leak * (air_k - room_k)) * dt_s
        glow = sees_liner * l4 + sees_top * t4 + sees_stone * (share * spot4 + rest * e4) + sees_pane * p4_seen
        self._sense(dt_s, air_k, glow, top_k, self.stone.seen_k() if p.stone_in else air_k, casing_k)
        self._pass_time(dt_s)

    # bread

    def _lay_bread(self, bake_s=90.0, water_g=25.0):
        super()._lay_bread(bake_s, water_g)
        p = self.parameters
        thick_m = p.bread_kg / (p.bread_kg_m3 * p.bread_area_m2)
        self.bread = Slab(
            p.bread_area_m2,
            thick_m,
            p.bread_w_mk,
            p.bread_kg_m3,
            p.bread_j_kgk,
            BREAD_LAYERS,
            self._bread_start_k,
        )

    def _take_bread(self):
        super()._take_bread()
        if self.bread is not None:
            self._lost_j += self.bread.energy_j(self._bread_start_k)
            self.bread = None

    def _bake(self, dt_s, face_k, upper_w):
        """Heat the bread through contact with the stone and by upper_w from above; boil its water.

        Returns W drawn from the stone.
        """
        p, bread = self.parameters, self.bread
        contact_w = p.bread_contact_w_m2k * p.bread_area_m2 * (face_k - bread.t_k[0])
        bread.step(dt_s, contact_w, upper_w)
        self.baked[-1].add(dt_s, contact_w / p.bread_area_m2, upper_w / p.bread_area_m2)
        for node, t_k in enumerate(bread.t_k):
            if t_k > BOIL_K and self._water_g > 0.0:
                capacity = bread.capacity_j_k(node)
                taken_j = min((t_k - BOIL_K) * capacity, self._water_g * LATENT_J_G)
                bread.t_k[node] = t_k - taken_j / capacity
                self._water_g -= taken_j / LATENT_J_G
                self._lost_j += taken_j
        return contact_w

    # for checks

    def _stored_j(self):
        p, start_k = self.parameters, self._start_k
        stored = (
            p.top_j_k * (self._top_k - start_k)
            + p.deck_j_k * (self._deck_k - start_k)
            + p.air_j_k * (self._air_k - start_k)
            + p.pane_j_k * (self._pane_k - start_k)
            + p.box_j_k * (self._box_k - start_k)
            + self.wall.energy_j(start_k)
            + self.stone.energy_j(start_k)
        )
        return stored if self.bread is None else stored + self.bread.energy_j(self._bread_start_k)

    def state_k(self) -> list[float]:
        """[top, deck, air, pane, box, dome tip, stone tip, wall nodes, middle's nodes, rim's nodes] in K."""
        return [
            self._top_k,
            self._deck_k,
            self._air_k,
            self._pane_k,
            self._box_k,
            self._dome_k,
            self._stone_probe_k,
            *self.wall.t_k,
            *self.stone.middle.t_k,
            *self.stone.rim.t_k,
        ]

    def derivatives(self, state_k: Sequence[float], heat: Mapping[str, float]) -> list[float]:
        """d(state_k)/dt in K/s; see equations.derivatives."""
        return derivatives(self, state_k, heat)


def _fixed_of(p, share):
    """What a step needs of the parameters; a look-up a parameter would double the cost of a step."""
    glow, there = STEFAN_W_M2K4 * p.element_emissivity, p.stone_in
    top, deck = glow * p.top_area_m2, glow * p.deck_area_m2
    face = STEFAN_W_M2K4 * p.stone_emissivity * p.stone_area_m2 * there
    top_stone, deck_stone = p.top_sees_stone * there, p.deck_sees_stone * there
    sees_stone = p.dome_probe_sees_stone * there
    # radiation factors in W/K4, then conductances in W/K and capacities in J/K, then what the dome probe sees
    return (
        top * (1 - top_stone),
        top * top_stone,
        deck * (1 - deck_stone),
        deck * deck_stone,
        face,
        face * p.stone_under_share,
        STEFAN_W_M2K4 * p.pane_area_m2,
        STEFAN_W_M2K4 * p.glass_area_m2,
        p.glass_w_k,
        p.top_air_w_k,
        p.deck_air_w_k,
        p.air_liner_w_k,
        p.air_stone_w_m2k * p.stone_area_m2 * there,
        p.pane_air_w_k,
        p.vent_w_k,
        p.casing_room_w_k,
        p.air_j_k,
        p.top_j_k,
        p.deck_j_k,
        p.pane_j_k,
        1.0 - p.dome_probe_sees_element - sees_stone - p.dome_probe_sees_pane,
        p.dome_probe_sees_element,
        sees_stone,
        p.dome_probe_sees_pane,
        share,
    )
