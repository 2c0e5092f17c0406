"""What a copper cable may carry: IEC 60364-5-52 and NEC tables, ambient and grouping factors.

Two loaded conductors, single phase. Factors are taken at the next higher tabulated temperature,
never interpolated upwards. Insulation better than the table's is not credited.
"""

from collections.abc import Callable

from host.mains.value import COMPUTED, MEMORY, ONCE, TWICE, Value, derived

# IEC 60364-5-52:2009 Table B.52.2, PVC 70 degC, two loaded conductors, air 30 degC. Two reprints
# agree on all cells (whether they are independent of each other could not be proved).
_B_52_2 = {
    "A1": {1.5: 14.5, 2.5: 19.5, 4.0: 26, 6.0: 34, 10.0: 46},
    "A2": {1.5: 14, 2.5: 18.5, 4.0: 25, 6.0: 32, 10.0: 43},
    "B1": {1.5: 17.5, 2.5: 24, 4.0: 32, 6.0: 41, 10.0: 57},
    "B2": {1.5: 16.5, 2.5: 23, 4.0: 30, 6.0: 38, 10.0: 52},
    "C": {1.5: 19.5, 2.5: 27, 4.0: 36, 6.0: 46, 10.0: 63},
}
_CORD = {  # appliance cords, harmonised PVC and rubber
    0.75: Value(6, "A", TWICE, "HD 21 note, flexible cord 0.75 mm2"),
    1.0: Value(10, "A", TWICE, "HD 21 note, flexible cord 1.0 mm2"),
    1.5: Value(15, "A", TWICE, "harmonised flexible cord 1.5 mm2"),
    2.5: Value(20, "A", ONCE, "harmonised flexible cord 2.5 mm2"),
    4.0: Value(32, "A", MEMORY, "BS 7671 Table 4F3A, flexible cord 4 mm2"),
    6.0: Value(40, "A", MEMORY, "harmonised flexible cord 6 mm2"),
    10.0: Value(63, "A", MEMORY, "harmonised flexible cord 10 mm2"),
}
_NEC_310_16: dict[float, tuple] = {  # AWG: 60, 75, 90 degC
    14: (15, 20, 25), 12: (20, 25, 30), 10: (30, 35, 40), 8: (40, 50, 55), 6: (55, 65, 75),
}  # fmt: skip
_NEC_CORD: dict[float, float] = {
    18: 10,
    16: 13,
    14: 18,
    12: 25,
    10: 30,
    8: 40,
    6: 55,
}  # NEC 400.5(A), two current-carrying conductors
_NEC_CORD_SEEN = (18, 16, 14, 12)  # the others from memory
_NEC_240_4_D: dict[float, float] = {14: 15, 12: 20, 10: 30}  # A; NEC 240.4(D), two reprints agree
# degC, factor: IEC 60364-5-52 Table B.52.14 (two reprints; 60 degC computed)
_PVC_FACTOR = ((30, 1.0), (35, 0.94), (40, 0.87), (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50))
# circuits, factor: IEC 60364-5-52 Table B.52.17, from memory
_IEC_GROUP = ((1, 1.0), (2, 0.80), (3, 0.70), (4, 0.65), (5, 0.60), (6, 0.57))
_NEC_GROUP = ((3, 1.0), (6, 0.80), (9, 0.70), (20, 0.50))  # current-carrying conductors

IEC_METHODS = ("A1", "A2", "B1", "B2", "C", "cord")
NEC_METHODS = ("raceway60", "raceway75", "cord")


def iec_base(method: str, section_mm2: float) -> Value | None:
    """Table current of `section_mm2` laid by `method` at 30 degC as a Value in A, or None."""
    if method == "cord":
        return _CORD.get(section_mm2)
    amps = _B_52_2[method].get(section_mm2)
    source = f"IEC 60364-5-52:2009 Table B.52.2, method {method}"
    return None if amps is None else Value(amps, "A", TWICE, source)


def nec_base(method: str, gauge: float) -> Value | None:
    """NEC Table 310.16 (60 or 75 degC column) or 400.5(A) current as a Value in A, or None."""
    if method == "cord":
        amps, source = _NEC_CORD.get(gauge), "NEC 400.5(A)"
        mark = ONCE if gauge in _NEC_CORD_SEEN else MEMORY
    else:
        row, column = _NEC_310_16.get(gauge), 0 if method == "raceway60" else 1
        amps, mark = (None if row is None else row[column]), TWICE
        source = f"NEC Table 310.16, {60 if column == 0 else 75} degC column"
    return None if amps is None else Value(amps, "A", mark, source)


