"""Air that an open door exchanges with the room, driven by its own weight."""

from __future__ import annotations

import math

AIR_J_KGK = 1006.0  # at room temperature; from memory
GRAVITY_M_S2 = 9.80665
GAS_KG_K_M3 = 101325.0 / 287.05  # density of dry air times its temperature at sea level


def exchange_w_k(area_m2: float, height_m: float, discharge: float, hot_k: float, room_k: float) -> float:
    """W/K that leave through one opening: Q = Cd A/3 sqrt(g H d_rho/rho), hot air out above, cold in below.

    The opening's area and height, its discharge coefficient (0.6 of a sharp edge, more where nothing stands in the
    way), temperatures in K. Both densities are taken at their mean, as the formula of Brown and Solvason does.
    """
    if hot_k <= room_k:
        return 0.0
    both_k = hot_k + room_k
    flow_m3_s = discharge * area_m2 / 3.0 * math.sqrt(GRAVITY_M_S2 * height_m * 2.0 * (hot_k - room_k) / both_k)
    return flow_m3_s * GAS_KG_K_M3 / (0.5 * both_k) * AIR_J_KGK
