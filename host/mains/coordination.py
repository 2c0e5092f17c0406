"""What stands before each conductor and device: breaker, plug's fuse, relay's fuse, and what each of them protects.

Overload: nothing behind a protective device may be rated for less than it lets through for hours, IEC 60364-4-43 433.1;
a fixed resistance cannot overload what carries it (433.3.1 b, from memory), which is why a maker's largest fuse for a
contactor or switch is accepted in place of its rating.
"""

from host.mains import ampacity
from host.mains.plugs import PLUGS
from host.mains.value import MEMORY, ONCE, Value, given

RULE = "IEC 60364-4-43 433.1, NEC 240.4: the device before it lets through no more than it is rated for"
RING_LEG = Value(20, "A", MEMORY, "BS 7671 433.1.204, ring final circuit: each leg")
RING_BREAKER = Value(32, "A", MEMORY, "BS 7671 433.1.204, ring final circuit: breaker of 30 or 32 A")
# Largest device before an appliance cord, read from the least sections of IEC 60335-1 Table 11 (one catalogue).
_CORD_BEHIND = {0.5: 3, 0.75: 6, 1.0: 10, 1.5: 16, 2.5: 25, 4.0: 32, 6.0: 40, 10.0: 63}
BS1363_FUSE = Value(13, "A", ONCE, "BS 1363, fuse in the plug")
CONTACTOR_SIZES_A = (16, 20, 25, 32, 40, 63)  # A, AC-1; usual sizes, from memory
SWITCH_SIZES_A = (16, 20, 25, 32, 40, 63, 80)  # A; usual sizes, from memory


def breaker(sheet: dict) -> Value:
    """The circuit's breaker, A."""
    return given(sheet["supply"]["breaker_a"], "A", "supply.breaker_a")


def device_before(sheet: dict) -> Value:
    """What stands before cord and box, A: the breaker, or the fuse in the plug where that is smaller."""
    rating = breaker(sheet)
    fused = PLUGS[sheet["supply"]["connection"]].fused
    return BS1363_FUSE if fused and BS1363_FUSE.under(rating) else rating


def relay_before(sheet: dict, zone: str) -> Value:
    """What stands before a relay, A: its own fuse where there is one that is smaller."""
    before, fuse = device_before(sheet), sheet["relays"][zone]["fuse_a"]
    own = None if fuse is None else given(fuse, "A", f"relays.{zone}.fuse_a")
    return own if own is not None and own.under(before) else before


def cord_behind_max(rules: str, size: float) -> Value | None:
    """Largest device before a cord of `size` (mm2, AWG under "nec"), A; None where no table has it."""
    if rules == "nec":
        return ampacity.nec_base("cord", size)
    amps = _CORD_BEHIND.get(size)
    return None if amps is None else Value(amps, "A", ONCE, "IEC 60335-1 Table 11, least section of a supply cord")


def cord_breaker_max(sheet: dict) -> Value | None:
    """The same for the sheet's cord."""
    rules = sheet["supply"]["rules"]
    return cord_behind_max(rules, sheet["cord"]["awg" if rules == "nec" else "section_mm2"])


def cord_size(sheet: dict, load_a: float) -> float | None:
    """Smallest cord that carries `load_a` for hours and suits the device before it; None where there is none."""
    rules, before = sheet["supply"]["rules"], device_before(sheet)

    def suits(size):
        most = cord_behind_max(rules, size)
        return most is not None and not before.over(most)

    return ampacity.size_for(rules, "cord", load_a, sheet["cord"]["ambient_c"], 1, suits=suits)


def size_at_least(sizes: tuple, *needed_a: float) -> int | None:
    """First of `sizes`, A, that is at least every one of `needed_a`; None where there is none."""
    return next((size for size in sizes if all(size >= amps - 1e-9 for amps in needed_a)), None)
