"""Conductors, capacity, breakers against published tables and worked numbers."""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.mains import ampacity, breaker, conductors, coordination, plugs
from host.mains.value import MEMORY, ONCE, TWICE

DATA = Path(__file__).parents[1] / "data"


def table(name):
    """Rows of a data file as dictionaries; its first comment lines name the source."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("#")
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", table("iec60228_copper_plain.csv"))
def test_conductors_resistance_is_the_one_of_iec_60228(row):
    section = float(row["area_mm2"])
    rigid = conductors.resistance_20c(section)
    flexible = conductors.resistance_20c(section, flexible=True)
    assert rigid.number == float(row["class1_2_ohm_per_km"])
    assert flexible.number == float(row["class5_ohm_per_km"])
    assert rigid.unit == "ohm/km" and rigid.mark == TWICE


@pytest.mark.parametrize(("conductor_c", "to_20c"), [(5, 1.064), (30, 0.962), (50, 0.893), (70, 0.833), (90, 0.781)])
def test_conductors_temperature_factor_is_the_one_of_iec_60228(conductor_c, to_20c):
    # Factors to 20 degC printed by a cable maker beside IEC 60228 (uecables.com).
    at = conductors.resistance_at_ohm_per_km(10.0, conductor_c)
    assert 10.0 / at == pytest.approx(to_20c, abs=0.0006)


@pytest.mark.parametrize(
    ("gauge", "mm2"),
    [(18, 0.823), (16, 1.31), (14, 2.08), (12, 3.31), (10, 5.26), (8, 8.37), (6, 13.3)],
)
def test_conductors_awg_sections_are_those_of_the_ul_table(gauge, mm2):
    # UL cord table and the PyPI package `fluids` (piping.t_from_gauge) print these.
    assert conductors.section_of_awg_mm2(gauge) == pytest.approx(mm2, rel=0.004)


def test_conductors_voltage_drop_of_16_a_over_20_m_is_2_50_percent():
    # IEC 60364-5-52:2009 Annex G: b = 2, rho1 = 0.0225; 230 V, 16 A, 20 m, 2.5 mm2 by hand: 5.76 V.
    assert conductors.drop_v(16, 20, 2.5) == pytest.approx(5.76, abs=1e-9)
    assert conductors.drop_share(16, 20, 2.5, 230).number == pytest.approx(2.50, abs=0.005)


def test_conductors_reactance_counts_only_off_resistive_loads():
    # Same formula by hand, cos phi 0.8: 2 (0.0225 20 0.8/2.5 + 0.00008 20 0.6) 16 = 4.63872 V.
    assert conductors.drop_v(16, 20, 2.5, cos_phi=0.8) == pytest.approx(4.63872, abs=1e-9)


@given(
    st.floats(0.1, 60), st.floats(0.3, 200), st.floats(0.0, 50),
    st.sampled_from(conductors.SECTIONS_MM2), st.sampled_from(conductors.SECTIONS_MM2),
)  # fmt: skip
def test_conductors_longer_or_thinner_never_drops_less(amps, length, more, one, other):
    assert conductors.drop_v(amps, length + more, one) >= conductors.drop_v(amps, length, one)
    thin, thick = min(one, other), max(one, other)
    assert conductors.drop_v(amps, length, thin) >= conductors.drop_v(amps, length, thick)


@pytest.mark.parametrize("row", table("iec60364_b52_2_copper_pvc.csv"))
@pytest.mark.parametrize("method", ["A1", "A2", "B1", "B2", "C"])
def test_ampacity_two_loaded_is_table_b_52_2(row, method):
    section = float(row["area_mm2"])
    assert ampacity.iec_base(method, section).number == float(row[method])
    assert ampacity.allowed("iec", method, section, 30, 1).number == float(row[method])


@pytest.mark.parametrize("row", table("nec_310_16_copper.csv"))
def test_ampacity_of_awg_is_nec_table_310_16(row):
    gauge = int(row["awg"])
    assert ampacity.nec_base("raceway60", gauge).number == float(row["a_60c"])
    assert ampacity.nec_base("raceway75", gauge).number == float(row["a_75c"])
    cap = ampacity.nec_breaker_max(gauge)
    assert (cap and cap.number) == (float(row["breaker_max_a"]) if row["breaker_max_a"] else None)


@pytest.mark.parametrize(("gauge", "amps"), [(18, 10), (16, 13), (14, 18), (12, 25)])
def test_ampacity_of_cords_is_nec_400_5_a(gauge, amps):
    # NEC 400.5(A) as printed in a UL cord table (table 11.1); one source, so marked.
    base = ampacity.nec_base("cord", gauge)
    assert base.number == amps and base.mark == ONCE and base.to_verify


@pytest.mark.parametrize(
    ("ambient_c", "factor"),
    [(30, 1.0), (35, 0.94), (40, 0.87), (45, 0.79), (50, 0.71), (55, 0.61), (60, 0.50)],
)
def test_ampacity_ambient_factor_is_table_b_52_14(ambient_c, factor):
    # Table B.52.14, PVC (60 degC: from memory); each also follows from sqrt((70 - t)/40).
    assert ampacity.pvc_factor(ambient_c).number == factor
    assert factor == pytest.approx(((70 - ambient_c) / 40) ** 0.5, abs=0.007)
    assert ampacity.pvc_factor(60).mark == MEMORY


def test_ampacity_rows_of_a_compressor_manual_agree_with_the_ambient_factor():
    # A machine maker's manual prints 2.5 mm2 method B2 three loaded 20 A at 30 degC and the
    # 10 mm2 row 46 A at 30, 40 A at 40 degC: 40/46 = 0.87; at 50 degC 24/34 = 0.71.
    assert pytest.approx(ampacity.pvc_factor(40).number, abs=0.005) == 40 / 46
    assert pytest.approx(ampacity.pvc_factor(50).number, abs=0.005) == 24 / 34


@pytest.mark.parametrize(("ambient_c", "f60", "f75"), [(38, 0.82, 0.88), (40, 0.82, 0.88), (48, 0.58, 0.75)])
def test_ampacity_nec_ambient_factors_are_the_printed_ones(ambient_c, f60, f75):
    # NEC ambient correction 36..40 and 46..50 degC as printed at wiresizes.com.
    assert ampacity.nec_factor(ambient_c, 60).number == pytest.approx(f60, abs=0.005)
    assert ampacity.nec_factor(ambient_c, 75).number == pytest.approx(f75, abs=0.005)


ANY_RUN = st.one_of(
    st.tuples(st.just("iec"), st.sampled_from(("A1", "A2", "B1", "B2", "C", "cord"))),
    st.tuples(st.just("nec"), st.sampled_from(("raceway60", "raceway75", "cord"))),
)


@given(ANY_RUN, st.floats(-20, 90), st.floats(0, 40), st.integers(1, 12), st.integers(0, 8))
def test_ampacity_more_heat_or_company_never_allows_more(run, ambient, more, circuits, others):
    rules, method = run
    for size in ampacity.sizes(rules, method):
        here = ampacity.allowed(rules, method, size, ambient, circuits).number
        hotter = ampacity.allowed(rules, method, size, ambient + more, circuits).number
        fuller = ampacity.allowed(rules, method, size, ambient, circuits + others).number
        assert hotter <= here and fuller <= here


@given(ANY_RUN, st.floats(-20, 65), st.integers(1, 6))
def test_ampacity_a_thicker_conductor_never_carries_less(run, ambient, circuits):
    rules, method = run
    amps = [ampacity.allowed(rules, method, size, ambient, circuits).number
            for size in ampacity.sizes(rules, method)]  # fmt: skip
    assert amps == sorted(amps)


@pytest.mark.parametrize(("curve", "low", "high"), [("B", 3, 5), ("C", 5, 10), ("D", 10, 20)])
def test_breaker_instant_bands_are_those_of_iec_60898(curve, low, high):
    # IEC 60898-1 bands x In (two reprints agree; one maker prints 10 to 15 for D).
    for rating in (6, 16, 32):
        assert breaker.instant(low * rating, rating, curve) == "holds"
        assert breaker.instant(low * rating + 0.01, rating, curve) == "may trip"
        assert breaker.instant(high * rating, rating, curve) == "may trip"
        assert breaker.instant(high * rating + 0.01, rating, curve) == "trips"


def test_breaker_thermal_bounds_are_1_13_and_1_45():
    # IEC 60898-1: no trip at 1.13 In, trip at 1.45 In within an hour up to 63 A.
    assert breaker.within_the_hour(16 * 1.13, 16) == "holds"
    assert breaker.within_the_hour(16 * 1.14, 16) == "may trip"
    assert breaker.within_the_hour(16 * 1.45, 16) == "trips"


@pytest.mark.parametrize(("rating", "load"), [(15, 12), (20, 16)])
def test_breaker_80_percent_rule_of_the_nec(rating, load):
    # NEC 210.20(A) as two trade pages print it: 15 A carries 12 A, 20 A carries 16 A for 3 h.
    assert breaker.required_a(load, "nec", 3) == pytest.approx(rating)
    assert breaker.required_a(load, "nec", 2.9) == load
    assert breaker.required_a(load, "iec", 8) == load
    assert breaker.next_rating_a(breaker.required_a(load + 0.1, "nec", 3), "nec") > rating


def test_breaker_loop_limit_is_voltage_over_the_upper_band():
    # IEC 60364-4-41 411.4.4: 230 V, B16: 230/(5 x 16) = 2.875 ohm; C16 half of it.
    assert breaker.loop_limit_ohm(230, 16, "B") == pytest.approx(2.875)
    assert breaker.loop_limit_ohm(230, 16, "C") == pytest.approx(1.4375)


def test_plugs_for_hours_carry_no_more_than_at_all():
    assert all(plug.hours.number <= plug.rated.number for plug in plugs.PLUGS.values())


@pytest.mark.parametrize(("name", "amps"), [("nema5_15", 12), ("nema5_20", 16)])
def test_plugs_nema_for_hours_is_80_percent(name, amps):
    # Trade pages print 12 and 16 A continuous for these two.
    assert plugs.PLUGS[name].hours.number == pytest.approx(amps)


@pytest.mark.parametrize("row", table("iec60335_1_table11_cord.csv"))
def test_cord_stands_behind_what_its_section_is_for_and_no_more(row):
    section, rated_a = float(row["section_mm2"]), float(row["rated_a"])
    assert coordination.cord_behind_max("iec", section).number == rated_a


@pytest.mark.parametrize("row", table("nec_400_5_cord.csv"))
def test_cord_under_nec_stands_behind_its_table_current(row):
    assert coordination.cord_behind_max("nec", int(row["awg"])).number == float(row["amps"])


def test_cord_of_no_table_has_no_limit_to_stand_behind():
    assert coordination.cord_behind_max("iec", 16.0) is None


@pytest.mark.parametrize(
    ("rating_a", "curve", "uk_ohm"),
    [(16, "B", 2.73), (32, "B", 1.37), (16, "C", 1.37), (32, "C", 0.68), (20, "D", 0.55)],
)
def test_breaker_cold_loop_limit_is_below_the_printed_hot_one(rating_a, curve, uk_ohm):
    """BS 7671 Table 41.3 (from memory) prints 0.95 U0 / Ia; cold at most 0.8 of it by UK practice (from memory),
    two thirds of U0 / Ia by IEC 60364-6: the stricter of both."""
    assert 0.95 * breaker.loop_limit_ohm(230, rating_a, curve) == pytest.approx(uk_ohm, abs=0.01)
    assert breaker.cold_loop_limit_ohm(230, rating_a, curve).number < 0.8 * uk_ohm
    assert breaker.cold_loop_limit_ohm(230, rating_a, curve).mark == "from memory"


@pytest.mark.parametrize(
    ("fault_a", "rating_a", "curve", "a2s"),
    [
        (80.0, 16, "B", 32_000),  # 5 x 16 A: not surely at once, so 80^2 x 5 s
        (80.1, 16, "B", 641.6),  # at once: 80.1^2 x 0.1 s, less than the class
        (387.0, 16, "B", 14_976.9), (388.0, 16, "B", 15_000), (3000.0, 16, "B", 15_000),
        (3001.0, 16, "B", 900_600.1),  # beyond the class's row: by the time alone
        (767.0, 20, "B", 18_000), (767.0, 32, "C", 22_000), (767.0, 16, "C", 18_000),
        (767.0, 40, "B", 58_828.9), (767.0, 16, "D", 58_828.9),  # no row
    ],
)  # fmt: skip
def test_breaker_lets_through_its_class_or_what_the_time_allows(fault_a, rating_a, curve, a2s):
    """EN 60898-1 Table ZA.1 (from memory), IEC 60364-4-43 434.5 (from memory); products by hand."""
    passes = breaker.let_through(fault_a, rating_a, curve)
    assert passes.number == pytest.approx(a2s, rel=1e-4)
    assert (passes.unit, passes.mark) == ("A2s", "from memory")


def test_breaker_class_spares_every_cord_that_may_stand_behind_it():
    """1.5 mm2 bears (115 x 1.5)^2 = 29 756 A2s, IEC 60364-4-43 Table 43A (from memory): an ordinary socket of 0.1 to
    1 ohm is no short-circuit trouble behind the largest breaker that its cord may stand behind."""
    assert conductors.bears_a2s(1.5) == pytest.approx(29_756.25)
    for section in (1.5, 2.5, 4.0):
        rating_a = coordination.cord_behind_max("iec", section).number
        for loop_ohm in (0.1, 0.3, 1.0):
            for curve in "BC":
                fault_a = 230 / loop_ohm
                if breaker.instant(fault_a, rating_a, curve) == "trips":
                    assert breaker.let_through(fault_a, rating_a, curve).number < conductors.bears_a2s(section)


def test_breaker_under_nec_takes_five_times_its_rating():
    assert breaker.cold_loop_limit_ohm(120, 20, "nec").number == pytest.approx(1.2)
