"""Rules and margins against published values and against python-control. Sources beside each check."""

import csv
import math
from pathlib import Path

import control
import numpy as np
import pytest
import textbook

DATA = Path(__file__).parents[1] / "data" / "control" / "robustness.csv"
ROWS = {row["name"]: row for row in csv.DictReader(DATA.open(encoding="utf-8"))}

# name of the row: (gain, delay, lags, integrating, form of the controller)
PLANTS = {
    "FOPDT k=1 tau=1 th=1 SIMC tc=th": (1, 1, [1], False, "series"),
    "FOPDT k=1 tau=5 th=1 SIMC tc=th": (1, 1, [5], False, "series"),
    "FOPDT k=1 tau=8 th=1 SIMC tc=th": (1, 1, [8], False, "series"),
    "FOPDT k=1 tau=20 th=1 SIMC tc=th": (1, 1, [20], False, "series"),
    "FOPDT k=1 tau=100 th=1 SIMC tc=th": (1, 1, [100], False, "series"),
    "integrating kp=1 th=1 SIMC tc=th (Kc=.5/th, tI=8th)": (1, 1, [], True, "series"),
    "E1 1/((s+1)(0.2s+1)) half rule PI": (1, 0, [1, 0.2], False, "series"),
    "1/(s+1)^4 half rule PI (tau1=1.5 th=2.5)": (1, 0, [1, 1, 1, 1], False, "series"),
    "1/(s+1)^4 half rule PID series tau1=1.5 tau2=1 th=1.5 tc=th": (1, 0, [1, 1, 1, 1], False, "series"),
    "ZN PI 0.45Ku Pu/1.2": (1, 1, [10], False, "ideal"),
    "TL PI Ku/3.2 2.2Pu": (1, 1, [10], False, "ideal"),
    "SIMC PI tc=th": (1, 1, [10], False, "ideal"),
    "SIMC PI tc=3th": (1, 1, [10], False, "ideal"),
    "ZN PID 0.6Ku Pu/2 Pu/8 (ideal, N=10)": (1, 1, [10], False, "ideal"),
    "TL PID Ku/2.2 2.2Pu Pu/6.3 (ideal, N=10)": (1, 1, [10], False, "ideal"),
}


def loop_of(tuning, name):
    gain, delay, lags, integrating, form = PLANTS[name]
    kc, ti, td = (float(ROWS[name][key]) for key in ("Kc", "tauI", "tauD"))

    def loop(w):
        plant = gain * tuning.lagged(w, delay, *lags) / (complex(0, w) if integrating else 1)
        return plant * (textbook.series(w, kc, ti, td) if form == "series" else textbook.ideal(w, kc, ti, td, td / 10))

    return loop


@pytest.mark.parametrize("name", PLANTS)
def test_margins_of_published_cases_agree(tuning, name):
    # Skogestad 2003 table 1 and a sweep that is not ours: tests/data/control/README.md
    row = ROWS[name]
    found = tuning.margins(loop_of(tuning, name), 0.003, 60.0, 1500)
    assert found["ms"] == pytest.approx(float(row["Ms"]), rel=0.003)
    # SIMC on a plain delay has Mt exactly 1 at frequency 0
    assert found["mt"] == pytest.approx(float(row["Mt"]), rel=0.01)
    assert found["pm_deg"] == pytest.approx(float(row["PM_deg"]), abs=0.1)
    assert found["wc"] == pytest.approx(float(row["wc"]), rel=0.002)
    if row["GM"] == "inf":
        assert found["gm"] is None
    else:
        assert found["gm"] == pytest.approx(float(row["GM"]), rel=0.002)
        assert found["w180"] == pytest.approx(float(row["w180"]), rel=0.002)


@pytest.mark.parametrize(
    "lags, kc, ti, td",
    [([50.0, 10.0, 5.0], 4.0, 60.0, 8.0), ([200.0, 20.0, 12.0], 6.0, 150.0, 20.0)],
)
def test_margins_without_delay_agree_with_python_control(tuning, lags, kc, ti, td):
    # PyPI `control` 0.10: stability_margins of the same loop as a transfer function
    s = control.tf("s")
    plant = 0.8 / np.prod([lag * s + 1 for lag in lags])
    loop = plant * kc * (1 + 1 / (ti * s) + td * s / (0.1 * td * s + 1))
    gm, pm, sm, w180, wc, _ = control.stability_margins(loop)
    found = tuning.margins(
        lambda w: 0.8 * tuning.lagged(w, 0, *lags) * textbook.ideal(w, kc, ti, td, td / 10), 1e-4, 10.0, 1500
    )
    assert found["pm_deg"] == pytest.approx(pm, abs=0.05)
    assert found["wc"] == pytest.approx(wc, rel=0.001)
    assert 1 / found["ms"] == pytest.approx(sm, rel=0.005)
    assert found["gm"] == pytest.approx(gm, rel=0.001)
    assert found["w180"] == pytest.approx(w180, rel=0.001)


