"""Circuit breakers and hours of load: IEC 60898-1 bands, IEC 60364-4-43, NEC 210.20(A)."""

from host.mains.value import MEMORY, TWICE, Value

RATINGS_IEC_A = (6, 10, 13, 16, 20, 25, 32, 40, 50, 63)  # A; IEC 60898-1
RATINGS_NEC_A = (15, 20, 25, 30, 35, 40, 45, 50, 60)  # A; NEC 240.6(A), from memory
BANDS = {"B": (3, 5), "C": (5, 10), "D": (10, 20)}  # x In; IEC 60898-1; above the first, up to the second
NO_TRIP = Value(1.13, "x In", TWICE, "IEC 60898-1, conventional non-tripping current")
TRIP = Value(1.45, "x In", TWICE, "IEC 60898-1, conventional tripping current, 1 h up to 63 A")
CONTINUOUS = Value(1.25, "x load", TWICE, "NEC 210.19(A), 210.20(A): load of 3 h or more")
SUPPLY_HIGH = Value(1.10, "x nominal", MEMORY, "IEC 60038, supply tolerance +10 %")
AT_ONCE = Value(0.1, "s", MEMORY, "IEC 60898-1: instantaneous tripping within 0.1 s")
AT_LEISURE = Value(5.0, "s", MEMORY, "IEC 60364-4-43 434.5: adiabatic up to 5 s; the breaker may take as long")
# What an energy-limiting breaker lets through at most while it trips at once, up to LET_THROUGH_TO, by curve and rating
# (up to 16 or 32 A; the table has no row above, nor for curve D).
_ZA_1 = "EN 60898-1 Table ZA.1, energy-limiting class 3, 3000 A"
LET_THROUGH = {
    ("B", 16): Value(15_000, "A2s", MEMORY, _ZA_1), ("B", 32): Value(18_000, "A2s", MEMORY, _ZA_1),
    ("C", 16): Value(18_000, "A2s", MEMORY, _ZA_1), ("C", 32): Value(22_000, "A2s", MEMORY, _ZA_1),
}  # fmt: skip
LET_THROUGH_TO = Value(3000, "A", MEMORY, _ZA_1)
TWO_THIRDS = Value(2 / 3, "", MEMORY, "IEC 60364-6 6.4.3.7.3, Annex D: a cold measurement")
NEC_FAULT = Value(5, "x In", MEMORY, "common practice: a ground fault of five times the rating trips at once")
COLD_INRUSH = Value(1.05, "x hot current", MEMORY, "nickel-chrome element, cold against hot")


def ratings_a(rules: str) -> tuple:
    """Standard breaker ratings, A."""
    return RATINGS_NEC_A if rules == "nec" else RATINGS_IEC_A


def required_a(load_a: float, rules: str, hours: float) -> float:
    """Least breaker rating for a load that lasts `hours`, A: 125 % under NEC from 3 h on."""
    continuous = rules == "nec" and hours >= 3
    return load_a * (CONTINUOUS.number if continuous else 1.0)


def next_rating_a(needed_a: float, rules: str) -> int | None:
    """Smallest standard rating of at least `needed_a`, A; None where there is none."""
    return next((rating for rating in ratings_a(rules) if rating >= needed_a - 1e-9), None)


def within_the_hour(current_a: float, rating_a: float) -> str:
    """What IEC 60898-1 promises within an hour: "holds", "may trip" or "trips"."""
    if current_a <= NO_TRIP.number * rating_a:
        return "holds"
    return "trips" if current_a >= TRIP.number * rating_a else "may trip"


def instant(current_a: float, rating_a: float, curve: str) -> str:
    """Instantaneous part of the curve: "holds", "may trip" or "trips"."""
    low, high = BANDS[curve]
    if current_a <= low * rating_a:
        return "holds"
    return "trips" if current_a > high * rating_a else "may trip"


def let_through(fault_a: float, rating_a: float, curve: str) -> Value:
    """I2t of a short circuit of `fault_a` through a breaker, a Value in A2s: its class where it trips at once and the
    class has a row, else current squared by the time that the standard allows."""
    if instant(fault_a, rating_a, curve) != "trips":
        return Value(fault_a**2 * AT_LEISURE.number, "A2s", MEMORY, f"I^2 x {AT_LEISURE.plain()}: {AT_LEISURE.source}")
    whole = Value(fault_a**2 * AT_ONCE.number, "A2s", MEMORY, f"I^2 x {AT_ONCE.plain()}: {AT_ONCE.source}")
    row = LET_THROUGH.get((curve, 16 if rating_a <= 16 else 32 if rating_a <= 32 else 0))
    if row is None or fault_a > LET_THROUGH_TO.number or whole.under(row):
        return whole
    return row


def loop_limit_ohm(voltage_v: float, rating_a: float, curve: str) -> float:
    """Highest earth-fault loop impedance for instant tripping, ohm: U0 / (upper band x In).

    IEC 60364-4-41 411.4.4 with the upper end of the IEC 60898-1 band.
    """
    return voltage_v / (BANDS[curve][1] * rating_a)


def cold_loop_limit_ohm(to_earth_v: float, rating_a: float, curve: str) -> Value:
    """What a cold loop may measure, a Value in ohm: two thirds of the limit when hot, since copper warms in the fault.

    A breaker under NEC has no standard instantaneous band: five times its rating is taken.
    """
    if curve == "nec":
        number = to_earth_v / (NEC_FAULT.number * rating_a)
        return Value(number, "ohm", MEMORY, f"U0 / (5 x In); {NEC_FAULT.source}")
    number = TWO_THIRDS.number * loop_limit_ohm(to_earth_v, rating_a, curve)
    return Value(number, "ohm", MEMORY, f"2/3 x U0 / Ia, curve {curve}; {TWO_THIRDS.source}")


def current_a(power_w: float, voltage_v: float) -> float:
    """Current of a resistive load, A."""
    return power_w / voltage_v


def resistance_ohm(power_w: float, voltage_v: float) -> float:
    """Resistance of an element from its plate, ohm."""
    return voltage_v**2 / power_w
