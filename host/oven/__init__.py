"""Simulated ovens: `preset(name)`, `sample(seed)`, `other(seed)`, `third(seed)`; all keep the plant contract of
`base.Plant`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from . import parameters, roofed, threelump
from .base import Plant
from .lamp import LampBench, LampParameters
from .oven import Oven
from .parameters import OvenParameters
from .roofed import Roofed, RoofedParameters
from .slab import Slab
from .threelump import ThreeLump, ThreeLumpParameters

__all__ = [
    "PRESETS",
    "LampBench",
    "LampParameters",
    "Oven",
    "OvenParameters",
    "Plant",
    "Roofed",
    "RoofedParameters",
    "Slab",
    "ThreeLump",
    "ThreeLumpParameters",
    "other",
    "preset",
    "sample",
    "third",
]

PRESETS = (*sorted(parameters.NAMED), "lamp")


def preset(name: str, seed: int = 0, **changes: Any) -> Oven | LampBench:
    """A named plant; `seed` drives its noise, `changes` replace parameters (stone_m=0.020,
    turbulence_k=0.0 ...).

    ValueError with one line for a name or a parameter that does not exist.
    """
    if name not in PRESETS:
        raise ValueError(f"no oven called {name!r}; there are {', '.join(PRESETS)}")
    if name == "lamp":
        return LampBench(_changed(LampParameters(), changes), seed)
    return Oven(_changed(parameters.NAMED[name], changes), seed)


def sample(seed: int, **changes: Any) -> Oven:
    """A random domestic oven of 2.4..3.5 kW; one seed, one oven and its noise."""
    return Oven(_changed(parameters.drawn(seed), changes), seed)


def other(seed: int, **changes: Any) -> ThreeLump:
    """A random oven of another structure (three lumps, transport delay), same contract."""
    return ThreeLump(_changed(threelump.drawn(seed), changes), seed)


def third(seed: int, **changes: Any) -> Roofed:
    """A random oven of a third structure (roof and sides apart), same contract."""
    return Roofed(_changed(roofed.drawn(seed), changes), seed)


def _changed(values, changes):
    unknown = [name for name in changes if name not in values.__dataclass_fields__]
    if unknown:
        raise ValueError(f"no oven parameter called {unknown[0]!r}")
    return replace(values, **changes)
