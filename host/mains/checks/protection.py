"""Findings on high limit, transfer switch, cooling fan and thermocouple."""

from host.mains.finding import Finding
from host.mains.ratings import THERMOCOUPLE_MAX_C, expected_c, wire_class
from host.mains.value import ONCE, Value, derived, given

COMPILED_LIMIT = Value(550, "degC", source="highest limit the device accepts")
HIGHEST_RELEASE = Value(480, "degC", source="highest setpoint that commissioning earns")
ABOVE_WANTED = Value(20, "K", source="highest setpoint = limit - 20 K on the device")
LIMIT_RULE = "high limit separate from the operating controller, own sensor (NFPA 86 8.18.2.9)"


def findings(sheet, figures):
    """Findings on what must act when the controller fails."""
    return [
        finding for part in (_release, _high_limit, _transfer, _fan, _thermocouple) for finding in part(sheet, figures)
    ]


def _release(sheet, figures):
    wanted = sheet["oven"]["wanted_c"]
    asked = given(wanted, "degC", "oven.wanted_c")
    if asked.over(HIGHEST_RELEASE):
        yield Finding("wanted-above-release", "stop", "The device is never released for so much.",
                      HIGHEST_RELEASE.source, f"At most {HIGHEST_RELEASE}.", asked,
                      HIGHEST_RELEASE, HIGHEST_RELEASE)  # fmt: skip


def _high_limit(sheet, figures):
    limit, wanted = sheet["high_limit"], sheet["oven"]["wanted_c"]
    least = Value(wanted + ABOVE_WANTED.number, "degC", source=ABOVE_WANTED.source)
    if not limit["fitted"]:
        yield Finding("high-limit-none", "stop", "No independent high limit.", LIMIT_RULE,
                      "A separate limiter with its own sensor and hand reset, cutting the "
                      "contactor's coil.", remedy=least)  # fmt: skip
        return
    if not limit["own_sensor"]:
        yield Finding("high-limit-sensor", "stop", "The high limit shares the controller's sensor.",
                      LIMIT_RULE, "A sensor of its own, in the hot zone.")  # fmt: skip
    if limit["cuts"] == "relay_signal":
        yield Finding("high-limit-cuts-signal", "stop",
                      "The high limit only takes the relay's signal off: a relay that failed "
                      "closed goes on heating.", "NFPA 86 as quoted: its own contactor",
                      "Its contact in the contactor's coil circuit.")  # fmt: skip
    if not limit["manual_reset"]:
        yield Finding("high-limit-reset", "change", "The high limit comes back by itself.",
                      "non-self-resetting thermal cut-out, IEC 60335-1 clause 3",
                      "A limiter that a person resets by hand.")  # fmt: skip
    setting = given(limit["setting_c"], "degC", "high_limit.setting_c")
    if setting.over(COMPILED_LIMIT):
        yield Finding("high-limit-high", "stop", "The high limit is set above what the device "
                      "accepts.", COMPILED_LIMIT.source, f"Set it to {least.number:.0f} degC.",
                      setting, COMPILED_LIMIT, least)  # fmt: skip
    elif setting.under(least):
        yield Finding("high-limit-low", "change",
                      "The high limit would act at the wanted temperature.", least.source,
                      f"At least {least.number:.0f} degC, if every part bears that; else a lower "
                      "wanted temperature.", setting, least, least)  # fmt: skip
    elif setting.number > wanted + 60:
        most = Value(wanted + 60, "degC", source="60 K above the wanted temperature: common "
                     "practice, no source")  # fmt: skip
        yield Finding("high-limit-loose", "change", "The high limit acts late.", most.source,
                      f"Between {least.number:.0f} and {most.number:.0f} degC.", setting, most,
                      most)  # fmt: skip


def both_live(sheet):
    """True where the load lies between two lives (208 and 240 V under NEC), not live and neutral."""
    return sheet["supply"]["rules"] == "nec" and sheet["supply"]["voltage_v"] > 120


