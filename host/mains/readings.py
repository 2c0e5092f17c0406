"""What a licensed person measured, beside what it has to be: one table for the page and for the terminal."""

from host.mains.checks.earth import EARTH_LIMIT, residual_limit
from host.mains.plan import Plan
from host.mains.value import MEMORY, Value

INSULATION = Value(1, "Mohm", MEMORY, "IEC 60364-6: 500 V d.c., at least")
RCD_TIME = Value(300, "ms", MEMORY, "IEC 61008-1: at its rated current, at most")


def rows(plan: Plan) -> list[tuple]:
    """[(reading, measured as text or None where it is not known, limit, source of the limit)]."""
    supply = plan.sheet["supply"]
    loop, trips = plan.figures.get("loop_limit"), residual_limit(supply["rules"])
    kind = "Earth-fault loop at the connection, cold" if supply["system"] == "tn" else "Earth electrode and loop, cold"
    return [
        ("Earth continuity, plug to oven, box and heatsink", _shown(supply["earth_ohm"], "ohm"),
         f"at most {EARTH_LIMIT}", EARTH_LIMIT.source),
        (kind, _shown(supply["loop_ohm"], "ohm"), "-" if loop is None else f"at most {loop}",
         "no residual-current protection" if loop is None else loop.source),
        ("Insulation, elements to earth, 500 V d.c.", _shown(supply["insulation_mohm"], "Mohm"),
         f"at least {INSULATION}", INSULATION.source),
        ("RCD or GFCI trips at", _shown(supply["rcd_ma"], "mA"), f"at most {trips}", trips.source),
        ("... and takes", _shown(supply["rcd_ms"], "ms"), f"at most {RCD_TIME}", RCD_TIME.source),
    ]  # fmt: skip


def _shown(number, unit):
    return None if number is None else f"{number:g} {unit}"
