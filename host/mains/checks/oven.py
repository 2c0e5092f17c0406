"""Findings from the simulated oven: reach, time, energy, heat soak after a power cut."""

from host.mains import ovenrun
from host.mains.box import FREE_DISTANCE_MM
from host.mains.finding import Finding
from host.mains.ovenrun import SAMPLED, SHARE_USED
from host.mains.value import ONCE, Value, derived, given

SOURCE_MARK = ONCE  # one model, no real oven beside it
MARGIN = Value(0.15, "", ONCE, "15 % of the power in hand: common practice, no source")
LONG_PREHEAT_MIN = Value(120, "min", ONCE, "common practice, no source")


def build(sheet: dict, known: dict) -> ovenrun.Build:
    """What the sheet says of the oven, for the simulated one."""
    oven = sheet["oven"]
    watts = [round(known[f"power_{zone}"].number, 1) for zone in ("top", "deck")]
    held_w = oven["held_w"]
    if oven["minutes_on_per_hour"] is not None:
        held_w = sum(watts) * oven["minutes_on_per_hour"] / 60
    return ovenrun.Build(watts[0], watts[1], oven["room_c"], oven["volume_l"], held_w, oven["held_at_c"])


def figures(sheet: dict, study: ovenrun.Study) -> dict:
    """Dictionary of `Value` for what the oven run says."""
    found = _reach_figures(study)
    run = study.evening_source
    found["baking"] = _model(study.baking_w, "W", run)
    kwh = study.energy_j / 3.6e6
    found["energy"] = _model(kwh, "kWh", run)
    supply, evenings = sheet["supply"], sheet["oven"]["evenings_per_year"]
    cost = kwh * supply["price_per_kwh"]
    found["cost"] = _model(cost, supply["currency"], "energy x price of the build sheet")
    found["cost_year"] = _model(cost * evenings, supply["currency"], f"{evenings} evenings a year")
    after = "simulated oven after such an evening, power cut, no fan, two hours"
    found["soak_electronics"] = _model(study.electronics_peak_c, "degC", after)
    found["soak_casing"] = _model(study.casing_peak_c, "degC", after)
    found["soak_box"] = _soak_box(sheet, study, after)
    return found


def _model(number, unit, source):
    return Value(number, unit, SOURCE_MARK, source)


def _reach_figures(study):
    """Highest air, times, holding power: of this oven's measured losses, or a range over random ovens."""
    which = f"simulated oven with {study.losses:.2f} of the standard one's losses" if study.is_measured else (
        "simulated standard oven; nothing of this one was measured")  # fmt: skip
    full, steady = f"{which}, full power from cold", f"{which}, two hours at the wanted temperature, door shut"
    found = {
        "highest": _model(study.highest_c, "degC", full),
        "highest_low": _model(study.highest_low_c, "degC", full + ", supply -10 %"),
    }
    if study.time_to_s is not None:
        found["time_to"] = _model(study.time_to_s / 60, "min", full)
    if study.time_to_low_s is not None:
        found["time_to_low"] = _model(study.time_to_low_s / 60, "min", full + ", supply -10 %")
    if study.is_measured:
        found["losses"] = _model(study.losses, "", "held_w at held_at_c against the simulated standard oven")
        found["holding"] = _model(study.holding_w, "W", steady)
        found["power_margin"] = _model(1 - study.holding_w / study.power_w, "", steady)
        needed_w = max(study.holding_w / SHARE_USED, study.reaching_w)
    else:
        many = f"{SAMPLED} random simulated ovens, two hours at the wanted temperature, door shut"
        found["holding_low"] = _model(study.holding_low_w, "W", many)
        found["holding_high"] = _model(study.holding_high_w, "W", many)
        found["reach_share"] = _model(study.reach_share, "", many)
        needed_w = study.holding_high_w / SHARE_USED
    found["power_needed"] = _model(needed_w, "W", f"holding power / {SHARE_USED}, and reached at -10 % supply")
    return found


