"""An oven of a third structure: a roof that glows with the top element, sides apart from it, a stone of two nodes.

Lumps: two elements, roof, sides (with floor, back and door), air, upper and lower half of the stone. The elements
radiate to what faces them; roof and sides lose a (T - Ta) + b (T^4 - Ta^4) to the room. The dome probe hangs below
the roof and sees more of it than of anything else, so its walls move with the top element. No wall layers, no rim.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from .base import ZERO_C_K
from .door import exchange_w_k
from .lumped import Lumped
from .parameters import STEFAN_W_M2K4, Surroundings, drawn_probes

STONE_M2 = 0.1  # each of the stone's faces; the standard oven's
RISE_K = 430.0  # at which the holding power of a random oven is drawn: 450 degrees over a room of 20


@dataclass
class RoofedParameters(Surroundings):
    """Capacities J/K, conductances W/K, `..._black_m2` black areas that exchange as much by T^4."""

    name: str = "roofed"
    top_w: float = 1500.0
    deck_w: float = 1400.0
    top_j_k: float = 160.0
    deck_j_k: float = 160.0
    roof_j_k: float = 1500.0
    sides_j_k: float = 6000.0
    air_j_k: float = 60.0
    stone_j_k: float = 6600.0
    top_roof_black_m2: float = 0.026
    top_sides_black_m2: float = 0.016
    top_stone_black_m2: float = 0.009
    deck_stone_black_m2: float = 0.018
    deck_sides_black_m2: float = 0.032
    roof_sides_black_m2: float = 0.09
    stone_sides_black_m2: float = 0.07  # each of its faces
    stone_roof_black_m2: float = 0.03
    element_air_w_k: float = 0.55
    roof_air_w_k: float = 1.0
    sides_air_w_k: float = 7.5
    stone_air_w_k: float = 0.8
    stone_link_w_k: float = 6.0  # 1.2 W/mK, 0.1 m2, between the middles of halves of 30 mm, and a little more
    vent_w_k: float = 0.3
    loss_w_k: float = 2.2
    loss_black_m2: float = 0.02
    roof_loses: float = 0.3  # share of the losses
    roof_seen: float = 0.55  # of what the dome probe sees of walls
    door_area_m2: float = 0.15
    door_height_m: float = 0.33
    door_discharge: float = 1.0
    bread_j_k: float = 900.0
    bread_stone_w_k: float = 4.0
    skin_k_w: float = 0.055  # see skin.py


def drawn(seed: int) -> RoofedParameters:
    """RoofedParameters of a random oven of 2.4..3.5 kW; the same seed gives the same oven."""
    draw = random.Random(f"roofed {seed}")
    between = draw.uniform
    power_w, top = between(2400.0, 3500.0), between(0.42, 0.62)
    size = min(power_w / between(2750.0, 2450.0), 1.25)  # see parameters.drawn
    hold_w, glow = min(between(740.0, 1010.0) * size, 1120.0), between(0.15, 0.4)
    vent_w_k = between(0.2, 0.3) * size
    walls_w = hold_w - vent_w_k * RISE_K
    slow = between(0.8, 1.4)
    return RoofedParameters(
        name=f"roofed {seed}",
        top_w=power_w * top,
        deck_w=power_w * (1 - top),
        top_j_k=160.0 * slow,
        deck_j_k=160.0 * slow * between(0.8, 1.2),
        roof_j_k=1500.0 * size * between(0.7, 1.4),
        sides_j_k=power_w * between(2.2, 2.5),
        air_j_k=60.0 * size * between(0.7, 1.6),
        stone_j_k=6600.0 * size * between(0.7, 1.3),
        top_roof_black_m2=0.026 * between(0.75, 1.25),
        top_sides_black_m2=0.016 * between(0.75, 1.25),
        top_stone_black_m2=0.009 * between(0.75, 1.25),
        deck_stone_black_m2=0.018 * between(0.75, 1.25),
        deck_sides_black_m2=0.032 * between(0.75, 1.25),
        roof_sides_black_m2=0.09 * size,
        stone_sides_black_m2=0.07 * size,
        stone_link_w_k=6.0 * size * between(0.8, 1.6),
        vent_w_k=vent_w_k,
        loss_w_k=walls_w * (1 - glow) / RISE_K,
        loss_black_m2=walls_w * glow / (STEFAN_W_M2K4 * (723.15**4 - 293.15**4)),
        roof_loses=between(0.2, 0.4),
        roof_seen=between(0.4, 0.7),
        door_area_m2=0.15 * size,
        door_discharge=between(0.8, 1.1),
        **drawn_probes(draw),
        turbulence_k=between(0.1, 0.8),
        turbulence_s=between(4.0, 20.0),
    )


class Roofed(Lumped):
    """The plant described by a RoofedParameters; same contract as the layered oven."""

    def __init__(self, parameters: RoofedParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        self._top_k = self._deck_k = self._roof_k = self._sides_k = self._air_k = self._start_k
        self._upper_k = self._lower_k = self._start_k

    def true_c(self, place: str) -> float:
        """Degrees Celsius: "dome" the air, "stone" the face of its upper half; also under, roof, liner, elements."""
        if place == "dome":  # asked at every step
            return self._air_k - ZERO_C_K
        known = {
            "stone": self._upper_k - self._skin.face_k,
            "under": self._lower_k,
            "roof": self._roof_k,
            "liner": self._sides_k,
            "top": self._top_k,
            "deck": self._deck_k,
        }
        return self._known_c(place, known)

    def _substep(self, dt_s, top, deck):
        p, ok, room_k = self.parameters, self.element_ok, self.ambient_c + ZERO_C_K
        power = self._mains_power(dt_s)
        top_w = power * p.top_w * top if ok["top"] else 0.0
        deck_w = power * p.deck_w * deck if ok["deck"] else 0.0
        top_k, deck_k, roof_k, sides_k = self._top_k, self._deck_k, self._roof_k, self._sides_k
        upper_k, lower_k = self._upper_k, self._lower_k
        s = STEFAN_W_M2K4
        t4, d4, f4, w4, room4 = top_k**4, deck_k**4, roof_k**4, sides_k**4, room_k**4
        u4, v4 = upper_k**4, lower_k**4
        leak, hole_w = p.vent_w_k, 0.0
        if self._door_s > 0.0:
            leak += exchange_w_k(p.door_area_m2, p.door_height_m, p.door_discharge, self._air_k, room_k)
            hole_w = s * p.door_area_m2 * (w4 - room4)

        still = p.air_j_k / dt_s
        e, stone_air = p.element_air_w_k, p.stone_air_w_k
        gains = still * self._air_k + e * (top_k + deck_k) + p.roof_air_w_k * roof_k + p.sides_air_w_k * sides_k
        gains += stone_air * upper_k + leak * room_k
        air_k = gains / (still + 2 * e + p.roof_air_w_k + p.sides_air_w_k + stone_air + leak)
        self._air_k = air_k

        top_roof, top_sides = s * p.top_roof_black_m2 * (t4 - f4), s * p.top_sides_black_m2 * (t4 - w4)
        top_stone, deck_stone = s * p.top_stone_black_m2 * (t4 - u4), s * p.deck_stone_black_m2 * (d4 - v4)
        deck_sides, roof_sides = s * p.deck_sides_black_m2 * (d4 - w4), s * p.roof_sides_black_m2 * (f4 - w4)
        face_sides, under_sides = s * p.stone_sides_black_m2 * (w4 - u4), s * p.stone_sides_black_m2 * (w4 - v4)
        roof_stone = s * p.stone_roof_black_m2 * (f4 - u4)
        roof_lost = p.roof_loses * (p.loss_w_k * (roof_k - room_k) + s * p.loss_black_m2 * (f4 - room4))
        sides_lost = (1 - p.roof_loses) * (p.loss_w_k * (sides_k - room_k) + s * p.loss_black_m2 * (w4 - room4))
        box_w = self._warm_box(dt_s, room_k + 0.14 * (sides_k - room_k))
        link = p.stone_link_w_k * (upper_k - lower_k)
        bread_w = self._bake(dt_s, upper_k)

        self._top_k += (top_w - top_roof - top_sides - top_stone - e * (top_k - air_k)) * dt_s / p.top_j_k
        self._deck_k += (deck_w - deck_stone - deck_sides - e * (deck_k - air_k)) * dt_s / p.deck_j_k
        roof_w = top_roof - roof_sides - roof_stone - p.roof_air_w_k * (roof_k - air_k) - roof_lost
        sides_w = top_sides + deck_sides + roof_sides - face_sides - under_sides - sides_lost - box_w - hole_w
        sides_w -= p.sides_air_w_k * (sides_k - air_k)
        self._roof_k += roof_w * dt_s / p.roof_j_k
        self._sides_k += sides_w * dt_s / p.sides_j_k
        half = p.stone_j_k / 2
        upper_w = top_stone + face_sides + roof_stone - stone_air * (upper_k - air_k) - link - bread_w
        self._upper_k += upper_w * dt_s / half
        self._lower_k += (deck_stone + under_sides + link) * dt_s / half
        self._in_j += (top_w + deck_w) * dt_s
        self._lost_j += (roof_lost + sides_lost + hole_w + leak * (air_k - room_k)) * dt_s
        sees, pane = p.dome_probe_sees_stone, p.dome_probe_sees_pane
        walls = 1.0 - sees - pane - p.dome_probe_sees_element
        glow = walls * (p.roof_seen * f4 + (1 - p.roof_seen) * w4) + p.dome_probe_sees_element * t4
        glow += sees * u4 + pane * (room4 if self._door_s > 0.0 else w4)
        self._sense(dt_s, air_k, glow, top_k, upper_k - self._skin.probe_k, room_k)
        self._pass_time(dt_s)

    def _above_w_m2(self, face_k):
        """W/m2 that a bread's face takes from above: told, not drawn from what surrounds it."""
        p, b4 = self.parameters, face_k**4
        glow = p.top_stone_black_m2 * (self._top_k**4 - b4) + p.stone_roof_black_m2 * (self._roof_k**4 - b4)
        glow += p.stone_sides_black_m2 * (self._sides_k**4 - b4)
        return (STEFAN_W_M2K4 * glow + p.stone_air_w_k * (self._air_k - face_k)) / STONE_M2

    def _lumps_j(self):
        p, start_k = self.parameters, self._start_k
        return (
            p.top_j_k * (self._top_k - start_k)
            + p.deck_j_k * (self._deck_k - start_k)
            + p.roof_j_k * (self._roof_k - start_k)
            + p.sides_j_k * (self._sides_k - start_k)
            + p.air_j_k * (self._air_k - start_k)
            + p.stone_j_k / 2 * (self._upper_k + self._lower_k - 2 * start_k)
            + p.box_j_k * (self._box_k - start_k)
        )