def _transfer(sheet, figures):
    transfer = sheet["transfer"]
    mend = "A double-pole break-before-make switch ORIGINAL - OFF - OURS with auxiliary contact."
    source = "two controllers must never feed one element; the only supported arrangement"
    high = figures["current_high"]
    if not transfer["fitted"]:
        yield Finding("transfer-none", "stop", "No transfer switch between the two controllers.",
                      source, mend, remedy=high)  # fmt: skip
        return
    if not transfer["break_before_make"]:
        yield Finding("transfer-overlap", "stop",
                      "The transfer switch joins both controllers for a moment.", source,
                      mend)  # fmt: skip
    poles = given(transfer["poles"], "poles", "transfer.poles")
    two, three = (Value(number, "poles", source=source) for number in (2, 3))
    if poles.under(two):
        yield Finding("transfer-poles", "stop", "The transfer switch leaves one conductor joined.",
                      source, mend, poles, two, two)  # fmt: skip
    elif transfer["poles"] == 2 and both_live(sheet):
        yield Finding("transfer-live-left", "change",
                      "Both conductors are live here: with two poles the elements' common end "
                      "stays live in OFF.", source, "Three poles: two elements and their common "
                      "end.", poles, three, three)  # fmt: skip
    elif transfer["poles"] == 2:
        yield Finding(
            "transfer-neutral",
            "note",
            "A two-pole switch changes over the two elements' live ends; their common neutral stays on the supply.",
            source,
            "The electrician says whether a third pole is needed.",
            poles,
            two,
        )
    rated = given(transfer["rated_a"], "A", "transfer.rated_a")
    if high.over(rated):
        yield Finding("transfer-overload", "stop", "The transfer switch carries more than its "
                      "rating.", "switch's plate", mend, high, rated, high)  # fmt: skip
    if not transfer["off_position"]:
        yield Finding("transfer-no-off", "change", "The transfer switch has no OFF.", source,
                      mend)  # fmt: skip
    if not transfer["auxiliary_contact"]:
        yield Finding("transfer-no-auxiliary", "stop",
                      "The controller cannot tell which position is selected.", source,
                      mend)  # fmt: skip


def _fan(sheet, figures):
    fan = sheet["cooling_fan"]
    if not fan["in_oven"]:
        return
    if not fan["runs_when_ours"]:
        yield Finding(
            "fan-not-run",
            "stop",
            "The oven's cooling fan stands still while our controller heats.",
            "the original controller drives it; its electronics and door need it",
            "A normally closed contact that runs it whenever OURS is selected.",
        )
    elif not fan["proved"]:
        yield Finding(
            "fan-not-proved",
            "change",
            "A stopped cooling fan would not be seen.",
            "permissive of the controller",
            "A flow or current contact to the controller's fan input.",
        )


def _thermocouple(sheet, figures):
    probe, limit = sheet["thermocouple"], sheet["high_limit"]["setting_c"]
    hottest = given(limit or sheet["oven"]["wanted_c"], "degC", "high_limit or oven.wanted_c")
    tops = THERMOCOUPLE_MAX_C[probe["type"]]
    if hottest.over(tops):
        yield Finding("thermocouple-type", "stop",
                      f"Type {probe['type']} is not for this temperature.", tops.source,
                      "Type K or N.", hottest, tops, THERMOCOUPLE_MAX_C["K"])  # fmt: skip
    sheath = given(probe["sheath_max_c"], "degC", "thermocouple.sheath_max_c")
    if hottest.over(sheath):
        yield Finding("thermocouple-sheath", "stop", "The probe's sheath is not for this heat.",
                      "probe's data sheet", "A mineral-insulated probe in a heat-proof sheath.",
                      hottest, sheath, hottest)  # fmt: skip
    lead = given(probe["lead_max_c"], "degC", "thermocouple.lead_max_c")
    seen = expected_c(probe["lead_place"], hottest.number, sheet["oven"]["room_c"])
    if seen.over(lead):
        better = wire_class(seen.number)
        text = "no usual lead" if better is None else better[1]
        yield Finding("thermocouple-lead", "change", "The probe's lead gets too hot.",
                      seen.source, f"A lead of {text}, or the joint further out.", seen, lead,
                      derived(seen.number, "degC", seen.source, seen))  # fmt: skip
    if probe["type"] in ("K", "N") and limit and limit > 500:
        figure = given(limit, "degC", "high_limit.setting_c")
        yield Finding("thermocouple-drift", "note", "Above 500 degC base-metal probes drift.",
                      "from memory", "Check the probe against a reference once a year.", figure,
                      Value(500, "degC", ONCE, "from memory"))  # fmt: skip
