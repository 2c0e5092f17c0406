"""An oven of another structure: three lumps, heavy elements and a delay, so that nothing is tuned to one model.

Elements (one lump for both zones), chamber and stone exchange heat by constant conductances; the
chamber loses a (T - Ta) + b (T^4 - Ta^4). A bread cools the very
face of the stone more (skin.py). What the dome probe sees is the chamber as it was
`delay_s` ago, as air and as walls, through its sheath. An open door cools that air at once, the walls keep what
they have. No air, no wall layers, no conduction within the stone.

The delay is the way of the air to the probe. Walls are seen at the speed of light: to hold them back as long is on the
safe side. A delay of 30 s, from a time when it stood for the sheath as well, can still be asked for by hand.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from .base import ZERO_C_K
from .bread_heat import from_above_w_m2
from .lumped import Lumped
from .parameters import STEFAN_W_M2K4, Surroundings, drawn_probes

GRID_S = 0.5  # spacing of the delay line
HELD_K, ROOM_K = 723.15, 293.15  # at which the holding power of a random oven is drawn
STONE_M2 = 0.1  # each of the stone's faces; the standard oven's


@dataclass
class ThreeLumpParameters(Surroundings):
    """Capacities J/K, conductances W/K; see the module's docstring for the equations."""

    name: str = "three lumps"
    top_w: float = 1500.0
    deck_w: float = 1400.0
    element_j_k: float = 600.0
    chamber_j_k: float = 7500.0
    stone_j_k: float = 6500.0
    element_chamber_w_k: float = 12.0
    element_stone_w_k: float = 1.5
    chamber_stone_w_k: float = 11.0
    loss_w_k: float = 1.6
    loss_black_m2: float = 0.020  # black area that loses as much by T^4
    delay_s: float = 3.0  # 0.9 m at 0.3 m/s
    door_w_k: float = 12.0
    door_share: float = 0.2  # share of the rise that the air at the probe keeps with the door open
    bread_j_k: float = 900.0
    bread_stone_w_k: float = 4.5
    skin_k_w: float = 0.055  # see skin.py


def drawn(seed: int) -> ThreeLumpParameters:
    """ThreeLumpParameters of a random oven of 2.4..3.5 kW; the same seed gives the same oven.

    Heat capacity of the chamber and holding power are those at which the published tests come out. The elements' heat
    capacity is a pair of tubular heaters' of 2.5-5 W/cm2 and 6.5-8.5 mm (common practice) at 3.6 MJ/m3K (a third steel,
    the rest magnesia; from memory): 0.12-0.31 J/K for each W, 350-900 J/K for 3 kW. The air comes to the probe
    straight, 0.4 m, or around the cavity, 1.4 m, as fast as it passes it.
    """
    draw = random.Random(f"three lumps {seed}")
    between = draw.uniform
    power_w, top = between(2400.0, 3500.0), between(0.42, 0.62)
    size = min(power_w / between(2750.0, 2450.0), 1.25)  # see parameters.drawn
    hold_w, glow = min(between(780.0, 1060.0) * size, 1180.0), between(0.3, 0.55)
    lumps = dict(
        element_j_k=between(400.0, 1000.0),
        chamber_j_k=power_w * between(2.3, 2.6),
        stone_j_k=between(4500.0, 8500.0),
        element_chamber_w_k=between(9.0, 16.0),
        element_stone_w_k=between(1.3, 2.3),
        chamber_stone_w_k=between(8.0, 14.0),
    )
    way_m, probes = between(0.4, 1.4), drawn_probes(draw)
    return ThreeLumpParameters(
        name=f"three lumps {seed}",
        top_w=power_w * top,
        deck_w=power_w * (1 - top),
        **lumps,
        loss_w_k=hold_w * (1 - glow) / (HELD_K - ROOM_K),
        loss_black_m2=hold_w * glow / (STEFAN_W_M2K4 * (HELD_K**4 - ROOM_K**4)),
        delay_s=way_m / probes["dome_probe_shut_m_s"],
        **probes,
        door_w_k=between(8.0, 16.0),
        door_share=between(0.12, 0.35),
        turbulence_k=between(0.1, 0.8),
        turbulence_s=between(4.0, 20.0),
    )


