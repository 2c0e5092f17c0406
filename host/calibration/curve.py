"""From readings at known temperatures to a correction curve, its uncertainty and its record.

Temperatures are °C, corrections K (true minus reading); the device stores both in 0.001 °C. The device's own
rule (`tizzone.probes.conditioning.calibration_fault`) decides whether a curve is usable, so that nothing is
written which the board would refuse.
"""

from __future__ import annotations

import ast
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.calibration import uncertainty
from host.calibration.fixed_points import (
    ALTITUDE_M,
    FIXED_C,
    ICE_C,
    PRESSURE_HPA,
    WEATHER_HPA,
    boiling_c,
    pressure_hpa,
    slope_k_per_hpa,
)
from host.calibration.uncertainty import Component
from host.errors import InputError
from host.shim.loader import DEVICE, world

if TYPE_CHECKING:
    from host.shim.loader import DeviceModule


ICE_BATH_K = 0.1  # crushed ice, a little water, stirred: common practice, no source
BOILING_K = 0.2  # rolling boil, tip off the bottom: common practice, no source
STATION_HPA = 2.0  # a barometer or a station next door
FIXED_K = 0.5  # a metal's freezing plateau or a dry block's name plate: common practice, no source
MERGE_K = 5.0  # readings nearer than this are one point
WATER_ONLY_C = 110.0
REPORT_AT_C = (60, 120, 260, 400, 450, 480)
CURVE_POINTS = 7


class CalibrationError(InputError):
    """The readings cannot make a curve; the text is one line."""


class Point:
    """A known temperature and what the probe read there."""

    def __init__(self, name: str, true_c: float, readings_c: list[float], components: list[Component]) -> None:
        self.name = name
        self.true_c = true_c
        self.readings_c = list(readings_c)
        self.reading_c = sum(self.readings_c) / len(self.readings_c)
        self.components = list(components)
        if len(self.readings_c) > 1:
            self.components.append(Component.repeated("repeated readings", self.readings_c))

    @property
    def correction_k(self) -> float:
        """What must be added to the reading."""
        return self.true_c - self.reading_c


def ice_point(readings_c: list[float]) -> Point:
    """Melting ice."""
    return Point("ice", ICE_C, readings_c, [Component.rectangular("ice bath", ICE_BATH_K)])


def boiling_point(readings_c: list[float], station_hpa: float | None = None, altitude_m: float | None = None) -> Point:
    """Boiling water at the day's station pressure, or (worse) at an altitude alone."""
    if station_hpa is not None:
        within("station pressure", station_hpa, PRESSURE_HPA, "hPa (not the sea-level value of a forecast)")
        spread_hpa, name = STATION_HPA, "station pressure"
    elif altitude_m is not None:
        within("altitude", altitude_m, ALTITUDE_M, "m")
        station_hpa, spread_hpa, name = pressure_hpa(altitude_m), WEATHER_HPA, "weather at this altitude"
    else:
        raise CalibrationError("boiling water needs the day's station pressure or the altitude")
    return Point(
        "boil", boiling_c(station_hpa), readings_c,
        [
            Component.rectangular("boiling water", BOILING_K),
            Component.rectangular(name, spread_hpa * slope_k_per_hpa(station_hpa)),
        ],
    )  # fmt: skip


def fixed_point(name: str, readings_c: list[float]) -> Point:
    """A fixed point of ITS-90 by name."""
    if name not in FIXED_C:
        raise CalibrationError(f"no fixed point {name!r} (known: {', '.join(FIXED_C)})")
    return Point(name, FIXED_C[name], readings_c, [Component.rectangular("fixed point", FIXED_K)])


def reference_point(true_c: float, readings_c: list[float], expanded_k: float, k: float = 2.0) -> Point:
    """A reference thermometer beside the probe; expanded_k from its certificate."""
    within("reference", true_c, (-40.0, 700.0), "°C")
    parts = [Component.expanded("reference thermometer", expanded_k, k)]
    return Point(f"reference {true_c:g}", true_c, readings_c, parts)


def within(what: str, value: float, bounds: tuple[float, float], unit: str) -> None:
    """CalibrationError unless value lies within bounds (NaN does not)."""
    if not bounds[0] <= value <= bounds[1]:
        raise CalibrationError(f"{what} {value:g} is outside {bounds[0]:g}..{bounds[1]:g} {unit}")


