"""Pst of a load's record by an independent flickermeter (PyPI pqopen-lib, IEC 61000-4-15)."""

import numpy as np
from pqopen.powerquality import VoltageFluctuation

RATE_HZ = 2000
VOLTS = 230.0
REFERENCE_OHM = 0.4  # IEC 60725: 0.24 phase + 0.16 neutral; the heaters are resistive
SETTLE_S = 30


def pst(changes_pct):
    """Pst over ten minutes of relative voltage changes in %, one value a half-cycle (10 ms), repeated."""
    seconds = 600 + SETTLE_S
    need = seconds * 100
    changes = np.resize(np.asarray(changes_pct, dtype=float), need)
    rms = VOLTS * (1.0 - changes / 100.0)
    angle = 2 * np.pi * 50.0 * np.arange(RATE_HZ) / RATE_HZ
    carrier = np.sqrt(2.0) * np.sin(angle)
    meter = VoltageFluctuation(RATE_HZ)
    for second in range(seconds):
        part = rms[second * 100 : (second + 1) * 100]
        meter.process(second * RATE_HZ, part, carrier * np.repeat(part, RATE_HZ // 100))
    return float(meter.calc_pst(SETTLE_S * RATE_HZ, seconds * RATE_HZ))


def rectangular(change_pct, changes_per_min):
    """Equal rectangular changes at that rate, as half-cycles over ten minutes."""
    half_s = 60.0 / changes_per_min
    t_s = np.arange(63_000) * 0.01
    return change_pct * (np.floor(t_s / half_s) % 2)


def of_record(top, deck, top_w, deck_w):
    """Pst of a switching record at 0.25 s a value."""
    watts = np.asarray(top) * top_w + np.asarray(deck) * deck_w
    return pst(np.repeat(100.0 * REFERENCE_OHM * watts / VOLTS**2, 25))
