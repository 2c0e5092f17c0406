"""Heat that a bread has taken, as the plant knows it: the truth for whoever estimates it on the board.

Base: through the contact with the stone. Top: radiation and air from above. Both in kJ for each m2 of bread, since what
browns a face is the heat that went through it; the bread's size changes how warm it gets, not what is counted.
"""

from __future__ import annotations

from dataclasses import dataclass

from .parameters import STEFAN_W_M2K4

KJ = 1e-3
# In the ovens made of lumps a bread takes nothing from above (their structure): what a bread there would take is told
# from what surrounds it, with these.
BREAD_M2 = 0.085  # 33 cm across, as in skin.py
FACE_EMISSIVITY = 0.7  # effective, towards a fairly bright steel liner: as the stone's
FACE_AIR_W_M2K = 8.0  # still air over a plate; common practice, no source


@dataclass
class BreadHeat:
    """One bread: when it was laid and taken out, s of the plant (`out_s` None while it lies), and kJ/m2 so far."""

    laid_s: float
    out_s: float | None = None
    base_kj_m2: float = 0.0
    top_kj_m2: float = 0.0

    def add(self, dt_s: float, base_w_m2: float, top_w_m2: float) -> None:
        """Pass dt_s with these W/m2 into the two faces."""
        self.base_kj_m2 += base_w_m2 * dt_s * KJ
        self.top_kj_m2 += top_w_m2 * dt_s * KJ


def told(breads: list[BreadHeat]) -> list[dict[str, float]]:
    """[{laid_s, bake_s, base_kj_m2, top_kj_m2}, ...] of the breads that are out."""
    return [
        {
            "laid_s": round(each.laid_s, 2),
            "bake_s": round(each.out_s - each.laid_s, 1),
            "base_kj_m2": round(each.base_kj_m2, 1),
            "top_kj_m2": round(each.top_kj_m2, 1),
        }
        for each in breads
        if each.out_s is not None
    ]


def words(rows: list[dict[str, float]]) -> str:
    """One line about the breads after the first; "" for fewer than three."""
    if len(rows) < 3:
        return ""
    parts = []
    for name in ("base", "top"):
        heats = [row[f"{name}_kj_m2"] for row in rows[1:]]
        parts.append(f"{name} {min(heats):.0f} to {max(heats):.0f} kJ/m2 (x {max(heats) / min(heats):.3f})")
    return f"Heat into breads 2 to {len(rows)}, as the simulated oven knows it: " + ", ".join(parts)


def from_above_w_m2(walls_k: float, air_k: float, face_k: float) -> float:
    """W/m2 into a face of `face_k` under walls and air: radiation between grey surfaces, and convection."""
    glow = FACE_EMISSIVITY * STEFAN_W_M2K4 * (walls_k**4 - face_k**4)
    return glow + FACE_AIR_W_M2K * (air_k - face_k)