def curve(points: list[Point]) -> list[list[int]]:
    """The device's curve [[reading_mc, correction_mc], ...] of these points; CalibrationError if absurd."""
    if not points:
        raise CalibrationError("no readings")
    ordered = sorted(points, key=lambda point: point.reading_c)
    groups = [[ordered[0]]]
    for point in ordered[1:]:
        if point.reading_c - groups[-1][0].reading_c < MERGE_K:
            groups[-1].append(point)
        else:
            groups.append([point])
    if len(groups) > CURVE_POINTS:
        raise CalibrationError(f"{len(groups)} points; the board keeps {CURVE_POINTS}")
    made = []
    for group in groups:
        reading = sum(point.reading_c for point in group) / len(group)
        correction = sum(point.correction_k for point in group) / len(group)
        made.append([round(reading * 1000), round(correction * 1000)])
    fault = conditioning().calibration_fault(made)
    if fault:
        raise CalibrationError(fault)
    return made


def conditioning() -> DeviceModule:
    """The device's conditioning module, as the board runs it."""
    return world(DEVICE).load("tizzone.probes.conditioning")


def corrected_c(points: list[list[int]], reading_c: float) -> float:
    """What the board makes of a reading with this curve, °C."""
    conditioner = conditioning().Conditioner(points)
    return conditioner.calibrated_mc(round(reading_c * 1000)) / 1000.0


def uncorrected_c(points: list[list[int]], shown_c: float) -> float:
    """The reading behind a corrected one, °C (the curve rises, so a bisection finds it)."""
    conditioner = conditioning().Conditioner(points)
    low, high = round(shown_c * 1000) - 16000, round(shown_c * 1000) + 16000
    while high - low > 1:
        middle = (low + high) // 2
        if conditioner.calibrated_mc(middle) < shown_c * 1000:
            low = middle
        else:
            high = middle
    return high / 1000.0


def chip_limits(chip: str) -> dict[str, Any]:
    """RANGE_C, ACCURACY_K, RESOLUTION_K and DETECTS of a chip's driver, read without running it."""
    module = {"mcp9601": "mcp9600"}.get(chip, chip)
    path = Path(DEVICE) / "tizzone" / "probes" / f"{module}.py"
    limits = {}
    if path.is_file() and chip not in ("bus", "__init__"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id in (
                "RANGE_C", "ACCURACY_K", "RESOLUTION_K", "DETECTS",
            ):  # fmt: skip
                limits[node.targets[0].id] = ast.literal_eval(node.value)
    if len(limits) < 4:
        raise CalibrationError(f"no chip {chip!r}")
    return limits


def expanded_at(
    t_c: float, points: list[Point], kind: str, grade: int | str, limits: dict[str, Any]
) -> tuple[list[Component], float]:
    """(components, expanded uncertainty in K, k = 2) of the corrected reading at t_c."""
    lines = uncertainty.budget(
        t_c, [(point.true_c, point.components) for point in points], kind, grade,
        limits["ACCURACY_K"], limits["RESOLUTION_K"],
    )  # fmt: skip
    return lines, uncertainty.COVERAGE * uncertainty.combined_k(lines)


def water_only(points: list[Point]) -> bool:
    """True when nothing was compared above boiling water."""
    return max(point.true_c for point in points) < WATER_ONLY_C


def expanded_of(point: Point) -> float:
    """Expanded uncertainty (k = 2) of one point's correction, the board's own temperature included, K."""
    board = Component.rectangular("board temperature of the day", uncertainty.JUNCTION_K)
    return uncertainty.COVERAGE * uncertainty.combined_k([*point.components, board])


def drift(points: list[Point], record: dict[str, Any]) -> list[tuple[str, float, float]]:
    """[(name, change of the correction in K, its expanded uncertainty)] for points of the record.

    record: the stored record of this probe. A point is compared with the recorded one of the same name.
    """
    before = {name: (true_mc - reading_mc) / 1000.0 for name, true_mc, reading_mc in record["points"]}
    spread = record.get("u_points_k", {})
    changes = []
    for point in points:
        if point.name in before:
            now = expanded_of(point)
            then = spread.get(point.name, now)
            changes.append((point.name, point.correction_k - before[point.name], (now**2 + then**2) ** 0.5))
    return changes


def record(
    points: list[Point], date: str, identity: str, chip: str, kind: str, grade: int | str, u_450_k: float
) -> dict[str, Any]:
    """What is kept beside the curve."""
    return {
        "date": date, "probe": identity, "chip": chip, "type": kind, "class": grade,
        "u_450_k": round(u_450_k, 2),
        "points": [[p.name, round(p.true_c * 1000), round(p.reading_c * 1000)] for p in points],
        "u_points_k": {
            p.name: round(expanded_of(p), 2) for p in points
        },
    }  # fmt: skip
