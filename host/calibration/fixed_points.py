"""Temperatures that a kitchen can make without a thermometer: ice, boiling water, fixed points by name.

Boiling: IAPWS-IF97 (R7-97) saturation temperature, region 4. Air pressure over altitude: standard atmosphere
(ISO 2533, US Standard Atmosphere 1976) below 11 km. Fixed points: ITS-90 table 1.
"""

from __future__ import annotations

import math

ICE_C = 0.0  # melting ice at 1 atm; the triple point is 0.01 °C
# Defining points of ITS-90 (freezing), °C; gallium melts.
FIXED_C = {
    "gallium": 29.7646, "indium": 156.5985, "tin": 231.928, "zinc": 419.527, "aluminium": 660.323,
}  # fmt: skip
WEATHER_HPA = 30.0  # what the day's pressure may differ from the standard atmosphere
PRESSURE_HPA = (680.0, 1090.0)
ALTITUDE_M = (-400.0, 3000.0)

# IAPWS R7-97, table 34: n1..n10 of the saturation equation.
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
    -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
    -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def boiling_c(pressure_hpa: float) -> float:
    """Boiling point of water in °C at a station pressure in hPa (IAPWS R7-97, equation 31)."""
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    beta = (pressure_hpa / 10000.0) ** 0.25
    e = beta**2 + n3 * beta + n6
    f = n1 * beta**2 + n4 * beta + n7
    g = n2 * beta**2 + n5 * beta + n8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    return (n10 + d - math.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d))) / 2.0 - 273.15


def pressure_hpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere in hPa at a geometric altitude in m."""
    height_m = 6356766.0 * altitude_m / (6356766.0 + altitude_m)  # geopotential
    return 1013.25 * (1.0 - 0.0065 * height_m / 288.15) ** 5.255880


def slope_k_per_hpa(pressure: float) -> float:
    """How much the boiling point moves, K per hPa."""
    return (boiling_c(pressure + 0.5) - boiling_c(pressure - 0.5)) / 1.0
