"""What every simulated oven shares: events, mains, the two probe tips, the electronics box and the
energy account.

A plant has `step(dt_s, heat)`, `temperature_c(place)`, `true_c(place)`, `event(name, **values)`,
`energy()`. It knows no wall time: the same seed and the same calls give the same evening. It can
be deep-copied and pickled at any point. Internally kelvin and joule; outside degrees Celsius.
"""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    pass


from .bread_heat import BreadHeat
from .probe import Sheath

ZERO_C_K = 273.15
# water at 100 degrees Celsius, rounded; common steam tables, from memory
LATENT_J_G = 2257.0
LONGEST_STEP_S = 600.0
FOIL_EMISSIVITY = 0.06  # bright aluminium; from memory
FOIL_FLOW = 0.5  # of the convection that reaches a tip loosely wrapped in foil; common practice, no source
WANDER_EVERY_S = 0.999  # the mains wanders slowly: one draw a second will do


def number(name: str, value: float, low: float, high: float) -> float:
    """`value` as a float between low and high, else ValueError with one line."""
    try:
        value = float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{name}: {value!r} is no number") from None
    if not low <= value <= high:
        raise ValueError(f"{name}: {value:g} is not between {low:g} and {high:g}")
    return value


def _check(parameters):
    """ValueError for the first parameter that is no finite number or negative (ambient may be)."""
    for name, value in vars(parameters).items():
        if name.endswith("_s"):
            number(name, value, 0.01, 1e6)
        elif name.endswith("_j_k"):
            number(name, value, 0.1, 1e9)
        elif name not in ("name", "ambient_c"):
            number(name, value, 0.0, 1e9)
    number("ambient_c", parameters.ambient_c, -40.0, 80.0)


def _first_order(dt_s, time_s):
    """(dt_s, time_s, share kept, share of fresh noise) of a first-order random process, exact."""
    keep = math.exp(-dt_s / time_s)
    return dt_s, time_s, keep, math.sqrt(1.0 - keep * keep)


