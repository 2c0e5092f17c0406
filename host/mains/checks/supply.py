"""Findings on supply, elements, breaker, plug, residual current and earth."""

from host.mains import breaker, plugs
from host.mains.checks.cable import load_for_hours
from host.mains.finding import Finding
from host.mains.value import MEMORY, Value, derived, given

SIDE_BY_SIDE = Value(0.8, "x In", MEMORY, "breakers side by side in a warm board: 0.8 In for hours")


def hours_limit(rating: Value) -> Value:
    """What a breaker of `rating` (A) among warm neighbours carries for hours, a Value in A."""
    return derived(SIDE_BY_SIDE.number * rating.number, "A", SIDE_BY_SIDE.source, SIDE_BY_SIDE)


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on what feeds the oven, conductors excepted."""
    parts = (_supplies, _elements, _breaker, _plug, _notes)
    return [finding for part in parts for finding in part(sheet, figures)]


def _supplies(sheet, figures):
    supplies = given(sheet["supply"]["supplies"], "supplies", "supply.supplies")
    one = Value(1, "supplies", source="the only supported arrangement")
    if supplies.over(one):
        yield Finding(
            "two-supplies", "stop", "The oven is fed from more than one supply.",
            "a second supply stays live when the first is off; this arrangement is not supported",
            "Feed the oven and the controller's power side from one circuit.", supplies, one, one,
        )  # fmt: skip
    if sheet["relays"]["paralleled"]:
        yield Finding(
            "paralleled-contacts", "stop",
            "Contacts of the two controllers, or of two relays, are in parallel.",
            "either contact alone heats the element; the other cannot take the heat off",
            "One double-pole transfer switch ORIGINAL - OFF - OURS; one relay for each element.",
        )  # fmt: skip


def _elements(sheet, figures):
    volts = sheet["supply"]["voltage_v"]
    plates = [(zone, sheet["elements"][zone]["voltage_v"]) for zone in ("top", "deck")]
    plates += [(extra["name"], extra["voltage_v"]) for extra in sheet["extra_element"] if extra["in_ours"] != "dead"]
    for zone, plate in plates:
        if plate is None:
            continue
        figure = given(volts, "V", "supply.voltage_v")
        high = Value(plate * 1.06, "V", source=f"plate voltage {plate} V + 6 %")
        low = Value(plate * 0.9, "V", source=f"plate voltage {plate} V - 10 %")
        remedy = given(plate, "V", f"element {zone}, voltage_v")
        if figure.over(high):
            yield Finding(
                "element-overvoltage", "stop",
                f"The {zone} element is made for {plate:g} V and gets {volts} V: "
                f"{(volts / plate) ** 2:.2f} times its power.",
                "P = V^2 / R", f"Elements made for {volts} V, or a {plate:g} V supply.",
                figure, high, remedy,
            )  # fmt: skip
        elif figure.under(low):
            yield Finding(
                "element-undervoltage", "note",
                f"The {zone} element is made for {plate:g} V and gets {volts} V: "
                f"{(volts / plate) ** 2:.2f} of its power.",
                "P = V^2 / R", "Look at the time to temperature below.", figure, low, remedy,
            )  # fmt: skip


def _breaker(sheet, figures):
    supply = sheet["supply"]
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    needed = figures["breaker_needed"]
    step = breaker.next_rating_a(needed.number, supply["rules"])
    remedy = None if step is None else Value(step, "A", source=needed.source)
    within = breaker.within_the_hour(figures["current_high"].number, supply["breaker_a"])
    mend = (
        "Less load: no standard breaker on this list fits."
        if step is None
        else f"A {step} A circuit, with cable and connection for it."
    )
    if figures["circuit_current"].over(rating):
        yield Finding(
            "breaker-overload", "stop", "The load is more than the breaker's rating.",
            needed.source, mend, figures["circuit_current"], rating, remedy,
        )  # fmt: skip
    elif needed.over(rating):
        yield Finding(
            "breaker-continuous", "change",
            "For a load of three hours and more the breaker must be 125 % of it.",
            needed.source, mend, needed, rating, remedy,
        )  # fmt: skip
    elif figures["current_high"].over(rating):
        yield Finding(
            "breaker-high-supply", "change",
            f"At +10 % supply the load is more than the breaker's rating: within an hour it {within}.",
            breaker.SUPPLY_HIGH.source,
            mend_high(figures, supply), figures["current_high"], rating,
            _high_remedy(figures, supply),
        )  # fmt: skip


def _high_remedy(figures, supply):
    step = breaker.next_rating_a(figures["current_high"].number, supply["rules"])
    return None if step is None else Value(step, "A", source=breaker.SUPPLY_HIGH.source)


def mend_high(figures: dict, supply: dict) -> str:
    """What would carry the current at +10 % supply."""
    step = _high_remedy(figures, supply)
    return "Less load." if step is None else f"A {step.number:g} A circuit throughout."


def _plug(sheet, figures):
    supply = sheet["supply"]
    plug = plugs.PLUGS[supply["connection"]]
    load = load_for_hours(sheet, figures)
    step = breaker.next_rating_a(figures["breaker_needed"].number, supply["rules"])  # a smaller breaker may do
    name = plugs.better(load.number, supply["voltage_v"], supply["rules"], supply["connection"],
                        min(supply["breaker_a"], step or supply["breaker_a"]))  # fmt: skip
    remedy = plugs.PLUGS[name].hours
    mend = f"{plugs.PLUGS[name].text}, and the circuit that goes with it."
    if supply["rules"] not in plug.rules:
        country = "Outside North America" if "nec" in plug.rules else "Under NEC"
        yield Finding("plug-foreign", "stop", f"{country} nobody has this connection: {plug.text}.",
                      "every table here goes by supply.rules", f"Look again which rules hold; else {mend}")  # fmt: skip
    if supply["voltage_v"] not in plug.volts:
        yield Finding(
            "plug-voltage", "stop",
            f"Not made for {supply['voltage_v']} V: {plug.text}.", plug.rated.source, mend,
            given(supply["voltage_v"], "V", "supply.voltage_v"),
            Value(max(plug.volts), "V", source=plug.rated.source), remedy,
        )  # fmt: skip
    if load.over(plug.rated):
        yield Finding("plug-overload", "stop", f"The load is more than the connection carries: {plug.text}.",
                      plug.rated.source, mend, load, plug.rated, remedy)  # fmt: skip
    elif load.over(plug.hours) and sheet["oven"]["hours"] >= 1:
        yield Finding("plug-hours", "change",
                      f"The load is more than this carries for hours: {plug.text}.",
                      plug.hours.source, mend, load, plug.hours, remedy)  # fmt: skip


def _notes(sheet, figures):
    supply = sheet["supply"]
    inrush = figures["cold_inrush"]
    load, allowed = figures["circuit_current"], figures.get("cable_allowed")
    rating = given(supply["breaker_a"], "A", "supply.breaker_a")
    chain = f"Ib {load.plain()}, In {rating.plain()}, Iz {allowed.plain() if allowed else 'none'}."
    yield Finding("coordination", "note", f"Load, breaker, run: {chain}",
                  figures["breaker_needed"].source, "In order while Ib <= In <= Iz.", load,
                  rating)  # fmt: skip
    if supply["rules"] == "iec" and figures["current_high"].over(hours_limit(rating)):
        yield Finding("breaker-warm", "note",
                      "The breaker carries most of its rating for hours.", SIDE_BY_SIDE.source,
                      "An empty place beside it, or the next size with cable to match.",
                      figures["current_high"], hours_limit(rating))  # fmt: skip
    if supply["curve"] == "nec":
        yield Finding("inrush", "note", "Cold elements draw a little more at first.",
                      inrush.source, "Nothing to mend.", inrush)  # fmt: skip
        return
    low = breaker.BANDS[supply["curve"]][0] * supply["breaker_a"]
    limit = Value(low, "A", source=f"IEC 60898-1, curve {supply['curve']} holds up to here")
    at_once = breaker.instant(inrush.number, supply["breaker_a"], supply["curve"])
    yield Finding("inrush", "note", f"Cold elements draw a little more at first: the breaker {at_once}.", inrush.source,
                  "Nothing to mend while it stays under the limit.", inrush, limit)  # fmt: skip
