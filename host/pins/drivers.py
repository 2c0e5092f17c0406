"""What the probe drivers of the device state about themselves, read from their files as literals, never run."""

import ast
from functools import cache
from pathlib import Path
from typing import NamedTuple

PROBES = Path(__file__).parents[2] / "device" / "tizzone" / "probes"
STATED = ("RANGE_C", "ACCURACY_K", "RESOLUTION_K", "DETECTS", "CONVERSION_MS")


class Needs(NamedTuple):
    """How a chip is wired: bus "spi", "i2c" or "adc"; SPI clock phase; whether it is written to (needs MOSI)."""

    bus: str
    phase: int = 0
    mosi: bool = False


# As each driver's `build` has it; tests/pins compares.
NEEDS = {
    "max31855": Needs("spi"),
    "max6675": Needs("spi"),
    "max31856": Needs("spi", 1, True),
    "max31865": Needs("spi", 1, True),
    "mcp9600": Needs("i2c"),
    "mcp9601": Needs("i2c"),
    "ads1115": Needs("i2c"),
    "ad849x": Needs("adc"),
}
# Entries of a spec beside chip, type, bus and cs: allowed values (a tuple) or bounds (a range); default first.
OPTIONS = {
    "max31855": {},
    "max6675": {},
    "max31856": {"hz": (50, 60), "average": (1, 2, 4)},
    "max31865": {"hz": (50, 60), "wires": (3, 2, 4), "rref_ohm": range(301, 5001)},
    "mcp9600": {"address": range(0x60, 0x68)},
    "mcp9601": {"address": range(0x60, 0x68)},
    "ads1115": {"address": range(0x48, 0x4C), "channel": (0, 1, 2, 3), "vref_mv": range(501)},
    "ad849x": {"supply_mv": range(1000, 3601), "vref_mv": range(501)},
}
DEFAULT_ADDRESS = {"mcp9600": 0x67, "mcp9601": 0x67, "ads1115": 0x48}
DEFAULT_TYPE = {"max31865": "pt100"}


@cache
def literals(path: Path) -> dict:
    """{name: value} of the plain assignments in a file whose values are literals."""
    found = {}
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            try:
                found[node.targets[0].id] = ast.literal_eval(node.value)
            except ValueError:
                continue  # computed: not a figure for us
    return found


def chips() -> dict:
    """{chip of a pin map: driver's module}."""
    return literals(PROBES / "chips.py")["CHIPS"]


def facts(chip: str) -> dict:
    """{"RANGE_C": {type: (low, high)}, "ACCURACY_K": ...} of a chip."""
    stated = literals(PROBES / f"{chips()[chip]}.py")
    return {name: stated[name] for name in STATED}


def can_serve(wanted_c: int) -> list:
    """[(chip, types)] whose stated range holds a controlling probe from a cold kitchen to `wanted_c` (°C)."""
    found = []
    for chip in chips():
        ranges = facts(chip)["RANGE_C"]
        types = [kind for kind, (low, high) in ranges.items() if low <= 0 and high >= wanted_c]
        if types:
            found.append((chip, types))
    return found


def serve_words(wanted_c: int, blind: tuple = ()) -> str:
    """The same as words, without the chips in `blind`: "max31855 (K N J), max31856 (...)"."""
    served = [(chip, types) for chip, types in can_serve(wanted_c) if chip not in blind]
    return ", ".join(f"{chip} ({' '.join(types)})" for chip, types in served) or "no chip"
