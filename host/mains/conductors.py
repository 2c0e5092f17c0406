"""Copper conductors: sections, resistance and voltage drop.

Resistance: IEC 60228 maximum at 20 degC, plain copper (two makers' reprints agree).
Voltage drop: IEC 60364-5-52:2009 Annex G (two reprints agree; lambda from memory).
"""

from host.mains.value import MEMORY, TWICE, Value, derived

SECTIONS_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0)  # mm2; IEC 60228
AWG_GAUGES = (18, 16, 14, 12, 10, 8, 6)  # ASTM B258

_IEC_60228 = {  # mm2: (class 1 and 2, class 5), ohm/km at 20 degC
    0.5: (36.0, 39.0), 0.75: (24.5, 26.0), 1.0: (18.1, 19.5), 1.5: (12.1, 13.3),
    2.5: (7.41, 7.98), 4.0: (4.61, 4.95), 6.0: (3.08, 3.30), 10.0: (1.83, 1.91),
    16.0: (1.15, 1.21),
}  # fmt: skip

RHO_OPERATING = Value(0.0225, "ohm mm2/m", TWICE, "IEC 60364-5-52:2009 Annex G, rho1 of copper")
K_PVC = Value(115, "", MEMORY, "IEC 60364-4-43 Table 43A: k^2 S^2, copper in PVC, k = 115")
REACTANCE = Value(0.08, "mohm/m", MEMORY, "IEC 60364-5-52:2009 Annex G, lambda")
DROP_LIMIT = {
    "public": Value(5.0, "%", TWICE, "IEC 60364-5-52:2009 Table G.52.1, public supply, not light"),
    "private": Value(8.0, "%", TWICE, "IEC 60364-5-52:2009 Table G.52.1, private supply"),
}
DROP_LIMIT_NEC = Value(3.0, "%", MEMORY, "NEC 210.19 informational note, branch circuit")


def section_of_awg_mm2(gauge: int) -> float:
    """Section of an AWG gauge, mm2: d = 0.127 mm x 92^((36 - gauge)/39) (ASTM B258)."""
    diameter_mm = 0.127 * 92 ** ((36 - gauge) / 39)
    return 3.141592653589793 / 4 * diameter_mm**2


def bears_a2s(section_mm2: float) -> float:
    """I2t that a copper conductor in PVC bears, A2s: k^2 S^2 (IEC 60364-4-43 434.5.2)."""
    return (K_PVC.number * section_mm2) ** 2


def resistance_20c(section_mm2: float, flexible: bool = False) -> Value:
    """Highest resistance at 20 degC of an IEC 60228 conductor (class 5 if flexible), ohm/km."""
    if section_mm2 not in _IEC_60228:
        raise ValueError(f"section_mm2: one of {SECTIONS_MM2}")
    number = _IEC_60228[section_mm2][1 if flexible else 0]
    kind = "class 5" if flexible else "class 1 and 2"
    return Value(number, "ohm/km", TWICE, f"IEC 60228, plain copper, {kind}")


def resistance_at_ohm_per_km(ohm_per_km_20c: float, conductor_c: float) -> float:
    """Resistance at `conductor_c`, ohm/km; IEC 60228 Annex: R20 x (1 + 0.004 (t - 20))."""
    return ohm_per_km_20c * (1 + 0.004 * (conductor_c - 20))


def drop_v(current_a: float, length_m: float, section_mm2: float, cos_phi: float = 1.0) -> float:
    """Voltage drop of a single-phase run, V, by IEC 60364-5-52 Annex G.

    u = b (rho1 L cos(phi) / S + lambda L sin(phi)) I, b = 2; `length_m` is one way.
    """
    sin_phi = (1 - cos_phi**2) ** 0.5
    resistive = RHO_OPERATING.number * length_m * cos_phi / section_mm2
    return 2 * (resistive + REACTANCE.number / 1000 * length_m * sin_phi) * current_a


def drop_share(current_a: float, length_m: float, section_mm2: float, voltage_v: float) -> Value:
    """Voltage drop of a resistive load as a `Value` in % of the nominal voltage."""
    share = 100 * drop_v(current_a, length_m, section_mm2) / voltage_v
    return derived(share, "%", "IEC 60364-5-52:2009 Annex G", RHO_OPERATING)
