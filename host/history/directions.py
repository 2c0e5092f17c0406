"""By how much each figure of an evening moves when one thing changes, and how far ovens differ in that.

Measured by tests/bench/history_directions.py on 24 simulated ovens without noise, half of them with layered walls, half
of another structure (three lumps and a delay); nothing here was checked against a real oven. Figures in the order
of `evening.FIGURES`: rise climb top hold cool stone, all as logarithms.
"""

from __future__ import annotations

import numpy as np

# movement of the logarithms for each K of a warmer room and start
COOLER_PER_K = (-0.0036, -0.0024, -0.0021, -0.0012, 0.0030, -0.0001)

# what changes: (mean movement per unit of its logarithm, covariance of that movement between ovens)
MOVES = {
    "power": (
        [-1.476, -1.691, -1.777, -0.841, -0.02, -0.065],
        [
            [0.0127, 0.0119, 0.0031, -0.0066, 0.0021, 0.0024],
            [0.0119, 0.0733, 0.0245, -0.0231, 0.0061, 0.0038],
            [0.0031, 0.0245, 0.0472, 0.0053, 0.0008, -0.0008],
            [-0.0066, -0.0231, 0.0053, 0.0351, -0.0035, -0.0071],
            [0.0021, 0.0061, 0.0008, -0.0035, 0.001, 0.0009],
            [0.0024, 0.0038, -0.0008, -0.0071, 0.0009, 0.0019],
        ],
    ),
    "gasket": (
        [0.635, 1.124, 1.428, 1.036, -1.404, 0.267],
        [
            [0.1005, 0.1926, 0.1642, 0.0205, 0.0008, 0.0607],
            [0.1926, 0.3833, 0.3313, 0.03, -0.0022, 0.1159],
            [0.1642, 0.3313, 0.3153, 0.0293, 0.007, 0.0948],
            [0.0205, 0.03, 0.0293, 0.0514, 0.0126, 0.0104],
            [0.0008, -0.0022, 0.007, 0.0126, 0.015, -0.004],
            [0.0607, 0.1159, 0.0948, 0.0104, -0.004, 0.0407],
        ],
    ),
    "wall": (
        [0.301, 0.575, 0.888, 0.814, -1.178, 0.065],
        [
            [0.0087, 0.0117, 0.0223, 0.0061, -0.0141, 0.0021],
            [0.0117, 0.0232, 0.0406, 0.0035, -0.014, 0.003],
            [0.0223, 0.0406, 0.0846, 0.0215, -0.0293, 0.004],
            [0.0061, 0.0035, 0.0215, 0.0467, -0.0288, -0.0023],
            [-0.0141, -0.014, -0.0293, -0.0288, 0.0634, -0.0057],
            [0.0021, 0.003, 0.004, -0.0023, -0.0057, 0.0015],
        ],
    ),
    "probe": (
        [-1.548, -1.911, -2.11, -1.039, 0.199, -1.128],
        [
            [0.0123, 0.03, 0.0094, -0.0127, 0.0086, 0.0024],
            [0.03, 0.178, 0.102, -0.068, 0.0295, 0.0169],
            [0.0094, 0.102, 0.1462, -0.0234, 0.0171, 0.0134],
            [-0.0127, -0.068, -0.0234, 0.1494, -0.0354, -0.0321],
            [0.0086, 0.0295, 0.0171, -0.0354, 0.0179, 0.0084],
            [0.0024, 0.0169, 0.0134, -0.0321, 0.0084, 0.0093],
        ],
    ),
    "mass": (
        [0.201, 0.395, 0.662, 0.349, 0.432, -0.089],
        [
            [0.0327, 0.0351, -0.0016, -0.0201, 0.019, 0.0048],
            [0.0351, 0.0419, 0.0007, -0.0256, 0.0208, 0.0054],
            [-0.0016, 0.0007, 0.0072, -0.0075, -0.0023, 0.0016],
            [-0.0201, -0.0256, -0.0075, 0.0434, -0.0034, -0.0086],
            [0.019, 0.0208, -0.0023, -0.0034, 0.017, 0.0017],
            [0.0048, 0.0054, 0.0016, -0.0086, 0.0017, 0.0022],
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
