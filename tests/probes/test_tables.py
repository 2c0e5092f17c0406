"""Linearisation tables against the printed NIST tables, a reference library and IEC 60751 values."""

import csv
from pathlib import Path

import pytest
import thermocouple_its90
from tizzone.probes.reading import NO_VALUE_MC
from tizzone.probes.rtd import Platinum
from tizzone.probes.thermocouple import NO_EMF_NV, Thermocouple
from watched import Watched, watch_tables

from host.chips import iec60751, its90
from tools import make_tables

DATA = Path(__file__).resolve().parents[1] / "data" / "probes"
KINDS = "KNJTS"
PRINTED_MV = 0.0005  # half a printed digit


def printed(kind):
    """(t_c, e_mv) of NIST SRD 60's printed table (data/probes/nist_1deg.csv)."""
    with open(DATA / "nist_1deg.csv", encoding="utf-8") as file:
        return [(int(row["t_C"]), float(row[f"E_mV_{kind}"])) for row in csv.DictReader(file) if row[f"E_mV_{kind}"]]


def test_the_tables_in_the_device_are_what_the_script_makes():
    assert make_tables.main(["--check"]) == 0


@pytest.mark.parametrize("kind", KINDS)
def test_every_printed_degree_is_read_within_0_05_k_and_the_printed_rounding(kind):
    # Source: NIST SRD 60. The printed EMF is rounded to 1 µV: its half over the Seebeck coefficient
    # (0.09 K for S near 0 °C) is the table's own uncertainty. No chip code is in this check.
    couple, rows = Thermocouple(kind), printed(kind)
    assert len(rows) == (451 if kind == "T" else 1051)
    for t_c, e_mv in rows:
        allowed = 0.05 + PRINTED_MV * 1000.0 / its90.seebeck_uv_per_k(kind, t_c)
        got = couple.temperature_mc(round(e_mv * 1e6))
        assert abs(got / 1000 - t_c) <= allowed, (t_c, got)


@pytest.mark.parametrize("kind", KINDS)
def test_the_exact_function_is_read_within_0_035_k(kind):
    # Source: thermocouple-its90 1.0.2 (PyPI), which reproduces NIST SRD 60.
    reference = thermocouple_its90.get(kind)
    couple = Thermocouple(kind)
    low, high, _ = make_tables.SPANS[kind]
    worst = 0.0
    for i in range(int(low * 4), int(high * 4) + 1):
        t_c = i / 4
        error = abs(couple.temperature_mc(round(reference.emf(t_c) * 1e6)) / 1000 - t_c)
        if kind == "S" and t_c < 0:  # 4..5 µV/K there, and no oven's business
            assert error <= 0.065
        else:
            worst = max(worst, error)
    assert worst <= 0.035, worst


@pytest.mark.parametrize("kind", KINDS)
def test_cold_junction_emf_is_within_0_02_k_of_the_reference(kind):
    # Source: thermocouple-its90 1.0.2 (PyPI).
    reference, couple = thermocouple_its90.get(kind), Thermocouple(kind)
    for i in range(-400, 1251):
        t_c = i / 10
        error_uv = couple.emf_nv(i * 100) / 1000 - reference.emf(t_c) * 1000
        assert abs(error_uv) <= 0.02 * reference.seebeck(t_c) * 1000, t_c


@pytest.mark.parametrize("kind", KINDS)
def test_the_laptops_reference_functions_agree_with_the_library(kind):
    # Source: thermocouple-its90 1.0.2 (PyPI), compared by others with all printed NIST values.
    reference = thermocouple_its90.get(kind)
    low, high = its90.range_c(kind)
    assert (low, high) == reference.range
    t_c = -200.0 if low < -200 else low
    while t_c <= high:
        assert abs(its90.emf_mv(kind, t_c) - reference.emf(t_c)) < 1e-9
        assert abs(its90.temperature_c(kind, reference.emf(t_c)) - t_c) < 1e-6
        t_c += 7.3