def _soak_box(sheet, study, after):
    """Air around the relay box after the cut (its own heat is off): as at the oven's electronics where they touch.

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


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on reach, time, energy and soak."""
    return [finding for part in (_reach, _energy, _soak) for finding in part(sheet, figures)]


def _reach(sheet, figures):
    if "holding" in figures:
        yield from _measured_reach(sheet, figures)
    else:
        yield from _unmeasured_reach(sheet, figures)
    if sheet["oven"]["held_at_c"] is not None and "holding" not in figures:
        yield from _meter(sheet, figures)
    if "time_to" in figures:
        slow = figures["time_to"]
        grade = "change" if slow.over(LONG_PREHEAT_MIN) else "note"
        yield Finding("preheat", grade, "Time from cold to the wanted temperature.", slow.source,
                      "More power, better insulation, or patience.", slow, LONG_PREHEAT_MIN)  # fmt: skip


def _meter(sheet, figures):
    """A reading outside what is believed; one that the elements can give and that says "not enough" is a stop."""
    oven, power = sheet["oven"], figures["power"]
    held_w = build(sheet, figures).held_w
    scaled = held_w * (oven["wanted_c"] - oven["room_c"]) / (oven["held_at_c"] - oven["room_c"])
    needs = Value(scaled, "W", SOURCE_MARK, "the reading, in proportion to the rise over the room")
    short = held_w <= power.number and needs.over(power)
    yield Finding("held-not-possible", "stop" if short else "change",
                  "What the meter told fits no oven: less than a fifth of the usual losses, or more than six times."
                  + (" If it is right, this power does not reach the wanted temperature." if short else ""),
                  "simulated ovens", "Measure again: an hour at that temperature first, then the watts of an hour, "
                  "lamp and fans taken off.", *((needs, power) if short else ()))  # fmt: skip


def _measured_reach(sheet, figures):
    wanted = given(sheet["oven"]["wanted_c"], "degC", "oven.wanted_c")
    for code, grade, figure, text in (
        ("not-reachable", "stop", figures["highest"], "This power does not reach the wanted temperature."),
        ("not-reachable-low", "change", figures["highest_low"],
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


def _unmeasured_reach(sheet, figures):
    """Nothing was measured: the range over random ovens, and what would narrow it."""
    power, low, high = figures["power"], figures["holding_low"], figures["holding_high"]
    measure = (
        "Measure this oven: at 200 or 250 degC for an hour with its own thermostat, then the watts that it holds "
        "there (energy "
        "meter: held_w) or the minutes in an hour that both elements are on (clamp: minutes_on_per_hour), with "
        "held_at_c."
    )
    words = f"{figures['reach_share'].number:.0%} of them hold the wanted temperature with this power"
    if power.under(low):
        yield Finding("not-reachable", "stop", f"No random oven holds the wanted temperature with this power: {words}.",
                      low.source, f"About {figures['power_needed'].number:.0f} W, or a lower temperature. "
                                  f"{measure}", power,
                      low, figures["power_needed"])  # fmt: skip
    elif power.number * SHARE_USED < high.number:
        yield Finding("reach-not-known", "change",
                      f"Whether this power is enough is not known: random ovens need {low.plain()} to {high.plain()}; "
                      f"{words}.", high.source, measure, power, figures["power_needed"],
                      figures["power_needed"])  # fmt: skip
    else:
        yield Finding("reach-range", "note", f"Random ovens need {low.plain()} to {high.plain()} at the wanted "
                                             f"temperature.",
                      high.source, measure, power, high)  # fmt: skip


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
                          "Move it out of the oven's casing. Opening the door a hand's width after a cut lets "
                          "the heat out "
                          "in a plume: only where nothing that minds heat, the panel included, sits above the "
                          "door, with "
                          "gloves, and never over a bread that burns (house; no "
                          "source).", figures["soak_electronics"], rated,
                          figures["soak_electronics"])  # fmt: skip
