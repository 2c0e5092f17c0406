"""Thermocouple reference functions of ITS-90, in double precision (the laptop's side).

E(t) = sum c_i t^i in mV, t in °C, reference junction at 0 °C; type K above 0 °C adds
a0 exp(a1 (t - a2)^2). Source: NIST Standard Reference Database 60 (US Government work), which
reproduces NIST Monograph 175; IEC 60584-1 uses the same functions. The fake chips and
`tools/make_tables.py` use these; the device never does.
"""

from __future__ import annotations

import math

# Each piece: (t_min_c, t_max_c, coefficients c0, c1, ... in mV / °C^i).
PIECES = {  # fmt: skip
    "K": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.039450128025,
                2.3622373598e-05,
                -3.2858906784e-07,
                -4.9904828777e-09,
                -6.7509059173e-11,
                -5.7410327428e-13,
                -3.1088872894e-15,
                -1.0451609365e-17,
                -1.9889266878e-20,
                -1.6322697486e-23,
            ),
        ),
        (
            0.0,
            1372.0,
            (
                -0.017600413686,
                0.038921204975,
                1.8558770032e-05,
                -9.9457592874e-08,
                3.1840945719e-10,
                -5.6072844889e-13,
                5.6075059059e-16,
                -3.2020720003e-19,
                9.7151147152e-23,
                -1.2104721275e-26,
            ),
        ),
    ),
    "N": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.026159105962,
                1.0957484228e-05,
                -9.3841111554e-08,
                -4.6412039759e-11,
                -2.6303357716e-12,
                -2.2653438003e-14,
                -7.6089300791e-17,
                -9.3419667835e-20,
            ),
        ),
        (
            0.0,
            1300.0,
            (
                0.0,
                0.025929394601,
                1.571014188e-05,
                4.3825627237e-08,
                -2.5261169794e-10,
                6.4311819339e-13,
                -1.0063471519e-15,
                9.9745338992e-19,
                -6.0863245607e-22,
                2.0849229339e-25,
                -3.0682196151e-29,
            ),
        ),
    ),
    "J": (
        (
            -210.0,
            760.0,
            (
                0.0,
                0.050381187815,
                3.047583693e-05,
                -8.568106572e-08,
                1.3228195295e-10,
                -1.7052958337e-13,
                2.0948090697e-16,
                -1.2538395336e-19,
                1.5631725697e-23,
            ),
        ),
        (
            760.0,
            1200.0,
            (
                296.45625681,
                -1.4976127786,
                0.0031787103924,
                -3.1847686701e-06,
                1.5720819004e-09,
                -3.0691369056e-13,
            ),
        ),
    ),
    "T": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.038748106364,
                4.4194434347e-05,
                1.1844323105e-07,
                2.0032973554e-08,
                9.0138019559e-10,
                2.2651156593e-11,
                3.6071154205e-13,
                3.8493939883e-15,
                2.8213521925e-17,
                1.4251594779e-19,
                4.8768662286e-22,
                1.079553927e-24,
                1.3945027062e-27,
                7.9795153927e-31,
            ),
        ),
        (
            0.0,
            400.0,
            (
                0.0,
                0.038748106364,
                3.329222788e-05,
                2.0618243404e-07,
                -2.1882256846e-09,
                1.0996880928e-11,
                -3.0815758772e-14,
                4.547913529e-17,
                -2.7512901673e-20,
            ),
        ),
    ),
    "S": (
        (
            -50.0,
            1064.18,
            (
                0.0,
                0.00540313308631,
                1.2593428974e-05,
                -2.32477968689e-08,
                3.22028823036e-11,
                -3.31465196389e-14,
                2.55744251786e-17,
                -1.25068871393e-20,
                2.71443176145e-24,
            ),
        ),
        (
            1064.18,
            1664.5,
            (
                1.32900444085,
                0.00334509311344,
                6.54805192818e-06,
                -1.64856259209e-09,
                1.29989605174e-14,
            ),
        ),
        (
            1664.5,
            1768.1,
            (
                146.628232636,
                -0.258430516752,
                0.000163693574641,
                -3.30439046987e-08,
                -9.43223690612e-15,
            ),
        ),
    ),
}
# a0 mV, a1 1/°C^2, a2 °C; type K above 0 °C only
K_EXPONENTIAL = (0.1185976, -0.0001183432, 126.9686)


def range_c(kind: str) -> tuple[float, float]:
    """Validity of the reference function, (lowest, highest) °C."""
    pieces = PIECES[kind]
    return pieces[0][0], pieces[-1][1]


def emf_mv(kind: str, t_c: float) -> float:
    """E(t) in mV against a reference junction at 0 °C.

    Outside the validity range the nearest piece is continued: a fake chip must answer something,
    and a table needs one node beyond its end. `range_c` says where the standard ends.
    """
    if kind == "K" and 0.0 < t_c <= 1372.0:  # the fake chips ask this about 16 times a simulated second
        c0, c1, c2, c3, c4, c5, c6, c7, c8, c9 = PIECES["K"][1][2]
        low = c5 + t_c * (c6 + t_c * (c7 + t_c * (c8 + t_c * c9)))
        value = c0 + t_c * (c1 + t_c * (c2 + t_c * (c3 + t_c * (c4 + t_c * low))))
        a0, a1, a2 = K_EXPONENTIAL
        return value + a0 * math.exp(a1 * (t_c - a2) ** 2)
    pieces = PIECES[kind]
    chosen = pieces[-1]
    for piece in pieces:
        if t_c <= piece[1]:
            chosen = piece
            break
    value = 0.0
    for coefficient in reversed(chosen[2]):
        value = value * t_c + coefficient
    if kind == "K" and chosen[0] == 0.0:
        a0, a1, a2 = K_EXPONENTIAL
        value += a0 * math.exp(a1 * (t_c - a2) ** 2)
    return value


def seebeck_uv_per_k(kind: str, t_c: float) -> float:
    """dE/dt in µV/K, by a central difference of 0.01 K."""
    return (emf_mv(kind, t_c + 0.005) - emf_mv(kind, t_c - 0.005)) / 0.01 * 1000.0


def temperature_c(kind: str, e_mv: float) -> float:
    """Temperature in °C for an EMF in mV (0 °C reference), by bisection of E(t) to 1e-9 K.

    The search goes 30 K beyond the validity range; an EMF outside that returns the nearer end.
    """
    low, high = range_c(kind)
    # Near absolute zero the functions are not monotone: nothing here needs less than -200 °C.
    low, high = max(low, -200.0) - (30.0 if low > -200.0 else 0.0), high + 30.0
    for _ in range(60):
        middle = (low + high) / 2.0
        if emf_mv(kind, middle) < e_mv:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0
