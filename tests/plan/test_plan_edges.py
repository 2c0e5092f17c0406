"""Every limit of a finding at just below, at and just above."""

import pytest

# code: (key, last good value, first bad value, other changes). Where the limit is worked out, how.
EDGES = {
    "breaker-high-supply": ("elements.top.power_w", 1590.9, 1591.0, {  # 230 V x 13 A/1.1 - 1127.2
        "supply.breaker_a": "13", "elements.deck.power_w": "1127.2"}),
    "breaker-overload": ("supply.other_load_a", 3.39, 3.40, {}),  # 16 - 12.609
    "plug-overload": ("elements.top.power_w", 1945.4, 1945.5, {}),  # 230 x 16/1.1 - 1400
    "voltage-drop": ("cable.length_m", 47.32, 47.34, {}),  # 10.743 V x 2.5 / (0.045 x 12.609)
    "loop-impedance": ("supply.loop_ohm", 1.916, 1.917, {}),  # 2/3 x 230/(5 x 16), cold
    "earth-high": ("supply.earth_ohm", 0.1, 0.101, {}),
    "residual-coarse": ("supply.residual_ma", 30, 100, {}),
    "cable-hot": ("cable.ambient_c", 60, 60.1, {"supply.breaker_a": "10"}),
    "element-overvoltage": ("elements.top.voltage_v", 216.99, 216.97, {}),  # 230/1.06 = 216.98
    "relay-margin": ("relays.top.rated_a", 8.968, 8.966, {}),  # 6.5217 x 1.1 / 0.8 = 8.9674
    "relay-overload": ("relays.top.rated_a", 7.174, 7.173, {}),  # 6.5217 x 1.1
    "relay-voltage": ("relays.top.rated_v", 253.1, 252.9, {}),  # 230 x 1.1
    "contactor-overload": ("contactor.rated_a", 13.87, 13.86, {}),  # 12.6087 x 1.1
    "transfer-overload": ("transfer.rated_a", 13.87, 13.86, {}),
    "box-near-oven": ("box.oven_distance_mm", 300, 299.9, {}),
    "clearance": ("oven.clearance_mm", 150, 149.9, {}),
    "wanted-above-release": ("oven.wanted_c", 480, 480.1, {"high_limit.setting_c": "505"}),
    "thermocouple-sheath": ("thermocouple.sheath_max_c", 490, 489.9, {}),
    "thermocouple-lead": ("thermocouple.lead_max_c", 302.9, 302.7, {}),  # 22 + 0.6 x 468
    "part-too-hot": ("part.rated_c", 256.1, 255.9, {}),  # 22 + 0.5 x 468
    "contactor-poles": ("contactor.poles", 2, 1, {}),
    "transfer-poles": ("transfer.poles", 2, 1, {}),
    "box-hot": ("box.ambient_c", 49.42, 49.43, {}),  # 60 - (19.417 + 5 + 3.5)/(5.5 x 0.48)
    "box-warm": ("box.ambient_c", 39.42, 39.43, {}),
}  # fmt: skip


def codes(plan):
    """Codes of the findings that ask for something."""
    return {finding.code for finding in plan.findings if finding.grade != "note"}


@pytest.mark.slow
@pytest.mark.parametrize("code", EDGES)
def test_plan_limit_holds_at_its_edge_and_not_beyond(plan_of, code):
    key, good, bad, others = EDGES[code]
    assert code not in codes(plan_of({**others, key: str(good)}))
    assert code in codes(plan_of({**others, key: str(bad)}))


def junction_codes(plan_of, k_w):
    return {c for c in codes(plan_of({"heatsink.k_w": str(k_w)})) if c.startswith("junction")}


def test_plan_junction_is_judged_at_115_and_125_degrees(plan_of):
    # 40.575 + 19.417 x K/W + 10.043 W x 1.0 K/W: 115 degC at 3.316 K/W, 125 degC at 3.831 K/W.
    assert junction_codes(plan_of, 3.31) == set()
    assert junction_codes(plan_of, 3.32) == {"junction-margin"}
    assert junction_codes(plan_of, 3.83) == {"junction-margin"}
    assert "junction-over" in junction_codes(plan_of, 3.84)


def test_plan_protection_removed_needs_name_and_reason(plan_of):
    text = '\n[[survey]]\npart = "cutout"\nname = "Door cut-out"\nplace = "cabinet"\ndecision = "removed"\n'
    assert "protection-bypassed" in codes(plan_of(extra=text))
    assert "protection-bypassed" in codes(plan_of(extra=text + 'by = "E"\n'))
    assert "protection-bypassed" in codes(plan_of(extra=text + 'why = "W"\n'))
    named = plan_of(extra=text + 'by = "E"\nwhy = "W"\n')
    assert "protection-bypassed" not in codes(named)
    assert "cutout-out-of-circuit" in codes(named)  # recorded, but nothing does its job
    done = plan_of(extra=text + 'by = "E"\nwhy = "W"\njob_done_by = "second limiter at the door"\n')
    assert {"cutout-out-of-circuit", "protection-bypassed"} & codes(done) == set()
    assert "protection-changed" in {f.code for f in done.findings}


@pytest.mark.parametrize("part", ["sensor", "lamp", "glass", "gasket", "electronics"])
def test_plan_survey_asks_for_each_part_that_it_lacks(plan_of, part):
    other = "fan" if part != "electronics" else "lock"
    plan = plan_of()
    plan.sheet["survey"] = [entry for entry in plan.sheet["survey"] if entry["part"] != part]
    from host.mains.checks import places

    found = [f for f in places.findings(plan.sheet, plan.figures) if f.code == "survey-gap"]
    assert part in found[0].text and other not in found[0].text


@pytest.mark.slow
def test_plan_relay_remedy_leaves_a_fifth_in_hand(plan_of):
    # 3000 W at 230 V and +10 %: 14.35 A; 16 A is enough to carry it, 17.9 A leaves a fifth: 25 A.
    plan = plan_of({"elements.top.power_w": "3000", "relays.top.rated_a": "16"})
    found = [f for f in plan.findings if f.code == "relay-margin"]
    assert [f.remedy.number for f in found] == [25]