class ThreeLump(Lumped):
    """The plant described by a ThreeLumpParameters; same contract as the layered oven."""

    def __init__(self, parameters: ThreeLumpParameters, seed: int = 0) -> None:
        super().__init__(parameters, seed)
        self._element_k = self._chamber_k = self._stone_k = self._start_k
        self._line_k = [self._start_k] * (max(1, round(parameters.delay_s / GRID_S)) + 1)
        self._head = 0
        self._late_s = 0.0  # time since the newest entry of the delay line

    def true_c(self, place: str) -> float:
        """Degrees Celsius of the lump itself: "dome" the chamber, "stone", "top" and "deck" the
        elements.
        """
        if place == "dome":  # asked at every step
            return self._chamber_k - ZERO_C_K
        known = {
            "stone": self._stone_k - self._skin.face_k,
            "top": self._element_k,
            "deck": self._element_k,
        }
        return self._known_c(place, known)

    def _delayed_k(self, dt_s):
        """Enter the chamber's temperature into the delay line; returns what it was delay_s ago,
        interpolated.
        """
        line = self._line_k
        self._late_s += dt_s
        while self._late_s >= GRID_S - 1e-9:
            self._late_s -= GRID_S
            line[self._head] = self._chamber_k
            self._head = (self._head + 1) % len(line)
        old_k, next_k = line[self._head], line[(self._head + 1) % len(line)]
        return old_k + (next_k - old_k) * self._late_s / GRID_S

    def _substep(self, dt_s, top, deck):
        p, ok, room_k = self.parameters, self.element_ok, self.ambient_c + ZERO_C_K
        power = self._mains_power(dt_s)
        heat_w = (power * p.top_w * top if ok["top"] else 0.0) + (power * p.deck_w * deck if ok["deck"] else 0.0)
        element_k, chamber_k, stone_k = self._element_k, self._chamber_k, self._stone_k
        door_open = self._door_s > 0.0
        loss_w = (p.loss_w_k + (p.door_w_k if door_open else 0.0)) * (
            chamber_k - room_k
        ) + STEFAN_W_M2K4 * p.loss_black_m2 * (chamber_k**4 - room_k**4)
        to_chamber_w = p.element_chamber_w_k * (element_k - chamber_k)
        to_stone_w = p.element_stone_w_k * (element_k - stone_k)
        stone_w = p.chamber_stone_w_k * (chamber_k - stone_k)
        box_w = self._warm_box(dt_s, room_k + 0.14 * (chamber_k - room_k))
        bread_w = self._bake(dt_s, stone_k)
        self._element_k = element_k + (heat_w - to_chamber_w - to_stone_w) * dt_s / p.element_j_k
        self._chamber_k = chamber_k + (to_chamber_w - stone_w - loss_w - box_w) * dt_s / p.chamber_j_k
        self._stone_k = stone_k + (to_stone_w + stone_w - bread_w) * dt_s / p.stone_j_k
        self._in_j += heat_w * dt_s
        self._lost_j += loss_w * dt_s
        seen_k = self._delayed_k(dt_s)
        wall4, room4 = seen_k**4, room_k**4
        glow = wall4 + p.dome_probe_sees_element * (element_k**4 - wall4)
        if door_open:
            seen_k = room_k + p.door_share * (seen_k - room_k)
            glow += p.dome_probe_sees_pane * (room4 - wall4)
        self._sense(dt_s, seen_k, glow, element_k, self._stone_k - self._skin.probe_k, room_k)
        self._pass_time(dt_s)

    def _above_w_m2(self, face_k):
        """W/m2 that a bread's face takes from above: told, not drawn from what surrounds it."""
        # half of what the element sends the stone goes to its face
        glow_w_m2 = self.parameters.element_stone_w_k / 2 * (self._element_k - self._chamber_k) / STONE_M2
        return from_above_w_m2(self._chamber_k, self._chamber_k, face_k) + glow_w_m2

    def _lumps_j(self):
        p, start_k = self.parameters, self._start_k
        return (
            p.element_j_k * (self._element_k - start_k)
            + p.chamber_j_k * (self._chamber_k - start_k)
            + p.stone_j_k * (self._stone_k - start_k)
            + p.box_j_k * (self._box_k - start_k)
        )
