"""By how much each figure of an evening moves when one thing changes, and how far ovens differ in that.

Measured by tests/bench/history_directions.py on 24 simulated ovens without noise, half of them with layered walls, half
of another structure (three lumps and a delay); nothing here was checked against a real oven. Figures in the order
of `evening.FIGURES`: rise climb top hold cool stone, all as logarithms.
"""

from __future__ import annotations

import numpy as np

# movement of the logarithms for each K of a warmer room and start
COOLER_PER_K = (-0.002, -0.0013, -0.001, -0.0012, 0.0026, -0.0001)

# what changes: (mean movement per unit of its logarithm, covariance of that movement between ovens)
MOVES = {
    "power": (
        [-1.278, -1.334, -1.391, -0.873, -0.006, -0.06],
        [
            [0.006, 0.0032, 0.0019, -0.0062, 0.0004, 0.0018],
            [0.0032, 0.011, 0.0048, -0.0144, 0.0009, 0.0035],
            [0.0019, 0.0048, 0.0059, -0.0053, 0.0004, 0.0015],
            [-0.0062, -0.0144, -0.0053, 0.0223, -0.0011, -0.0053],
            [0.0004, 0.0009, 0.0004, -0.0011, 0.0001, 0.0003],
            [0.0018, 0.0035, 0.0015, -0.0053, 0.0003, 0.0013],
        ],
    ),
    "gasket": (
        [0.385, 0.601, 0.778, 1.038, -1.358, 0.189],
        [
            [0.0349, 0.0502, 0.0504, 0.0043, -0.0143, 0.0285],
            [0.0502, 0.0741, 0.0757, 0.0037, -0.0225, 0.0411],
            [0.0504, 0.0757, 0.0796, 0.001, -0.0253, 0.0406],
            [0.0043, 0.0037, 0.001, 0.0068, 0.0033, 0.0041],
            [-0.0143, -0.0225, -0.0253, 0.0033, 0.0178, -0.0107],
            [0.0285, 0.0411, 0.0406, 0.0041, -0.0107, 0.0238],
        ],
    ),
    "wall": (
        [0.178, 0.321, 0.494, 0.844, -1.153, 0.049],
        [
            [0.0032, 0.0043, 0.0062, 0.005, -0.0095, 0.0004],
            [0.0043, 0.0065, 0.0097, 0.0048, -0.0129, 0.0009],
            [0.0062, 0.0097, 0.0149, 0.0061, -0.0184, 0.0014],
            [0.005, 0.0048, 0.0061, 0.0286, -0.0221, -0.0012],
            [-0.0095, -0.0129, -0.0184, -0.0221, 0.0368, -0.0009],
            [0.0004, 0.0009, 0.0014, -0.0012, -0.0009, 0.0003],
        ],
    ),
    "probe": (
        [-1.326, -1.459, -1.558, -1.131, 0.308, -1.113],
        [
            [0.0061, 0.0087, 0.0063, -0.0169, 0.0014, 0.0041],
            [0.0087, 0.0323, 0.019, -0.0553, 0.0046, 0.0136],
            [0.0063, 0.019, 0.0204, -0.0271, 0.0028, 0.01],
            [-0.0169, -0.0553, -0.0271, 0.1163, -0.0122, -0.0249],
            [0.0014, 0.0046, 0.0028, -0.0122, 0.0049, 0.0025],
            [0.0041, 0.0136, 0.01, -0.0249, 0.0025, 0.0069],
        ],
    ),
    "mass": (
        [0.201, 0.361, 0.53, 0.448, 0.427, -0.103],
        [
            [0.0175, 0.0169, -0.0011, -0.0092, 0.0094, 0.0046],
            [0.0169, 0.0177, 0.0006, -0.0069, 0.0103, 0.004],
            [-0.0011, 0.0006, 0.0037, 0.0034, 0.001, -0.0013],
            [-0.0092, -0.0069, 0.0034, 0.0114, -0.0023, -0.0036],
            [0.0094, 0.0103, 0.001, -0.0023, 0.0066, 0.0019],
            [0.0046, 0.004, -0.0013, -0.0036, 0.0019, 0.0019],
        ],
    ),
}


def direction(name: str, meters: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """-> (mean, covariance) of a cause, the meters' figures (voltage, current) appended.

    A current follows the elements; nothing else that is looked for moves a meter.
    """
    mean, spread = (np.array(part, float) for part in MOVES[name])
    mean = np.append(mean, np.zeros(meters))
    if name == "power":
        mean[-1] = 1.0
    return mean, np.pad(spread, (0, meters))


def mains() -> np.ndarray:
    """-> movement of all figures, meters included, per unit of the voltage's logarithm (power goes with its square)."""
    return np.append(2.0 * np.array(MOVES["power"][0]), [1.0, 1.0])
