"""The face of a stone that is a lump: colder than the lump while a bread draws heat through it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from host.oven.roofed import RoofedParameters
    from host.oven.threelump import ThreeLumpParameters


SKIN_S = 40.0  # heat has then come from 8 mm: sqrt(pi a t) with a = 5.4e-7 m2/s
DEPTH_MM = 8.0  # of the skin, for a probe in it


class Skin:
    """`face_k`: how much colder the face is; `probe_k`: the same at the stone probe's place, 0 at the rim.

    `parameters.skin_k_w`: K for each W that is drawn for long; it comes and goes with SKIN_S. Holds no heat of its own.
    """

    def __init__(self, parameters: RoofedParameters | ThreeLumpParameters) -> None:
        self.k_w = parameters.skin_k_w
        self.face_k = 0.0
        at_rim = parameters.stone_probe_from_middle_mm > 170.0  # a bread of 33 cm
        self._seen = 0.0 if at_rim else math.exp(-parameters.stone_probe_depth_mm / DEPTH_MM)

    @property
    def probe_k(self) -> float:
        """At the probe's place."""
        return self.face_k * self._seen

    def step(self, dt_s: float, drawn_w: float) -> None:
        """Pass dt_s with this many W through the face."""
        self.face_k += (self.k_w * drawn_w - self.face_k) * (1.0 - math.exp(-dt_s / SKIN_S))
