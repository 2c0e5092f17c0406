"""What the tip of a sheathed probe reads in a hot cavity: a small cylinder between air, walls and its own stem.

Per unit of surface: rho c D/4 dT/dt = h (T_air - T) + eps sigma (G - T^4) + g (T_exit - T), where G is the sum of the
fourth powers of what the tip sees, each by its share (view factor). h is forced convection across a cylinder
(Churchill and Bernstein 1977) with air by the US Standard Atmosphere, 1976; g stands for the stem, a fin that leaves
the oven after the immersion L: T at its end is (T_exit - T) / cosh(m L) off, m^2 = 4 (h + 4 eps sigma T^3) / (k D).

The same cylinder serves from a bare bead (0.5 mm) to a 6 mm sheath. A diameter of 0 is a tip without any mass that
a first-order lag stands for: taped to a lamp's shade, or a study that left radiation out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from .parameters import STEFAN_W_M2K4

if TYPE_CHECKING:
    from host.oven.parameters import Surroundings


AIR_J_KGK = 1006.0  # dry air at room temperature, rounded; 1.075 times that at 450 degrees (handbooks, from memory)
AIR_GAS_J_KGK = 287.05
PRESSURE_PA = 101325.0
SHEATH_J_M3K = 3.3e6  # density times heat of mineral-insulated cable; from memory
STEM_W_MK = 12.0  # along such a cable: a third of it alloy at 20-30 W/mK, the rest packed oxide; from memory
FAR = 9.0  # m L beyond which a stem no longer counts: cosh(9) is 4051
FITTED_K = (300.0, 550.0, 850.0)  # film temperatures at which the quick curve of h is the exact one


def air_conductivity_w_mk(t_k: float) -> float:
    """Thermal conductivity of air, W/mK (US Standard Atmosphere, 1976)."""
    return 2.64638e-3 * t_k**1.5 / (t_k + 245.4 * 10.0 ** (-12.0 / t_k))


def air_viscosity_pa_s(t_k: float) -> float:
    """Dynamic viscosity of air, Pa s (Sutherland's law; US Standard Atmosphere, 1976)."""
    return 1.458e-6 * t_k**1.5 / (t_k + 110.4)


def nusselt(reynolds: float, prandtl: float) -> float:
    """Mean Nusselt number of a cylinder in cross flow: Churchill and Bernstein 1977, for Re Pr of 0.2 and more."""
    front = 0.62 * math.sqrt(reynolds) * prandtl ** (1 / 3) / (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return 0.3 + front * (1 + (reynolds / 282000.0) ** 0.625) ** 0.8


def convection_w_m2k(diameter_m: float, speed_m_s: float, film_k: float) -> float:
    """Coefficient of a cylinder in air of `film_k` that flows across it, W/m2K."""
    viscosity, conductivity = air_viscosity_pa_s(film_k), air_conductivity_w_mk(film_k)
    density = PRESSURE_PA / (AIR_GAS_J_KGK * film_k)
    reynolds = density * speed_m_s * diameter_m / viscosity
    prandtl = AIR_J_KGK * (1.0 + 1.6e-4 * (film_k - 300.0)) * viscosity / conductivity
    return nusselt(reynolds, prandtl) * conductivity / diameter_m


def curve(diameter_m: float, speed_m_s: float) -> tuple[float, float, float]:
    """(a, b, c) with a + b T + c T^2 = the coefficient at film temperature T: within 1 % of it from 280 to 950 K."""
    (x, y, z) = FITTED_K
    u, v, w = (convection_w_m2k(diameter_m, speed_m_s, film_k) for film_k in FITTED_K)
    first, second = (v - u) / (y - x), (w - v) / (z - y)
    c = (second - first) / (z - x)
    b = first - c * (x + y)
    return u - b * x - c * x * x, b, c


class Sheath:
    """The dome probe's tip of an oven; `parameters`: see Surroundings (`dome_probe_...`)."""

    def __init__(self, parameters: Surroundings) -> None:
        p = parameters
        self.first_order_s = 0.0 if p.dome_probe_mm else p.dome_probe_s
        self.diameter_m = diameter_m = (p.dome_probe_mm or 1.0) / 1000.0
        self.emissivity = p.dome_probe_emissivity
        self.j_m2k = SHEATH_J_M3K * diameter_m / 4
        self.shut = curve(diameter_m, p.dome_probe_shut_m_s)
        self.open = curve(diameter_m, p.dome_probe_open_m_s)
        self.room = curve(diameter_m, p.dome_probe_room_m_s)

    def balance(
        self, tip_k: float, air_k: float, glow_k4: float, flow: tuple[float, float, float], emissivity: float
    ) -> tuple[float, float]:
        """(W/m2 into the tip, W/m2K by which that falls with the tip's temperature), stem left out."""
        film_k = 0.5 * (tip_k + air_k)
        a, b, c = flow
        h = a + film_k * (b + film_k * c)
        glow = STEFAN_W_M2K4 * emissivity
        tip3 = tip_k * tip_k * tip_k
        return h * (air_k - tip_k) + glow * (glow_k4 - tip3 * tip_k), h + 4.0 * glow * tip3

    def stem_w_m2k(self, falls_w_m2k: float, immersion_m: float) -> float:
        """Conductance that stands for the stem, per unit of the tip's surface."""
        reach = math.sqrt(4.0 * falls_w_m2k / (STEM_W_MK * self.diameter_m)) * immersion_m
        if reach >= FAR:
            return 0.0
        return falls_w_m2k / max(math.cosh(reach) - 1.0, 1e-4)

    def step(
        self,
        dt_s: float,
        tip_k: float,
        air_k: float,
        glow_k4: float,
        flow: tuple[float, float, float],
        emissivity: float,
        exit_k: float,
        immersion_m: float,
        touch_w_m2k: float = 0.0,
        touch_k: float = 0.0,
    ) -> float:
        """The tip's temperature after dt_s: linearly implicit trapezoid, stable for any step."""
        if self.first_order_s:
            return tip_k + (air_k - tip_k) * (1.0 - math.exp(-dt_s / self.first_order_s))
        into, falls = self.balance(tip_k, air_k, glow_k4, flow, emissivity)
        stem = self.stem_w_m2k(falls, immersion_m)
        into += stem * (exit_k - tip_k)
        falls += stem
        if touch_w_m2k:
            into += touch_w_m2k * (touch_k - tip_k)
            falls += touch_w_m2k
        return tip_k + into * dt_s / (self.j_m2k + 0.5 * dt_s * falls)
