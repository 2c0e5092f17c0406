"""Air in a closed relay box, and what a hot oven behind it may do without the fan.

Natural convection and radiation from the free faces: P = k A (Ti - Ta). Five free faces: the
box hangs on a wall.
"""

from host.mains.value import MEMORY, Value

TRANSFER = {
    "steel": Value(5.5, "W/m2K", MEMORY, "enclosure makers' figure, painted sheet steel"),
    "plastic": Value(3.5, "W/m2K", MEMORY, "enclosure makers' figure, plastic"),
}
COIL = Value(5.0, "W", MEMORY, "contactor makers' data: coils of 16 to 40 A contactors hold with 2 to 6 W")
SUPPLY = Value(6.0, "W", MEMORY, "common practice: losses of small supplies, board and drivers")
FREE_DISTANCE_MM = Value(300, "mm", MEMORY, "common practice, no source")


def area_m2(width_mm: float, height_mm: float, depth_mm: float) -> float:
    """Free area of a wall-hung box (front, top, bottom, two sides), m2."""
    w, h, d = width_mm / 1000, height_mm / 1000, depth_mm / 1000
    return w * h + 2 * w * d + 2 * h * d


def air_c(ambient_c: float, loss_w: float, area: float, transfer_w_m2k: float) -> float:
    """Mean air temperature inside, degC, with `loss_w` given off inside for hours."""
    return ambient_c + loss_w / (transfer_w_m2k * area)


def area_needed_m2(ambient_c: float, loss_w: float, limit_c: float, transfer_w_m2k: float) -> float | None:
    """Free area that keeps the inside at `limit_c`, m2; None where the room is hotter."""
    if limit_c <= ambient_c:
        return None
    return loss_w / (transfer_w_m2k * (limit_c - ambient_c))