class Plant:
    """Base of the simulated ovens. Attributes that a fault or a test may set at any time:

    element_ok {"top": bool, "deck": bool}; fan_running (cooling fan of the electronics box);
    dome_probe_out (tip hangs in the room); dome_probe_immersion_mm (how much of the sheath is in
    the heat: a tip drawn back to a few mm reads low through its stem); dome_probe_near_element
    (view factor to the top element beyond what the parameters give, 0..1); dome_probe_foil (tip
    wrapped in bright foil); dome_probe_touch_w_m2k (contact with the top element); stone_probe_out;
    stone_probe_contact (0..1); turbulence_k (standard deviation) and turbulence_s (time constant)
    of the air at the dome probe; mains_wander (relative standard deviation) and mains_wander_s;
    mains_ratio; ambient_c.
    """

    substep_s = 0.5
    places = ("dome", "stone", "box", "ambient")

    def __init__(self, parameters: Any, seed: int = 0) -> None:
        self.parameters = p = parameters
        _check(parameters)
        self.element_ok = {"top": True, "deck": True}
        self.fan_running = True
        self.dome_probe_out = False
        self.dome_probe_immersion_mm = p.dome_probe_immersion_mm
        self.dome_probe_near_element = 0.0
        self.dome_probe_foil = False
        self.dome_probe_touch_w_m2k = 0.0
        self.stone_probe_out = False
        self.stone_probe_contact = p.stone_probe_contact
        self.sheath = Sheath(p)
        self.turbulence_k = p.turbulence_k
        self.turbulence_s = p.turbulence_s
        self.mains_wander = p.mains_wander
        self.mains_wander_s = p.mains_wander_s
        self.mains_ratio = 1.0
        self.ambient_c = p.ambient_c
        self.time_s = 0.0
        self._random = random.Random(seed)
        self._wander = self._steady_s = 0.0
        self._eddy_k = 0.0
        self._door_s = 0.0
        self._bread_s = 0.0
        self._water_g = 0.0
        self.baked: list[BreadHeat] = []  # every bread so far, the one that lies there last
        self._start_k = self._bread_start_k = start_k = p.ambient_c + ZERO_C_K
        self._dome_k = self._stone_probe_k = self._box_k = start_k
        self._in_j = self._lost_j = 0.0
        self._eddy_for = (0.0, 0.0, 0.0, 0.0)

    # the contract

    def step(self, dt_s: float, heat: dict[str, float]) -> None:
        """Advance by dt_s (above 0, at most 600 s); heat maps "top"/"deck" to the share 0..1 of
        the step that conducts.
        """
        top, deck = heat.get("top", 0.0), heat.get("deck", 0.0)
        if not (0.0 <= top <= 1.0 and 0.0 <= deck <= 1.0):
            raise ValueError(f"heat: top {top!r}, deck {deck!r}; shares lie between 0 and 1")
        if not 0.0 < dt_s <= LONGEST_STEP_S:
            raise ValueError(f"dt_s: {dt_s!r} is not above 0 and at most {LONGEST_STEP_S:g} s")
        count = 1 if dt_s <= self.substep_s else math.ceil(dt_s / self.substep_s - 1e-9)
        part_s = dt_s / count
        for _ in range(count):
            self._substep(part_s, top, deck)

    def temperature_c(self, place: str) -> float:
        """Degrees Celsius at the tip of a probe: "dome", "stone", "box" (electronics) or "ambient"
        (room).
        """
        if place == "dome":
            return self._dome_k - ZERO_C_K
        if place == "stone":
            return self._stone_probe_k - ZERO_C_K
        if place == "box":
            return self._box_k - ZERO_C_K
        if place == "ambient":
            return self.ambient_c
        raise ValueError(f"no place called {place!r}; there are {', '.join(self.places)}")

    def _known_c(self, place, known):
        """Degrees Celsius of one of `known` (place: K), or what a probe's tip has there."""
        return known[place] - ZERO_C_K if place in known else self.temperature_c(place)

    def event(self, name: str, **values: float) -> None:
        """door (seconds), load (bake_s, water_g), unload (), mains (ratio). ValueError for any
        other name or value.
        """
        act: Any = {
            "door": self._open_door,
            "load": self._lay_bread,
            "unload": self._take_bread,
            "mains": self._set_mains,
        }.get(name)
        if act is None:
            raise ValueError(f"no event called {name!r}; there are door, load, unload, mains")
        try:
            act(**values)
        except TypeError:
            raise ValueError(f"event {name}: wrong values {sorted(values)}") from None

    def energy(self) -> dict[str, float]:
        """Energy since the start, J: in_j (elements), stored_j (above the start), lost_j,
        residual_j = in - stored - lost.
        """
        stored_j = self._stored_j()
        return {
            "in_j": self._in_j,
            "stored_j": stored_j,
            "lost_j": self._lost_j,
            "residual_j": self._in_j - stored_j - self._lost_j,
        }

    @property
    def door_open(self) -> bool:
        """True while the door stands open."""
        return self._door_s > 0.0

    @property
    def bread_in(self) -> bool:
        """True while a flatbread lies on the stone."""
        return self._bread_s > 0.0

    # events

    def _open_door(self, seconds):
        self._door_s = max(self._door_s, number("seconds", seconds, 0.0, 36000.0))

    def _set_mains(self, ratio):
        self.mains_ratio = number("ratio", ratio, 0.0, 1.5)

    def _lay_bread(self, bake_s=90.0, water_g=25.0):
        bake_s, water_g = (
            number("bake_s", bake_s, 1.0, 36000.0),
            number("water_g", water_g, 0.0, 500.0),
        )
        self._take_bread()
        self._bread_s, self._water_g = bake_s, water_g
        self.baked.append(BreadHeat(self.time_s))
        self._bread_start_k = self.ambient_c + ZERO_C_K

    def _take_bread(self):
        self._bread_s = 0.0
        if self.baked and self.baked[-1].out_s is None:
            self.baked[-1].out_s = self.time_s

    # shared arithmetic

    def _pass_time(self, dt_s):
        """End of a substep: door and bake run down."""
        self.time_s += dt_s
        if self._door_s > 0.0:
            self._door_s = max(0.0, self._door_s - dt_s)
        if self._bread_s > 0.0:
            self._bread_s -= dt_s
            if self._bread_s < 1e-6:
                self._take_bread()

    def _mains_power(self, dt_s):
        """Power relative to nominal: voltage ratio squared, with its slow wander."""
        if not self.mains_wander:
            return self.mains_ratio * self.mains_ratio
        self._steady_s += dt_s
        if self._steady_s >= WANDER_EVERY_S:
            keep = math.exp(-self._steady_s / self.mains_wander_s)
            draw = self._random.gauss(0.0, self.mains_wander)
            self._wander = self._wander * keep + draw * math.sqrt(1.0 - keep * keep)
            self._steady_s = 0.0
        ratio = self.mains_ratio * (1.0 + self._wander)
        return ratio * ratio

    def _sense(self, dt_s, air_k, glow_k4, element_k, stone_k, exit_k):
        """Move the two probe tips: air_k flows past the dome's, glow_k4 (K4) is what it sees by view factors, exit_k
        where its stem leaves; stone_k is what lies at the stone probe's place.
        """
        sheath = self.sheath
        if self.turbulence_k:
            if dt_s != self._eddy_for[0] or self.turbulence_s != self._eddy_for[1]:
                self._eddy_for = _first_order(dt_s, self.turbulence_s)
            _, _, keep, stir = self._eddy_for
            draw = self._random.gauss(0.0, self.turbulence_k)
            self._eddy_k = self._eddy_k * keep + draw * stir
            air_k += self._eddy_k
        flow, emissivity = sheath.open if self._door_s > 0.0 else sheath.shut, sheath.emissivity
        if self.dome_probe_near_element:
            glow_k4 += self.dome_probe_near_element * (element_k**4 - glow_k4)
        if self.dome_probe_foil:
            emissivity, flow = FOIL_EMISSIVITY, [FOIL_FLOW * part for part in flow]
        seen_air_k = air_k
        if self.dome_probe_out:
            seen_air_k = self.ambient_c + ZERO_C_K
            glow_k4, flow = seen_air_k**4, sheath.room
        self._dome_k = sheath.step(
            dt_s,
            self._dome_k,
            seen_air_k,
            glow_k4,
            flow,
            emissivity,
            exit_k,
            self.dome_probe_immersion_mm * 0.001,
            self.dome_probe_touch_w_m2k,
            element_k,
        )
        contact = self.stone_probe_contact
        if self.stone_probe_out:
            stone_k = self.ambient_c + ZERO_C_K
        elif contact < 1.0:
            stone_k = air_k + contact * (stone_k - air_k)
        slow_s = self.parameters.stone_probe_s / max(contact, 0.1)
        self._stone_probe_k += (stone_k - self._stone_probe_k) * (1.0 - math.exp(-dt_s / slow_s))

    def _warm_box(self, dt_s, casing_k):
        """Electronics box between the hot casing and the room; returns W drawn from the casing,
        books the loss.
        """
        p = self.parameters
        out_w_k = p.box_fan_w_k if self.fan_running else p.box_still_w_k
        drawn_w = p.box_casing_w_k * (casing_k - self._box_k)
        lost_w = out_w_k * (self._box_k - self.ambient_c - ZERO_C_K)
        self._box_k += (drawn_w - lost_w) * dt_s / p.box_j_k
        self._lost_j += lost_w * dt_s
        return drawn_w

    def _stored_j(self):
        raise NotImplementedError

    def true_c(self, place: str) -> float:
        """Degrees Celsius of the place itself, whatever a probe there would read: "dome", "stone" and more."""
        raise NotImplementedError

    def _substep(self, dt_s, top, deck):
        raise NotImplementedError
