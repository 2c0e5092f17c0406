"""Fake probe chips that answer the bytes of the real ones; see `base` for what they share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from host.chips.base import Celsius, FakeChip, Micros


def make(
    spec: Mapping[str, Any], temperature_c: Celsius, junction_c: Celsius, now_us: Micros, seed: int = 1, **options: Any
) -> FakeChip:
    """The fake chip of one pin map entry; spec: its dict, callables in °C and µs, see base.FakeChip."""
    from host.chips.ads1115 import FakeADS1115, FakeAnalog
    from host.chips.max6675 import FakeMAX6675
    from host.chips.max31855 import FakeMAX31855
    from host.chips.max31856 import FakeMAX31856
    from host.chips.max31865 import FakeMAX31865
    from host.chips.mcp9600 import FakeMCP9600

    made: type[FakeChip]
    chip, kind = spec["chip"], spec.get("type")
    if chip == "max31855":
        options.setdefault("kind", kind or "K")
        made = FakeMAX31855
    elif chip == "max31856":
        options.setdefault("couple", kind or "K")
        made = FakeMAX31856
    elif chip == "max31865":
        r0_ohm = 1000 if kind == "pt1000" else 100
        options.setdefault("r0_ohm", r0_ohm)
        options.setdefault("rref_ohm", spec.get("rref_ohm", 4 * r0_ohm))
        made = FakeMAX31865
    elif chip in ("mcp9600", "mcp9601"):
        options.setdefault("identity", 0x41 if chip == "mcp9601" else 0x40)
        made = FakeMCP9600
    else:
        made = {"max6675": FakeMAX6675, "ad849x": FakeAnalog, "ads1115": FakeADS1115}[chip]
    return made(temperature_c, junction_c, now_us, seed=seed, **options)
