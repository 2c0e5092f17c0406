"""Findings from the simulated oven: reach, time, energy, heat soak after a power cut."""

from host.mains.box import FREE_DISTANCE_MM
from host.mains.finding import Finding
from host.mains.ovenrun import SHARE_USED
from host.mains.value import ONCE, Value, derived, given

SOURCE_MARK = ONCE  # one model, no real oven beside it
MARGIN = Value(0.15, "", ONCE, "15 % of the power in hand: common practice, no source")
LONG_PREHEAT_MIN = Value(120, "min", ONCE, "common practice, no source")


def figures(sheet, study):
    """Dictionary of `Value` for what the oven run says."""

    def model(number, unit, source):
        return Value(number, unit, SOURCE_MARK, source)

    run = study.evening_source
    full = "simulated standard oven, full power from cold"
    found = {
        "highest": model(study.highest_c, "degC", full),
        "highest_low": model(study.highest_low_c, "degC", full + ", supply -10 %"),
    }
    if study.time_to_s is not None:
        found["time_to"] = model(study.time_to_s / 60, "min", full)
    if study.time_to_low_s is not None:
        found["time_to_low"] = model(study.time_to_low_s / 60, "min", full + ", supply -10 %")
    steady = "simulated standard oven, two hours at the wanted temperature, door shut"
    found["holding"] = model(study.holding_w, "W", steady)
    found["power_margin"] = model(1 - study.holding_w / study.power_w, "", steady)
    found["power_needed"] = model(study.holding_w / SHARE_USED, "W", f"{steady}; holding power / {SHARE_USED}")
    found["baking"] = model(study.baking_w, "W", run)
    kwh = study.energy_j / 3.6e6
    found["energy"] = model(kwh, "kWh", run)
    supply, evenings = sheet["supply"], sheet["oven"]["evenings_per_year"]
    cost = kwh * supply["price_per_kwh"]
    found["cost"] = model(cost, supply["currency"], "energy x price of the build sheet")
    found["cost_year"] = model(
        cost * evenings, supply["currency"], f"{evenings} evenings a year"
    )  # fmt: skip
    after = "simulated standard oven after such an evening, power cut, no fan, two hours"
    found["soak_electronics"] = model(study.electronics_peak_c, "degC", after)
    found["soak_casing"] = model(study.casing_peak_c, "degC", after)
    found["soak_box"] = _soak_box(sheet, study, after)
    return found


def _soak_box(sheet, study, after):
    """Relay box after the cut: like the oven's own electronics where it touches the oven.

    Between touching and the free distance the rise falls off in a straight line (a guess).
    """
    enclosure = sheet["box"]
    near = max(0.0, 1 - enclosure["oven_distance_mm"] / FREE_DISTANCE_MM.number)
    rise = max(0.0, study.electronics_peak_c - sheet["oven"]["room_c"]) * near
    number = enclosure["ambient_c"] + rise
    return derived(
        number, "degC", f"{after}; share {near:.2f} of that rise at this distance",
        FREE_DISTANCE_MM,
    )  # fmt: skip


def findings(sheet, figures):
    """Findings on reach, time, energy and soak."""
    return [finding for part in (_reach, _energy, _soak) for finding in part(sheet, figures)]


def _reach(sheet, figures):
    wanted = given(sheet["oven"]["wanted_c"], "degC", "oven.wanted_c")
    highest, low = figures["highest"], figures["highest_low"]
    for code, grade, figure, text in (
        ("not-reachable", "stop", highest, "This power does not reach the wanted temperature."),
        ("not-reachable-low", "change", low,
         "At -10 % supply the wanted temperature is not reached."),
    ):  # fmt: skip
        if figure.under(wanted):
            remedy = figures["power_needed"]
            yield Finding(code, grade, text, figure.source,
                          f"About {remedy.number:.0f} W, better insulation, or at most "
                          f"{figure.number - 20:.0f} degC.", figure, wanted, remedy)  # fmt: skip
            return
    if figures["power_margin"].under(MARGIN):
        yield Finding("little-power", "change", "Little power in hand once hot: slow recovery.",
                      MARGIN.source, "More power or better insulation.", figures["power_margin"],
                      MARGIN, figures["power_needed"])  # fmt: skip
    slow = figures["time_to"]
    grade = "change" if slow.over(LONG_PREHEAT_MIN) else "note"
    yield Finding("preheat", grade, "Time from cold to the wanted temperature.", slow.source,
                  "More power, better insulation, or patience.", slow,
                  LONG_PREHEAT_MIN)  # fmt: skip


def _energy(sheet, figures):
    yield Finding("energy", "note",
                  f"An evening costs about {figures['cost'].plain()}; a year of evenings "
                  f"{figures['cost_year'].plain()}.", figures["energy"].source,
                  "Nothing to mend.", figures["energy"])  # fmt: skip


def _soak(sheet, figures):
    enclosure = sheet["box"]
    limit = given(enclosure["electronics_max_c"], "degC", "box.electronics_max_c")
    if figures["soak_box"].over(limit):
        yield Finding("soak-box", "change",
                      "After a power cut with no fan the relay box gets too hot.",
                      figures["soak_box"].source,
                      f"Move it at least {FREE_DISTANCE_MM} from the oven, or screen it.",
                      figures["soak_box"], limit, FREE_DISTANCE_MM)  # fmt: skip
    for entry in sheet["survey"]:
        if entry["part"] != "electronics" or entry["decision"] != "kept":
            continue
        if entry["rated_c"] is None:
            continue
        rated = given(entry["rated_c"], "degC", f"survey {entry['name']}")
        if figures["soak_electronics"].over(rated):
            yield Finding("soak-electronics", "change",
                          f"{entry['name']}: after a power cut with no fan it gets hotter than "
                          "it bears.", figures["soak_electronics"].source,
                          "Move it out of the oven's casing, or open the door at once after a "
                          "cut.", figures["soak_electronics"], rated,
                          figures["soak_electronics"])  # fmt: skip