@pytest.mark.parametrize("name, tau, tauc", [
    ("FOPDT k=1 tau=5 th=1 SIMC tc=th", 5, 1), ("FOPDT k=1 tau=20 th=1 SIMC tc=th", 20, 1),
    ("SIMC PI tc=th", 10, 1), ("SIMC PI tc=3th", 10, 3),
])  # fmt: skip
def test_simc_settings_are_the_published_ones(tuning, name, tau, tauc):
    # Skogestad 2003: Kc = tau1 / (k (tauc + theta)), tauI = min(tau1, 4 (tauc + theta))
    kc, ti, _ = tuning.simc(1.0, tau, 1.0, tauc)
    assert (kc, ti) == pytest.approx((float(ROWS[name]["Kc"]), float(ROWS[name]["tauI"])))


def test_simc_of_an_integrating_plant_is_the_published_one():
    # Skogestad 2003: Kc = 0.5 / (kp theta), tauI = 8 theta for tauc = theta
    assert textbook.simc_integrating(2.0, 3.0, 3.0)[:2] == pytest.approx((0.5 / 6.0, 24.0))


def test_half_rule_gives_the_worked_examples():
    # Skogestad 2003, worked example: (-0.3s+1)(0.08s+1) / ((2s+1)(s+1)(0.4s+1)(0.2s+1)(0.05s+1)^3); its lead
    # takes 0.08 off the 0.2 lag, the inverse response 0.3 counts as delay: first order 2.5, 1.47, second 2, 1.2, 0.77
    lags = [2.0, 1.0, 0.4, 0.2 - 0.08, 0.05, 0.05, 0.05]
    kept, theta = textbook.half_rule(lags, 0.3, 1)
    assert (kept[0], theta) == pytest.approx((2.5, 1.47))
    kept, theta = textbook.half_rule(lags, 0.3, 2)
    assert (*kept, theta) == pytest.approx((2.0, 1.2, 0.77))
    kept, theta = textbook.half_rule([1, 1, 1, 1], 0.0, 1)  # 1/(s+1)^4: 1.5 and 2.5
    assert (kept[0], theta) == pytest.approx((1.5, 2.5))


def test_ideal_form_answers_like_the_series_form(tuning):
    ideal = tuning.to_ideal(3.0, 40.0, 10.0)
    for w in (0.001, 0.02, 0.3):
        assert textbook.ideal(w, *ideal) == pytest.approx(textbook.series(w, 3.0, 40.0, 10.0))


@pytest.mark.parametrize(
    "ratio, low_pct, period",
    [(1, 11, 2.980), (2, 15, 3.327), (5, 18, 3.666), (10, 18, 3.818), (20, 19, 3.905)],
)
def test_relay_estimate_is_low_by_the_describing_function_error(tuning, ratio, low_pct, period):
    # ideal relay on k e^-s / (tau s + 1), closed form: a = 1 - e^(-1/tau), P = 2 tau ln(2 e^(1/tau) - 1)
    amplitude = 1.0 - math.exp(-1.0 / ratio)
    assert 2 * ratio * math.log(2 * math.exp(1 / ratio) - 1) == pytest.approx(period, abs=0.001)
    loop = tuning.margins(lambda w: tuning.lagged(w, 1.0, ratio), 0.01, 10.0, 1500)
    estimate = textbook.relay_gain(1.0, amplitude)
    assert 100 * (1 - estimate / loop["gm"]) == pytest.approx(low_pct, abs=0.7)


def test_relay_gain_with_hysteresis_takes_it_off_the_amplitude():
    assert textbook.relay_gain(1.0, 5.0, 3.0) == pytest.approx(textbook.relay_gain(1.0, 4.0))


def test_ultimate_rules_give_the_worked_plant():
    # k = 1, tau = 10, theta = 1: Ku 16.3506, Pu 3.8500
    ku, pu = 16.3506, 3.8500
    for name, got in (
        ("ZN PI 0.45Ku Pu/1.2", textbook.ziegler_nichols(ku, pu)),
        ("TL PI Ku/3.2 2.2Pu", textbook.tyreus_luyben(ku, pu)),
        ("ZN PID 0.6Ku Pu/2 Pu/8 (ideal, N=10)", textbook.ziegler_nichols(ku, pu, True)),
        ("TL PID Ku/2.2 2.2Pu Pu/6.3 (ideal, N=10)", textbook.tyreus_luyben(ku, pu, True)),
    ):
        want = [float(ROWS[name][key]) for key in ("Kc", "tauI", "tauD")]
        assert got == pytest.approx(want, rel=0.001)


def test_power_model_through_two_levels_recovers_its_terms(tuning):
    a, b = 0.06, 60.0
    outs = [textbook.steady_pct(a, b, level, 20.0) for level in (150.0, 220.0)]
    assert tuning.power_model(150.0, outs[0], 220.0, outs[1], 20.0) == pytest.approx((a, b), rel=1e-6)
    # Stefan-Boltzmann shape: (T/1000)^4 in kelvin
    assert textbook.steady_pct(0.0, 60.0, 450.0, 20.0) == pytest.approx(60.0 * (0.72315**4 - 0.29315**4))


@pytest.mark.parametrize(
    "levels",
    [(150, 30, 220, 25), (150, 0, 220, 25), (150, 20, 160, 25), (150, float("nan"), 220, 30), (30, 5, 220, 30)],
)
def test_power_model_of_nonsense_is_none(tuning, levels):
    assert tuning.power_model(*levels, 20.0) is None
