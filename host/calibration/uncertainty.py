"""Uncertainty budget of a corrected reading, combined as the GUM does (JCGM 100:2008): root sum of squares, k = 2.

Each component is given as a half width (rectangular: divided by sqrt 3), as an expanded uncertainty with its
coverage factor, or as a resolution (full step, divided by sqrt 12). All act on the temperature directly
(sensitivity 1) and are taken as independent.
"""

from __future__ import annotations

import math

COVERAGE = 2.0

# IEC 60584-1:2013: (K at least, share of |t|), and the range in °C.
CLASSES: dict[tuple[str, int | str], tuple[float, float, int, int]] = {
    ("K", 1): (1.5, 0.004, -40, 1000), ("K", 2): (2.5, 0.0075, -40, 1200),
    ("N", 1): (1.5, 0.004, -40, 1000), ("N", 2): (2.5, 0.0075, -40, 1200),
    ("J", 1): (1.5, 0.004, -40, 750), ("J", 2): (2.5, 0.0075, -40, 750),
    ("T", 1): (0.5, 0.004, -40, 350), ("T", 2): (1.0, 0.0075, -40, 350),
    ("S", 1): (1.0, 0.0, 0, 1100), ("S", 2): (1.5, 0.0025, 0, 1600),
}  # fmt: skip
# IEC 60751: K at 0 °C, share of |t|.
RTD_CLASSES: dict[int | str, tuple[float, float]] = {"A": (0.15, 0.002), "B": (0.30, 0.005)}

# Where a calibration point stops to say anything about the probe: house rule, no source.
REACH_K = 200.0
# Short-range ordering of type K, 250..550 °C, over hours: common practice, no source. Half width.
ORDERING_K = 1.5
ORDERING_FROM_C, ORDERING_TO_C = 250.0, 550.0
# The electronics are warmer in the evening than at the calibration: estimate, no source. Half width.
JUNCTION_K = 0.5


class Component:
    """One line of the budget: name, standard uncertainty in K, and how it came about."""

    def __init__(self, name: str, standard_k: float, how: str) -> None:
        self.name = name
        self.standard_k = standard_k
        self.how = how

    @classmethod
    def rectangular(cls, name: str, half_width_k: float) -> Component:
        """From a bound that is as likely anywhere within (GUM 4.3.7)."""
        return cls(name, half_width_k / math.sqrt(3.0), f"+-{half_width_k:.2f} K rectangular")

    @classmethod
    def expanded(cls, name: str, expanded_k: float, k: float = 2.0) -> Component:
        """From a certificate's expanded uncertainty (GUM 4.3.3)."""
        return cls(name, expanded_k / k, f"{expanded_k:.2f} K at k = {k:g}")

    @classmethod
    def resolution(cls, name: str, step_k: float) -> Component:
        """From the step of a display or code (GUM F.2.2.1)."""
        return cls(name, step_k / math.sqrt(12.0), f"step {step_k:.3g} K")

    @classmethod
    def repeated(cls, name: str, values: list[float]) -> Component:
        """From repeated readings: standard deviation of the mean (GUM 4.2.3)."""
        n = len(values)
        mean = sum(values) / n
        deviation = math.sqrt(sum((v - mean) ** 2 for v in values) / (n - 1))
        return cls(name, deviation / math.sqrt(n), f"{n} readings, s = {deviation:.2f} K")


def combined_k(components: list[Component]) -> float:
    """Combined standard uncertainty, K (GUM 5.1.2 with sensitivities of 1)."""
    return math.sqrt(sum(c.standard_k**2 for c in components))


def class_tolerance_k(kind: str, grade: int | str, t_c: float) -> float:
    """Tolerance of new thermocouple material or a platinum element at t_c, K; beyond its range 1.5 times.

    kind: K N J T S with grade 1 or 2 (IEC 60584-1), pt100 or pt1000 with grade "A" or "B" (IEC 60751).
    """
    if kind in ("pt100", "pt1000"):
        base, share = RTD_CLASSES[grade]
        return base + share * abs(t_c)
    base, share, low, high = CLASSES[kind, grade]
    tolerance = max(base, share * abs(t_c))
    if kind == "S" and grade == 1 and t_c > 1100:
        tolerance = 1.0 + 0.003 * (t_c - 1100)
    return tolerance if low <= t_c <= high else 1.5 * tolerance


def reach(t_c: float, points_c: list[float]) -> float:
    """0 at a calibration point, 1 where it is REACH_K away or there is none."""
    return min([1.0] + [abs(t_c - point) / REACH_K for point in points_c])


def budget(
    t_c: float, points: list[tuple[float, list]], kind: str, grade: int | str, chip_k: float, resolution_k: float
) -> list[Component]:
    """Components of the corrected reading at t_c.

    points: [(true_c, [components of that point])]; chip_k: the chip's own accuracy (half width);
    resolution_k: its step. The nearest point's components count in full; probe class and chip count by how
    far that point is away.
    """
    away = reach(t_c, [true_c for true_c, _ in points])
    lines = []
    if points:
        nearest = min(points, key=lambda point: abs(point[0] - t_c))
        lines.extend(nearest[1])
    tolerance = class_tolerance_k(kind, grade, t_c)
    lines.append(Component.rectangular(f"probe class {grade}, away from the points", away * tolerance))
    lines.append(Component.rectangular("chip, away from the points", away * chip_k))
    lines.append(Component.resolution("resolution in use", resolution_k))
    if kind not in ("pt100", "pt1000"):
        lines.append(Component.rectangular("board warmer than at calibration", JUNCTION_K))
    if kind == "K" and ORDERING_FROM_C <= t_c <= ORDERING_TO_C:
        lines.append(Component.rectangular("type K ordering over hours", ORDERING_K))
    return lines
