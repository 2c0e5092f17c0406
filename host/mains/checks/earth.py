"""Findings on residual current, protective earth and the earth-fault loop."""

from host.mains import breaker, poles
from host.mains.finding import Finding
from host.mains.value import MEMORY, ONCE, Value, given

RESIDUAL_IEC = Value(30, "mA", ONCE, "IEC 60364-4-41 411.3.3, sockets for ordinary persons")
RESIDUAL_NEC = Value(6, "mA", MEMORY, "NEC 210.8, class A ground-fault protection")
EARTH_LIMIT = Value(0.1, "ohm", MEMORY, "IEC 60335-1 27.5, earthing continuity of an appliance")
TT_STEADY = Value(200, "ohm", MEMORY, "BS 7671 Table 41.5 note: an earth rod above this may not stay stable")


def residual_limit(rules: str) -> Value:
    """Largest residual current of the protection of persons, mA."""
    return RESIDUAL_NEC if rules == "nec" else RESIDUAL_IEC


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on what acts when something touches the oven's metal."""
    return [
        finding for part in (_residual, _earth, _loop, _earthing, _breaker_poles) for finding in part(sheet, figures)
    ]


def _residual(sheet, figures):
    supply = sheet["supply"]
    limit = residual_limit(supply["rules"])
    residual = given(supply["residual_ma"], "mA", "supply.residual_ma")
    mend = f"Residual-current protection of at most {limit.number:g} mA on this circuit."
    if supply["residual_ma"] == 0:
        yield Finding("residual-none", "stop", "No residual-current protection (RCD/GFCI).",
                      limit.source, mend, residual, limit, limit)  # fmt: skip
    elif residual.over(limit):
        grade = "stop" if residual.over(RESIDUAL_IEC) else "change"
        yield Finding("residual-coarse", grade, "The residual-current protection does not act at a person's level.",
                      limit.source, mend, residual, limit, limit)  # fmt: skip


def _earth(sheet, figures):
    supply = sheet["supply"]
    if supply["earth"] == "none":
        yield Finding("earth-none", "stop", "The oven's metal is not earthed.",
                      "class I appliance, IEC 60335-1 clause 27",
                      "Protective earth to oven, box and heatsink, tested.", remedy=EARTH_LIMIT)  # fmt: skip
        return
    if supply["earth"] == "present":
        yield Finding("earth-untested", "stop", "Earth continuity has not been tested.", EARTH_LIMIT.source,
                      f"Measure plug to oven, box and heatsink: at most "
                      f"{EARTH_LIMIT}.", remedy=EARTH_LIMIT)  # fmt: skip
    if supply["earth_ohm"] is None:
        return  # unknown: told as such
    measured = given(supply["earth_ohm"], "ohm", "supply.earth_ohm")
    if measured.over(EARTH_LIMIT):
        yield Finding("earth-high", "stop", "Earth continuity is poor.", EARTH_LIMIT.source,
                      "Find the bad joint and measure again.", measured, EARTH_LIMIT, EARTH_LIMIT)  # fmt: skip


def _loop(sheet, figures):
    supply = sheet["supply"]
    if supply["loop_ohm"] is None or "loop_limit" not in figures:
        return
    figure, limit = given(supply["loop_ohm"], "ohm", "supply.loop_ohm"), figures["loop_limit"]
    if supply["system"] != "tn":
        if figure.over(limit):
            yield Finding("loop-impedance", "stop", "The earth is too poor for this residual-current protection.",
                          limit.source, "A better earth, or a finer residual-current protection.", figure, limit,
                          limit)  # fmt: skip
        elif figure.over(TT_STEADY):
            yield Finding("earth-rod-high", "change", "The earth rod may not stay good through a dry summer.",
                          TT_STEADY.source, f"A better earth: at most {TT_STEADY}.", figure, TT_STEADY,
                          TT_STEADY)  # fmt: skip
        return
    if figure.over(limit):
        yield Finding("loop-impedance", "stop", "An earth fault would not trip the breaker at once.", limit.source,
                      _loop_mend(sheet, limit), figure, limit, limit)  # fmt: skip


def _loop_mend(sheet, limit):
    """A finer curve where one is enough by the same rule, else a better loop."""
    supply = sheet["supply"]
    if supply["curve"] in breaker.BANDS:
        for curve in "BCD":
            cold = breaker.cold_loop_limit_ohm(poles.to_earth_v(sheet), supply["breaker_a"], curve)
            if curve < supply["curve"] and cold.number >= supply["loop_ohm"]:
                return f"Curve {curve}, whose limit is {cold}."
    return f"A larger section or a shorter run, until it measures {limit} at most, cold."


def _earthing(sheet, figures):
    """NEC knows no earth rod as the only way back of a fault."""
    if sheet["supply"]["rules"] == "nec" and sheet["supply"]["system"] == "tt":
        yield Finding("rod-alone", "stop", "Under NEC an earth rod is no way back for a fault current.",
                      "NEC 250.4(A)(5) (from memory)", "An equipment grounding conductor back to the panel, tested: "
                      'system = "tn".')  # fmt: skip


def _breaker_poles(sheet, figures):
    back, count = poles.returning(sheet), sheet["supply"]["breaker_poles"]
    if back.is_live and count == 1:
        two = Value(2, "poles", source=back.rule)
        yield Finding("breaker-poles", "stop", f"The breaker opens one conductor and leaves {back.words}.", back.rule,
                      "A two-pole breaker with a common trip.", given(count, "poles", "supply.breaker_poles"), two,
                      two)  # fmt: skip
    if sheet["supply"]["system"] == "it":
        yield Finding("it-supply", "note", "In an IT supply the first earth fault trips nothing by itself.",
                      "IEC 60364-4-41 411.6 (from memory)", "The electrician says how the first fault is told here "
                      "and whether the second is cut in time.")  # fmt: skip
