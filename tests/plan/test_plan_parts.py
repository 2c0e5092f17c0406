"""The parts list: least ratings worked out by hand, no brands; the way back; plugs."""

import pytest
from test_plan_flawed_sheets import NEC

from host.mains import planpage, plantext, plugs
from host.mains.reversal import RETESTS


@pytest.fixture
def least(plan_of):
    """Function: changes -> {part: least rating}."""

    def make(changes=None):
        return {part.what: part.least for part in plan_of(changes).parts}

    return make


BY_HAND = {
    "Circuit breaker": "16 A, curve B, 1 pole, 2 where local code asks",
    "Protection of persons": "residual-current protection of type A, 30 mA (to be verified)",
    "Connection": "IEC 60309 blue 2P+E 16 A, 16 A (to be verified) for hours",
    # 1.5 mm2 laid as B2 carries 16.5 A; drop 12.61 x 0.045 x 18/1.5 = 6.8 V, 3.0 % and 0.3 %
    "Fixed run": "copper, 1.5 mm2, laid as B2",
    "Cord": "1.5 mm2",  # 13.9 A: 1.0 mm2 carries 10 A, 1.5 mm2 15 A
    "Contactor": "16 A AC-1, 2 poles, mirror contact, coil for 24 V d.c. (separated supply)",  # 13.9 A
    "Parts in the cavity": "490 degC",
}


@pytest.mark.parametrize("what", BY_HAND)
def test_parts_least_rating_is_the_one_worked_out_by_hand(least, what):
    assert least()[what] == BY_HAND[what]


def test_parts_numbers_inside_texts(least):
    found = least()
    assert found["Transfer switch"].startswith("16 A, 2 poles")
    for zone in ("top", "deck"):  # 7.17 A and 6.70 A at +10 %, in 80 % of 10 A, but 16 A before it; 230 V + 10 %
        assert found[f"Relay, {zone}"].startswith("16 A (to be verified), 253 V load or more")
    assert found["Heatsink"].startswith("at most 3.32 K/W for both relays (to be verified)")
    assert "set 470 to 510 degC" in found["High limit"]
    # 22 + 0.5 x 468 = 256 degC: beyond a 250 degC lead; 22 + 0.25 x 468 = 139 degC
    assert found["Element leads and terminals"].startswith("256 degC (to be verified): glass")
    assert found["Inner wiring"].startswith("139 degC (to be verified): 150 degC rubber")


def test_parts_run_grows_with_the_voltage_drop(least):
    # 70 m: 39.7 V mm2 / 10.7 V = 3.7 mm2: 4, though 1.5 mm2 would carry the current.
    assert least({"cable.length_m": "70"})["Fixed run"] == "copper, 4 mm2, laid as B2"
    # Thicker wires than the run's capacity asks for are not needed inside the box.
    inside = least({"cable.length_m": "70"})["Wires in the relay box"]
    assert inside == "copper, 1.5 mm2, 90 degC insulation"
    assert "none in the table" in least({"cable.length_m": "200"})["Fixed run"]


def test_parts_follow_the_nec(least):
    found = least(NEC)
    assert found["Circuit breaker"] == "20 A, 2 poles"  # 12.08 A x 1.25 = 15.1 A
    assert found["Fixed run"] == "copper, 12 AWG, laid as raceway60"
    assert found["Cord"] == "12 AWG"  # behind 20 A: 14 AWG carries 18 A, 12 AWG 25 A
    assert found["Transfer switch"].startswith("20 A, 3 poles")
    assert found["Protection of persons"] == "ground-fault protection, 6 mA (to be verified)"
    assert found["Relay, top"].startswith("16 A (to be verified), 264 V load")


@pytest.mark.slow
def test_parts_larger_oven_asks_for_larger_parts(least):
    strong = least({"elements.top.power_w": "3000", "elements.deck.power_w": "2500"})
    # 5500 W / 230 V = 23.9 A; +10 % 26.3 A; top 14.3 A / 0.8 = 17.9 A
    assert strong["Circuit breaker"].startswith("25 A")
    assert strong["Connection"].startswith("IEC 60309 blue 2P+E 32 A")
    assert strong["Contactor"].startswith("32 A")
    assert strong["Relay, top"].startswith("25 A")
    assert strong["Cord"] == "4 mm2"


def test_parts_without_thermal_data_name_no_heatsink(least, plan_of):
    lacking = {"relays.top.junction_case_k_w": None}
    assert "Heatsink" not in least(lacking)
    assert "relay-no-thermal-data" in {f.code for f in plan_of(lacking).findings}


@pytest.mark.parametrize(
    ("load_a", "volts", "rules", "present", "name"),
    [
        (9.9, 230, "iec", "schuko", "schuko"), (10.0, 230, "iec", "schuko", "schuko"),
        (10.1, 230, "iec", "schuko", "iec60309_16"), (13.1, 230, "iec", "bs1363", "iec60309_16"),
        (16.1, 230, "iec", None, "iec60309_32"), (32.1, 230, "iec", None, "fixed"),
        (12.0, 120, "nec", None, "nema5_15"), (12.1, 120, "nec", None, "nema5_20"),
        (16.1, 240, "nec", "nema6_20", "nema14_30"), (9.0, 120, "nec", "nema6_20", "nema5_15"),
    ],
)  # fmt: skip
def test_plugs_better_is_the_smallest_that_carries_the_load_for_hours(load_a, volts, rules, present, name):
    assert plugs.better(load_a, volts, rules, present) == name


def test_reversal_retests_name_what_must_be_tested():
    text = " ".join(RETESTS).lower()
    for word in ("original terminal", "protection back", "earth continuity", "insulation",
                 "resistance", "door", "thermostat", "cut-out", "cooling fan", "are replaced",
                 "not sold on"):  # fmt: skip
        assert word in text, word


def test_parts_that_rest_on_memory_are_printed_as_to_be_verified(plan_of):
    made = plan_of()
    text = "\n".join(plantext.lines(made))
    page = planpage.page(made)
    for part in made.parts:
        if "from memory" in part.source:
            assert "(to be verified)" in part.shown
            assert f"{part.what}: {part.shown}" in text
    assert any(part.what == "Control fuse" and "(to be verified)" in part.shown for part in made.parts)
    assert page.count("(to be verified)") > text.count("(to be verified)") / 2
