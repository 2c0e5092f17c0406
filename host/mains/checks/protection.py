"""Findings on high limit, transfer switch, cooling fan and thermocouple."""

from host.mains import device_rules, poles
from host.mains.coordination import SWITCH_SIZES_A, device_before, size_at_least
from host.mains.finding import Finding
from host.mains.ratings import THERMOCOUPLE_MAX_C, expected_c, wire_class
from host.mains.value import ONCE, Value, derived, given

LIMIT_RULE = "high limit separate from the operating controller, own sensor (NFPA 86 8.18.2.9)"


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """Findings on what must act when the controller fails."""
    return [
        finding for part in (_release, _high_limit, _transfer, _fan, _thermocouple) for finding in part(sheet, figures)
    ]


def _release(sheet, figures):
    wanted = sheet["oven"]["wanted_c"]
    asked = given(wanted, "degC", "oven.wanted_c")
    if asked.over(device_rules.highest_release()):
        yield Finding("wanted-above-release", "stop", "The device is never released for so much.",
                      device_rules.highest_release().source, f"At most {device_rules.highest_release()}.", asked,
                      device_rules.highest_release(), device_rules.highest_release())  # fmt: skip


def _high_limit(sheet, figures):
    limit, wanted = sheet["high_limit"], sheet["oven"]["wanted_c"]
    least = Value(wanted + device_rules.above_wanted().number, "degC", source=device_rules.above_wanted().source)
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
    if not limit["own_contactor"] and limit["cuts"] == "contactor_coil":
        yield Finding("high-limit-shares", "note", "The high limit opens the same contactor as the controller.",
                      "a contactor that welds defeats both (house)",
                      "Best a second contactor of its own in series: own_contactor = true, with its contactor_a and "
                      "contactor_poles.")  # fmt: skip
    if limit["own_contactor"]:
        words = "The board does not sense the limiter's own contactor: a welded one shows by a test alone."
        yield Finding("limiter-contactor-unseen", "note", words, "two contactors in series (house)",
                      "Open the limiter by hand with the lamps on, at commissioning and each season: both contactors "
                      "fall.")  # fmt: skip
    yield from _setting(sheet, least)


def _setting(sheet, least):
    limit, wanted = sheet["high_limit"], sheet["oven"]["wanted_c"]
    setting = given(limit["setting_c"], "degC", "high_limit.setting_c")
    if setting.over(device_rules.compiled_limit()):
        yield Finding("high-limit-high", "stop", "The high limit is set above what the device "
                      "accepts.", device_rules.compiled_limit().source, f"Set it to {least.number:.0f} degC.",
                      setting, device_rules.compiled_limit(), least)  # fmt: skip
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


def _transfer(sheet, figures):
    transfer = sheet["transfer"]
    mend = (
        f"A break-before-make switch of {poles.transfer_poles(sheet)} poles, ORIGINAL - OFF - OURS, with two auxiliary "
        "contacts."
    )
    source = "two controllers must never feed one element; the only supported arrangement"
    high = figures["current_high"]
    size = size_at_least(SWITCH_SIZES_A, high.number, device_before(sheet).number)
    better = high if size is None else Value(size, "A", source="next usual size that suits the breaker")
    if not transfer["fitted"]:
        yield Finding("transfer-none", "stop", "No transfer switch between the two controllers.",
                      source, f"{mend[:-1]}, {better}.", remedy=better)  # fmt: skip
        return
    if not transfer["break_before_make"]:
        yield Finding("transfer-overlap", "stop",
                      "The transfer switch joins both controllers for a moment.", source,
                      mend)  # fmt: skip
    rated = given(transfer["rated_a"], "A", "transfer.rated_a")
    if high.over(rated):
        yield Finding("transfer-overload", "stop", "The transfer switch carries more than its "
                      "rating.", "switch's plate", f"{mend[:-1]}, {better}.", high, rated, better)  # fmt: skip
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
    if fan["runs_when_ours"] is False:
        yield Finding(
            "fan-not-run",
            "stop",
            "The oven's cooling fan stands still while our controller heats.",
            "the original controller drives it; its electronics and door need it",
            "A normally closed contact that runs it whenever OURS is selected.",
        )
    elif fan["proved"] is False:
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
