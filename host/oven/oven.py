"""The oven: two elements, cavity air, liner and insulated wall, stone, door, bread; about 20
temperatures.

Radiation goes with T^4 between grey surfaces whose shares are parameters; convection passes
through the one air node, which is stepped implicitly because it is quick (a few seconds, under one
with the door open); all else is explicit. equations.py states the same equations plainly for an
independent solver. Left out: air layers, the spot under the bread (the stone is one column, so its
face drops by less and over a larger area than a real spot), heat that steam carries beyond its
latent heat, and conductivity of the stone changing with temperature.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .base import LATENT_J_G, ZERO_C_K, Plant
from .equations import derivatives
from .parameters import STEFAN_W_M2K4
from .slab import Slab

if TYPE_CHECKING:
    from host.oven.parameters import OvenParameters


BOIL_K = 373.12
BREAD_LAYERS = 3


class Oven(Plant):
    """The plant described by an OvenParameters; `seed` drives turbulence and mains wander."""

    def __init__(self, parameters: OvenParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        p, start_k = parameters, self._start_k
        self._top_k = self._deck_k = self._air_k = start_k
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
        self.stone = Slab(
            p.stone_area_m2,
            p.stone_m,
            p.stone_w_mk,
            p.stone_kg_m3,
            p.stone_j_kgk,
            p.stone_layers,
            start_k,
        )
        self.bread = None
        self._cover = p.bread_area_m2 / p.stone_area_m2
        self._fixed = _fixed_of(p)
        self._check_steps()

    def _check_steps(self):
        """ValueError when a part is so light that the longest substep would be unstable."""
        p, hot3 = self.parameters, 4 * 1300.0**3
        radiating = self._fixed
        shortest = {
            "top_j_k": p.top_j_k / ((radiating[0] + radiating[1]) * hot3 + p.top_air_w_k),
            "deck_j_k": p.deck_j_k / ((radiating[2] + radiating[3]) * hot3 + p.deck_air_w_k),
            "stone_m with its stone_layers": self.stone.largest_step_s(),
            # wool conducts up to three times better hot than at the room
            "wall_m with its wall_layers": self.wall.largest_step_s() / 3,
            "bread_kg": (p.bread_kg / BREAD_LAYERS / p.bread_area_m2) ** 2
            * p.bread_j_kgk
            / (2 * p.bread_w_mk * p.bread_kg_m3),
        }
        for name, longest_s in shortest.items():
            if longest_s < self.substep_s:
                raise ValueError(f"{name}: too little mass to simulate in {self.substep_s:g} s steps")

    def true_c(self, place: str) -> float:
        """Degrees Celsius of the thing itself: "dome" the air, "stone" its face; also liner,
        casing, top, deck, under.
        """
        known = {
            "dome": self._air_k,
            "stone": self.stone.t_k[0],
            "under": self.stone.t_k[-1],
            "liner": self.wall.t_k[0],
            "casing": self.wall.t_k[-1],
            "top": self._top_k,
            "deck": self._deck_k,
        }
        if place in known:
            return known[place] - ZERO_C_K
        return self.temperature_c(place)

    def _substep(self, dt_s, top, deck):
        # One long function on purpose: it runs four times a simulated second, calls cost most.
        p, ok = self.parameters, self.element_ok
        (
            to_liner, to_face, deck_liner, deck_under, face_rad, under_rad, glass_rad, glass,
            top_air, deck_air, liner_air, face_air, leak, casing_room, air_j, top_j, deck_j,
        ) = self._fixed  # fmt: skip
        wall_k, stone_k = self.wall.t_k, self.stone.t_k
        top_k, deck_k, liner_k, casing_k = self._top_k, self._deck_k, wall_k[0], wall_k[-1]
        face_k, under_k, room_k = stone_k[0], stone_k[-1], self.ambient_c + ZERO_C_K
        power = self._mains_power(dt_s)
        top_w = power * p.top_w * top if ok["top"] else 0.0
        deck_w = power * p.deck_w * deck if ok["deck"] else 0.0

        # fourth powers
        t4, d4, l4 = top_k * top_k, deck_k * deck_k, liner_k * liner_k
        f4, u4, r4 = face_k * face_k, under_k * under_k, room_k * room_k
        t4, d4, l4, f4, u4, r4 = t4 * t4, d4 * d4, l4 * l4, f4 * f4, u4 * u4, r4 * r4

        if self.bread is None:
            bread_air = bread_k = from_top_w = from_liner_w = 0.0
        else:
            bread_k = self.bread.t_k[-1]
            cover, b4 = self._cover, bread_k**4
            from_top_w = cover * to_face * (t4 - b4)
            from_liner_w = cover * face_rad * (l4 - b4)
            bread_air = face_air * cover
            to_face *= 1.0 - cover
            face_rad *= 1.0 - cover
            face_air -= bread_air
        out_rad = glass_rad
        if not self.fan_running:
            casing_room *= p.casing_still_share
        if self._door_s > 0.0:
            leak += p.door_w_k
            out_rad += STEFAN_W_M2K4 * p.door_area_m2

        # air: implicit; everyone then meets its new temperature, so what one loses the other gains
        still = air_j / dt_s
        gains = still * self._air_k + top_air * top_k + deck_air * deck_k + liner_air * liner_k
        gains += face_air * face_k + bread_air * bread_k + leak * room_k
        self._air_k = air_k = gains / (still + top_air + deck_air + liner_air + face_air + bread_air + leak)

        top_liner_w, top_face_w = to_liner * (t4 - l4), to_face * (t4 - f4)
        deck_liner_w, deck_under_w = deck_liner * (d4 - l4), deck_under * (d4 - u4)
        liner_face_w, liner_under_w = face_rad * (l4 - f4), under_rad * (l4 - u4)
        loss_w = out_rad * (l4 - r4) + glass * (liner_k - room_k)
        casing_w = casing_room * (casing_k - room_k)
        liner_w = top_liner_w + deck_liner_w + liner_air * (air_k - liner_k) - loss_w
        liner_w -= liner_face_w + liner_under_w + from_liner_w
        face_w = top_face_w + liner_face_w + face_air * (air_k - face_k)
        if self.bread is not None:
            face_w -= self._bake(dt_s, face_k, from_top_w + from_liner_w + bread_air * (air_k - bread_k))
        top_out_w = top_liner_w + top_face_w + from_top_w + top_air * (top_k - air_k)
        deck_out_w = deck_liner_w + deck_under_w + deck_air * (deck_k - air_k)

        self._top_k = top_k + (top_w - top_out_w) * dt_s / top_j
        self._deck_k = deck_k + (deck_w - deck_out_w) * dt_s / deck_j
        self.stone.step(dt_s, face_w, deck_under_w + liner_under_w)
        self.wall.step(dt_s, liner_w, -casing_w - self._warm_box(dt_s, casing_k))
        self._in_j += (top_w + deck_w) * dt_s
        self._lost_j += (loss_w + casing_w + leak * (air_k - room_k)) * dt_s
        self._sense(dt_s, air_k, top_k, stone_k[0])
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
            + p.box_j_k * (self._box_k - start_k)
            + self.wall.energy_j(start_k)
            + self.stone.energy_j(start_k)
        )
        return stored if self.bread is None else stored + self.bread.energy_j(self._bread_start_k)

    def state_k(self):
        """[top, deck, air, box, dome tip, stone tip, wall nodes..., stone nodes...] in K."""
        return [
            self._top_k,
            self._deck_k,
            self._air_k,
            self._box_k,
            self._dome_k,
            self._stone_probe_k,
            *self.wall.t_k,
            *self.stone.t_k,
        ]

    def derivatives(self, state_k, heat):
        """d(state_k)/dt in K/s; see equations.derivatives."""
        return derivatives(self, state_k, heat)


def _fixed_of(p):
    """What a step needs of the parameters: radiation factors in W/K4, conductances in W/K, capacities in J/K.

    Read once, since a look-up a parameter would double the cost of a step."""
    glow = STEFAN_W_M2K4 * p.element_emissivity
    top, deck = glow * p.top_area_m2, glow * p.deck_area_m2
    face = STEFAN_W_M2K4 * p.stone_emissivity * p.stone_area_m2
    return (
        top * (1 - p.top_sees_stone),
        top * p.top_sees_stone,
        deck * (1 - p.deck_sees_stone),
        deck * p.deck_sees_stone,
        face,
        face * p.stone_under_share,
        STEFAN_W_M2K4 * p.glass_area_m2,
        p.glass_w_k,
        p.top_air_w_k,
        p.deck_air_w_k,
        p.air_liner_w_k,
        p.air_stone_w_m2k * p.stone_area_m2,
        p.vent_w_k,
        p.casing_room_w_k,
        p.air_j_k,
        p.top_j_k,
        p.deck_j_k,
    )
