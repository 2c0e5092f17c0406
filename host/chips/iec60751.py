"""Industrial platinum resistance thermometer, IEC 60751, in double precision (the laptop's side)."""

from __future__ import annotations

A, B, C = 3.9083e-3, -5.775e-7, -4.183e-12  # 1/°C, 1/°C^2, 1/°C^4


def ratio(t_c: float) -> float:
    """R(t) / R0 for -200..850 °C."""
    value = 1.0 + A * t_c + B * t_c**2
    if t_c < 0.0:
        value += C * (t_c - 100.0) * t_c**3
    return value


def temperature_c(r_ratio: float) -> float:
    """Temperature in °C of R/R0, by bisection to 1e-9 K between -220 and 900 °C."""
    low, high = -220.0, 900.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if ratio(middle) < r_ratio:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
