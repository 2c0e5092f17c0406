"""Boiling point, standard atmosphere and fixed points against reference libraries and printed values."""

import csv
from pathlib import Path

import pytest

from host.calibration.fixed_points import FIXED_C, ICE_C, boiling_c, pressure_hpa, slope_k_per_hpa

DATA = Path(__file__).resolve().parents[1] / "data" / "calibrate"


def rows(name):
    with open(DATA / name, encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_boiling_points_against_two_libraries_of_if97():
    # Source: iapws 1.5.5 and seuif97 2.3.8 (PyPI), IAPWS-IF97; data/calibrate/boiling_vs_pressure.csv.
    table = rows("boiling_vs_pressure.csv")
    assert len(table) > 30
    for row in table:
        got = boiling_c(float(row["p_hPa"]))
        assert abs(got - float(row["t_boil_C_iapws"])) <= 0.00005 + 1e-9
        assert abs(got - float(row["t_boil_C_seuif97"])) <= 0.00005 + 1e-9


def test_boiling_points_against_the_library_itself():
    # Source: iapws (PyPI), region 4.
    iapws97 = pytest.importorskip("iapws.iapws97", reason="iapws is not installed")
    for hpa in range(680, 1091, 7):
        assert abs(boiling_c(hpa) - (iapws97._TSat_P(hpa / 10000.0) - 273.15)) < 1e-9


def test_the_check_values_of_if97():
    # Source: IAPWS R7-97 table 36 (from memory; two packages give exactly these).
    for mpa, kelvin in ((0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488)):
        assert abs(boiling_c(mpa * 10000.0) + 273.15 - kelvin) < 5e-7


def test_pressure_and_boiling_over_altitude():
    # Source: ambiance 1.3.1 and fluids 1.3.1 (standard atmosphere), iapws (boiling);
    # data/calibrate/boiling_vs_altitude.csv.
    table = rows("boiling_vs_altitude.csv")
    assert len(table) == 31
    for row in table:
        hpa = pressure_hpa(float(row["h_m_geometric"]))
        assert abs(hpa * 100 - float(row["p_Pa_ambiance_ICAO1993"])) <= 0.3
        assert abs(boiling_c(hpa) - float(row["t_boil_C_iapws"])) <= 0.001
        assert abs(boiling_c(hpa - 30.0) - float(row["t_boil_C_p_minus_30hPa"])) <= 0.001
        assert abs(boiling_c(hpa + 30.0) - float(row["t_boil_C_p_plus_30hPa"])) <= 0.001


def test_standard_atmosphere_against_the_library():
    fluids = pytest.importorskip("fluids.atmosphere", reason="fluids is not installed")
    for altitude_m in range(-400, 3001, 100):
        expected = fluids.ATMOSPHERE_1976(float(altitude_m)).P
        assert abs(pressure_hpa(altitude_m) * 100 - expected) <= 0.3


def test_slope_and_fixed_points():
    # Source: ITS-90 table 1; 0.0277 K/hPa near sea level computed with two packages.
    assert abs(slope_k_per_hpa(1013.25) - 0.0277) < 0.0001
    assert ICE_C == 0.0
    assert FIXED_C["tin"] == 231.928 and FIXED_C["zinc"] == 419.527 and FIXED_C["aluminium"] == 660.323