def nec_breaker_max(gauge: float) -> Value | None:
    """Largest breaker on a small conductor, NEC 240.4(D), as a Value in A; None above 10 AWG."""
    amps = _NEC_240_4_D.get(gauge)
    return None if amps is None else Value(amps, "A", TWICE, "NEC 240.4(D)")


def pvc_factor(ambient_c: float) -> Value:
    """Ambient factor of PVC 70 degC cable (Table B.52.14); 0 above 60 degC."""
    source = "IEC 60364-5-52:2009 Table B.52.14, PVC"
    for limit_c, factor in _PVC_FACTOR:
        if ambient_c <= limit_c:
            mark = MEMORY if limit_c == 60 else TWICE
            return Value(factor, "", mark, source)
    return Value(0.0, "", COMPUTED, source + ", above the table")


def nec_factor(ambient_c: float, conductor_c: float) -> Value:
    """Ambient factor by NEC 310.15(B): sqrt((Tc - Ta)/(Tc - 30)), Ta at the top of its 5 K band."""
    source = "NEC 310.15(B) ambient correction"
    if ambient_c <= 30:
        return Value(1.0, "", COMPUTED, source)
    top_c = 30 + 5 * -(-(ambient_c - 30) // 5)
    if top_c >= conductor_c:
        return Value(0.0, "", COMPUTED, source + ", above the table")
    return Value(((conductor_c - top_c) / (conductor_c - 30)) ** 0.5, "", COMPUTED, source)


def group_factor(circuits: int, rules: str) -> Value:
    """Factor for `circuits` loaded circuits bunched together (IEC B.52.17 or NEC 310.15(C)(1))."""
    table: tuple
    if rules == "nec":
        table, count, source = _NEC_GROUP, 2 * circuits, "NEC Table 310.15(C)(1)"
    else:
        table, count, source = _IEC_GROUP, circuits, "IEC 60364-5-52:2009 Table B.52.17, bunched"
    if circuits == 1:
        return Value(1.0, "", TWICE, source)
    for limit, factor in table:
        if count <= limit:
            return Value(factor, "", MEMORY, source)
    return Value(table[-1][1], "", MEMORY, source + ", last entry: ask for a calculation")


def allowed(rules: str, method: str, size: float, ambient_c: float, circuits: int) -> Value | None:
    """Current that the run may carry, A, as a Value; None where the table has no such size.

    `size` is mm2 under "iec", AWG under "nec"; `ambient_c` the hottest air along the run.
    """
    base = nec_base(method, size) if rules == "nec" else iec_base(method, size)
    if base is None:
        return None
    hot = nec_factor(ambient_c, 75 if method == "raceway75" else 60) if rules == "nec" else pvc_factor(ambient_c)
    bunch = group_factor(circuits, rules)
    number = base.number * hot.number * bunch.number
    source = f"{base.source}; ambient x {hot.number:.2f}; grouping x {bunch.number:.2f}"
    return derived(number, "A", source, base, hot, bunch)


def sizes(rules: str, method: str) -> tuple:
    """Sizes with a table entry, smallest conductor first (mm2, or AWG under "nec")."""
    if rules == "nec":
        return tuple(_NEC_CORD if method == "cord" else _NEC_310_16)
    return tuple(_CORD if method == "cord" else _B_52_2[method])


def size_for(
    rules: str,
    method: str,
    needed_a: float,
    ambient_c: float,
    circuits: int,
    breaker_a: float = 0,
    suits: Callable = lambda size: True,
) -> float | None:
    """Smallest size that carries `needed_a` (and takes `breaker_a` under 240.4(D), and `suits`), or None."""
    for size in sizes(rules, method):
        if not suits(size):
            continue
        cap = nec_breaker_max(size) if rules == "nec" else None
        if cap is not None and breaker_a > cap.number:
            continue
        carries = allowed(rules, method, size, ambient_c, circuits)
        if carries is not None and carries.number >= needed_a:
            return size
    return None
