"""Findings on relays, heatsink, contactor, relay box, flicker and contact life."""

from host.mains import box, device_rules, flicker, life, ssr
from host.mains.coordination import CONTACTOR_SIZES_A, device_before, relay_before, size_at_least
from host.mains.finding import Finding
from host.mains.value import MEMORY, Value, derived, given

VOLT_MARGIN = Value(1.10, "x nominal", MEMORY, "IEC 60038, supply tolerance +10 %")


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on everything inside the relay box."""
    found = []
    for zone in ("top", "deck"):
        found += _relay(sheet, figures, zone)
        found += _life(sheet, figures, zone)
    for part in (_heatsink, _contactor, _box, _flicker):
        found += part(sheet, figures)
    return found


def _relay(sheet, figures, zone):
    relay = sheet["relays"][zone]
    high = figures[f"current_{zone}_high"]
    rated = given(relay["rated_a"], "A", f"relays.{zone}.rated_a")
    usable = derived(
        rated.number * ssr.CURRENT_MARGIN.number, "A", ssr.CURRENT_MARGIN.source,
        ssr.CURRENT_MARGIN,
    )  # fmt: skip
    step = size_at_least(ssr.RATINGS_A, high.number / ssr.CURRENT_MARGIN.number, relay_before(sheet, zone).number)
    remedy = None if step is None else Value(step, "A", source=usable.source)
    mend = "Two elements on two relays." if step is None else f"A relay rated {step} A."
    if high.over(rated):
        yield Finding("relay-overload", "stop", f"The {zone} relay carries more than its rating.",
                      "relay's plate", mend, high, rated, remedy)  # fmt: skip
    elif high.over(usable):
        yield Finding("relay-margin", "change",
                      f"The {zone} relay has little current in hand for years of use.",
                      usable.source, mend, high, usable, remedy)  # fmt: skip
    volts = Value(sheet["supply"]["voltage_v"] * VOLT_MARGIN.number, "V", MEMORY,
                  VOLT_MARGIN.source)  # fmt: skip
    rated_v = given(relay["rated_v"], "V", f"relays.{zone}.rated_v")
    if volts.over(rated_v):
        yield Finding("relay-voltage", "stop",
                      f"The {zone} relay is not made for the supply at +10 %.", volts.source,
                      f"A relay for at least {volts.number:.0f} V of load voltage.", volts,
                      rated_v, volts)  # fmt: skip
    if relay["kind"] == "ssr" and not relay["zero_cross"]:
        yield Finding("relay-not-zero-cross", "change",
                      f"The {zone} relay switches anywhere in the half wave: interference.",
                      "common practice, no source", "A zero-crossing relay.")  # fmt: skip


def _life(sheet, figures, zone):
    relay = sheet["relays"][zone]
    if relay["kind"] == "ssr":
        return
    usual = life.OPERATIONS[relay["kind"]]
    stated = relay["operations"]
    operations = usual if stated is None else given(stated, "operations", f"relays.{zone}")
    hours, window = sheet["oven"]["hours"], sheet["control"]["window_s"]
    evenings = life.evenings(operations.number, window, hours)
    figure = derived(evenings, "evenings", f"one operation a window; {operations.source}",
                     operations)  # fmt: skip
    wanted = Value(5 * sheet["oven"]["evenings_per_year"], "evenings", source="five years of use")
    if figure.under(wanted):
        needed = life.window_for_s(operations.number, wanted.number, hours)
        yield Finding("relay-life", "change",
                      f"The {zone} relay's contacts wear out within five years.", figure.source,
                      f"A solid-state relay, or a window of at least {needed:.0f} s.", figure,
                      wanted, derived(needed, "s", figure.source, operations))  # fmt: skip
    elif evenings > life.MANY_EVENINGS:
        yield Finding("relay-life", "note", f"The {zone} relay's contacts last for more evenings than are counted.",
                      figure.source, "Replace it when it sticks or sparks; it may weld closed.",
                      derived(life.MANY_EVENINGS, "evenings", figure.source, operations), wanted)  # fmt: skip
    else:
        yield Finding("relay-life", "note", f"Evenings until the {zone} relay's contacts are worn.",
                      figure.source, "Replace it before then; it may weld closed.", figure,
                      wanted)  # fmt: skip


def _heatsink(sheet, figures):
    zones = [zone for zone in ("top", "deck") if sheet["relays"][zone]["kind"] == "ssr"]
    if not zones:
        return
    transfer = box.TRANSFER[sheet["box"]["material"]]
    needed, incomplete = heatsink_needed(sheet, figures, zones)
    if incomplete:
        yield Finding("relay-no-thermal-data", "change",
                      "Thermal resistance junction to case is not given: "
                      + ", ".join(f"relays.{zone}" for zone in incomplete) + ".",
                      "relay's data sheet", "Take junction_case_k_w from the data sheet, or "
                      "another relay that states it.")  # fmt: skip
        return
    remedy = derived(needed, "K/W", "(Tj - Ta)/P - RthJC - RthCS, Tj 115 degC",
                     ssr.DESIGN_JUNCTION, transfer) if needed > 0.05 else None  # fmt: skip
    mend = (
        f"A heatsink of at most {needed:.2f} K/W in this box."
        if needed > 0.05
        else "No heatsink can do it in this air: a cooler or larger box, the heatsink outside."
    )
    if not sheet["heatsink"]["fitted"]:
        yield Finding("heatsink-none", "stop", "Solid-state relays without a heatsink.",
                      "relay's data sheet: full current only on a heatsink", mend,
                      remedy=remedy)  # fmt: skip
        return
    for zone in zones:
        junction = figures[f"junction_{zone}"]
        rated = given(sheet["relays"][zone]["junction_max_c"], "degC", f"relays.{zone}")
        if junction.over(rated):
            yield Finding("junction-over", "stop",
                          f"The {zone} relay's junction gets hotter than it bears; it fails "
                          "closed (on).", rated.source, mend, junction, rated,
                          remedy)  # fmt: skip
        elif junction.over(ssr.DESIGN_JUNCTION):
            yield Finding("junction-margin", "change",
                          f"The {zone} relay's junction is above the design figure.",
                          ssr.DESIGN_JUNCTION.source, mend, junction, ssr.DESIGN_JUNCTION,
                          remedy)  # fmt: skip


def heatsink_needed(sheet: dict, figures: dict, zones: list) -> tuple[float, list]:
    """(largest heatsink K/W that keeps all relays at the design junction, zones without data)."""
    incomplete = [z for z in zones if sheet["relays"][z]["junction_case_k_w"] is None]
    if incomplete:
        return 0.0, incomplete
    sink_w = sum(figures[f"loss_{zone}"].number for zone in zones)
    air = figures["box_air"].number
    return min(
        ssr.heatsink_needed_k_w(
            ssr.DESIGN_JUNCTION.number, air, figures[f"loss_{zone}"].number, sink_w,
            sheet["relays"][zone]["junction_case_k_w"], sheet["relays"][zone]["case_sink_k_w"],
        )
        for zone in zones
    ), []  # fmt: skip


def _contactor(sheet, figures):
    contactor = sheet["contactor"]
    high = figures["current_high"]
    step = size_at_least(CONTACTOR_SIZES_A, high.number, device_before(sheet).number)
    remedy = None if step is None else Value(step, "A", source="next usual AC-1 size that suits the breaker")
    mend = f"A double-pole contactor of {step or high.number:g} A, AC-1, with a mirror contact."
    if not contactor["fitted"]:
        yield Finding("contactor-none", "stop",
                      "No contactor in series with the relays: a solid-state relay fails closed.",
                      "two makers' notes on failure modes", mend, remedy=remedy)  # fmt: skip
        return
    rated = given(contactor["rated_a"], "A", "contactor.rated_a")
    if high.over(rated):
        yield Finding("contactor-overload", "stop", "The contactor carries more than its rating.",
                      "contactor's AC-1 rating", mend, high, rated, remedy)  # fmt: skip
    if not contactor["mirror_contact"]:
        yield Finding("contactor-no-mirror", device_rules.grade_without("CONTACTOR_OPEN", sheet["oven"]["wanted_c"]),
                      "A welded contactor would not be seen.",
                      f"IEC 60947-4-1 Annex F, mirror contact (from memory); "
                      f"{device_rules.rule_without('CONTACTOR_OPEN')}",
                      "An auxiliary contact that cannot close while a main contact is welded.")  # fmt: skip


def _box(sheet, figures):
    enclosure = sheet["box"]
    air = figures["box_air"]
    limit = given(enclosure["electronics_max_c"], "degC", "box.electronics_max_c")
    transfer = box.TRANSFER[enclosure["material"]]
    loss = figures["loss_box"].number
    area = box.area_needed_m2(enclosure["ambient_c"], loss, limit.number, transfer.number)
    remedy = None if area is None else derived(area, "m2", air.source, transfer)
    mend = (
        "A cooler place: the air around the box is already at the limit."
        if area is None
        else f"Free area of at least {area:.2f} m2, or the heatsink outside, or a cooler place."
    )
    if air.over(limit):
        yield Finding("box-hot", "stop", "Air in the relay box is hotter than its electronics "
                      "bear.", limit.source, mend, air, limit, remedy)  # fmt: skip
    elif air.number > limit.number - 10:
        yield Finding("box-warm", "change", "Less than 10 K in hand in the relay box.",
                      "10 K: common practice, no source", mend, air,
                      Value(limit.number - 10, "degC", source=limit.source), remedy)  # fmt: skip
    distance = given(enclosure["oven_distance_mm"], "mm", "box.oven_distance_mm")
    if distance.under(box.FREE_DISTANCE_MM):
        yield Finding("box-near-oven", "change", "The relay box is close to the oven.",
                      box.FREE_DISTANCE_MM.source,
                      "Move it to the side, below rather than above, off the oven's wall.",
                      distance, box.FREE_DISTANCE_MM, box.FREE_DISTANCE_MM)  # fmt: skip


def _as_one(window_s):
    """What a single element, or two switched as one, needs and what that costs."""
    typical_k, worst_k = flicker.band_k(window_s, False)
    band = f"{typical_k:.0f} K, at worst {worst_k:.0f} K"
    return f"Switched as one: a window of at least {window_s:.0f} s, which costs a band of {band}."


def _flicker(sheet, figures):
    if "pst" not in figures:
        yield Finding("flicker-not-judged", "note",
                      "Lamp flicker is judged for 230 V, 50 Hz networks only.",
                      "IEC 61000-3-3: 220 to 250 V, 50 Hz",
                      "Look at the lamps; lengthen the window if they flicker.")  # fmt: skip
        return
    if figures["current"].over(flicker.SCOPE_A):
        yield Finding("flicker-scope", "note", "Above 16 A the figure is for comparison only.",
                      "IEC 61000-3-3 and -3-11", "Ask the network operator.",
                      figures["current"], flicker.SCOPE_A)  # fmt: skip
    if figures["change"].over(flicker.DMAX_LIMIT):
        yield Finding("flicker-step", "change", "One switching changes the voltage too much.",
                      flicker.DMAX_LIMIT.source,
                      "Stagger the elements, or a supply of lower impedance.",
                      figures["change"], flicker.DMAX_LIMIT)  # fmt: skip
    if not figures["pst"].over(flicker.PST_LIMIT):
        return
    volts = sheet["supply"]["voltage_v"]
    steps = flicker.steps_pct(*(flicker.change_pct(figures[f"power_{z}"].number, volts) for z in ("top", "deck")), True)
    best = flicker.window_needed_s(steps)
    remedy = None if best is None else Value(best, "s", source=flicker.CURVE.source)
    apart = min(figures[f"power_{z}"].number for z in ("top", "deck")) > 0
    mend = (
        "No usual window is long enough: a supply of lower impedance."
        if best is None
        else f"A window of at least {best} s with the elements staggered."
        if apart
        else _as_one(best)
    )
    if apart and not sheet["control"]["staggered"] and "window_needed" in figures:
        mend += " " + _as_one(figures["window_needed"].number)
    yield Finding("flicker-pst", "change", "Lamps on the same network would flicker.",
                  f"{flicker.PST_LIMIT.source}; {flicker.CURVE.source}", mend, figures["pst"],
                  flicker.PST_LIMIT, remedy)  # fmt: skip