def test_the_worked_cold_junction_example():
    # Source: README of thermocouple-its90: type K, 4.096 mV, terminals at 25 °C -> 124.3 °C.
    couple = Thermocouple("K")
    assert round(couple.temperature_mc(4096000 + couple.emf_nv(25000)) / 1000, 1) == 124.3


@pytest.mark.parametrize("kind", KINDS)
def test_beyond_the_tables_there_is_no_number(kind):
    couple = Thermocouple(kind)
    top_nv = couple.e0_nv + (couple.last << couple.shift)
    for e_nv in (couple.e0_nv - 1, top_nv, top_nv + 10**8, -(10**8)):
        assert couple.temperature_mc(e_nv) == NO_VALUE_MC
    assert couple.temperature_mc(couple.e0_nv) == couple.t_mc[0]
    assert couple.temperature_mc(top_nv - 1) > couple.t_mc[-2]
    assert couple.emf_nv(-57345) == couple.emf_nv(131072) == NO_EMF_NV


@pytest.mark.parametrize("kind", KINDS)
def test_every_intermediate_of_the_tables_is_below_two_to_the_thirty(kind):
    couple = Thermocouple(kind)
    watch_tables(couple)
    top_nv = couple.e0_nv + (couple.last << couple.shift)
    for e_nv in range(couple.e0_nv - 1000, top_nv + 1000, 9973):
        couple.temperature_mc(Watched(e_nv))
    for i in range(couple.last):  # just below each node: the largest fraction
        couple.temperature_mc(Watched(couple.e0_nv + ((i + 1) << couple.shift) - 1))
    for t_mc in range(-60000, 132000, 37):
        couple.emf_nv(Watched(t_mc))


def test_a_type_without_a_table_is_refused():
    with pytest.raises(ValueError, match="type B"):
        Thermocouple("B")


@pytest.mark.parametrize(("rref_ohm", "r0_ohm"), [(400, 100), (430, 100), (4000, 1000), (4300, 1000)])
def test_every_10_degrees_of_iec_60751_within_0_05_k_and_half_a_code(rref_ohm, r0_ohm):
    # Source: IEC 60751 values computed with caldus 1.3 and compared with a printed vendor table
    # (data/probes/rtd_pt100_iec60751.csv); its printed value at -160 °C is a misprint.
    platinum = Platinum(rref_ohm, r0_ohm)
    with open(DATA / "rtd_pt100_iec60751.csv", encoding="utf-8") as file:
        rows = [(int(r["t_C"]), float(r["R_ohm_pt100"])) for r in csv.DictReader(file)]
    seen = 0
    for t_c, r_ohm in rows:
        if -50 <= t_c <= 600:
            code = round(r_ohm / 100 * r0_ohm / rref_ohm * 32768)
            half_code_k = rref_ohm / 32768 / 2 / r0_ohm / 0.0032
            assert abs(platinum.temperature_mc(code) / 1000 - t_c) <= 0.05 + half_code_k
            seen += 1
    assert seen == 66


@pytest.mark.slow
def test_every_code_of_the_platinum_table_against_the_formula_and_below_two_to_the_thirty():
    platinum = Platinum(430, 100)
    for code in range(0, 32768):
        got = platinum.temperature_mc(Watched(code))
        inside = platinum.code_low <= code <= platinum.code_high
        assert (got != NO_VALUE_MC) is inside, code
        if inside:
            assert abs(got / 1000 - iec60751.temperature_c(code * 4.3 / 32768)) <= 0.01


def test_the_closed_inverse_of_iec_60751_agrees_with_the_laptops_function():
    # Source: IEC 60751 for t >= 0: t = (-A + sqrt(A^2 - 4 B (1 - R/R0))) / (2 B).
    a, b = 3.9083e-3, -5.775e-7
    for t_c in range(0, 651, 10):
        closed = (-a + (a * a - 4 * b * (1 - iec60751.ratio(t_c))) ** 0.5) / (2 * b)
        assert abs(iec60751.temperature_c(iec60751.ratio(t_c)) - closed) < 1e-6
