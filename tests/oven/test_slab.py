"""Conduction through a plate against textbook solutions of the semi-infinite solid.

Sources: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, chapter II (sections 2.4 fixed
face, 2.9 constant flux); F. P. Incropera et al., Fundamentals of Heat and Mass Transfer, section on the semi-infinite
solid, with its worked example of the buried water main. Formulas and the example from memory.
"""

import csv
import math
from pathlib import Path

import pytest
from scipy.integrate import solve_ivp
from scipy.special import erfc

from host.oven import Slab, preset

HELD = 1e15  # J/K at a face: its temperature stays where it is
DATA = Path(__file__).parents[1] / "data" / "refractories_vdi.csv"


def stone(layers=8, thickness_m=0.03, start_k=300.0, **more):
    return Slab(0.1, thickness_m, 1.20, 2320.0, 958.0, layers, start_k, **more)


def run(slab, seconds, dt_s, front_w=0.0, back_w=0.0):
    for _ in range(round(seconds / dt_s)):
        slab.step(dt_s, front_w, back_w)


def test_slab_fixed_face_follows_the_erfc_solution():
    slab = stone(layers=40, thickness_m=0.12, front_extra_j_k=HELD)
    slab.t_k[0] = 700.0
    run(slab, 300.0, 0.5)
    alpha = 1.20 / (2320.0 * 958.0)
    for node in range(31):  # the rest lies where a finite plate begins to differ
        depth_m = node * 0.12 / 40
        exact_k = 300.0 + 400.0 * erfc(depth_m / (2 * math.sqrt(alpha * 300.0)))
        assert slab.t_k[node] == pytest.approx(exact_k, abs=1.0)


# Constant flux q at the face: Ti + 2 q sqrt(alpha t / pi) / k, q = 10 kW/m2 as a bread draws. The oven's own
# layers must answer within 2 K from 20 s on, four times finer ones within 0.3 K: the error is the grid's.
@pytest.mark.parametrize("seconds", [20.0, 60.0, 120.0])
@pytest.mark.parametrize(("finer", "within_k"), [(1, 2.0), (4, 0.3)])
def test_slab_face_under_constant_flux_follows_the_textbook(seconds, finer, within_k):
    slab = stone(layers=finer * preset("standard").parameters.stone_layers)
    run(slab, seconds, 0.25, front_w=-0.1 * 10000.0)
    effusivity = math.sqrt(1.20 * 2320.0 * 958.0)
    exact_k = 2 * 10000.0 * math.sqrt(seconds / math.pi) / effusivity
    assert 300.0 - slab.t_k[0] == pytest.approx(exact_k, abs=within_k)


@pytest.mark.slow
def test_slab_reproduces_the_worked_example_of_the_buried_main():
    # Soil at 20 C, surface suddenly at -15 C for 60 days, k 0.52 W/mK, 2050 kg/m3, 1840 J/kgK: 0 C at 0.68 m.
    slab = Slab(1.0, 6.0, 0.52, 2050.0, 1840.0, 300, 293.15, front_extra_j_k=HELD)
    slab.t_k[0] = 258.15
    run(slab, 60 * 86400.0, 900.0)
    node = next(i for i, t_k in enumerate(slab.t_k) if t_k > 273.15)
    low_k, high_k = slab.t_k[node - 1], slab.t_k[node]
    depth_m = (node - 1 + (273.15 - low_k) / (high_k - low_k)) * 0.02
    assert depth_m == pytest.approx(0.68, abs=0.005)


def touch(one, two, seconds, dt_s):
    """Hold the front faces of two slabs of 1 m2 together; returns their mean face temperature in K."""
    for _ in range(round(seconds / dt_s)):
        flow_w = 2e5 * (one.t_k[0] - two.t_k[0])
        one.step(dt_s, -flow_w, 0.0)
        two.step(dt_s, flow_w, 0.0)
    assert one.t_k[0] == pytest.approx(two.t_k[0], abs=1.0)
    return (one.t_k[0] + two.t_k[0]) / 2


# Brick and dough as in A. Varlamov, A. Glatz, S. Grasso, The physics of baking good pizza, Phys. Educ. 53
# (2018)
# 065011, arXiv 1806.08790: T0 = (T1 + nu T2) / (1 + nu), nu the ratio of effusivities; brick of 330 C
# meets dough at
# 200..210 C, steel at about 300 C. Properties from memory, the middle of the ranges given there for dough.
@pytest.mark.slow
@pytest.mark.parametrize(
    ("plate", "low_c", "high_c"),
    [((0.86, 2500.0, 880.0), 200.0, 210.0), ((18.0, 7900.0, 500.0), 290.0, 310.0)],
)
def test_slab_two_bodies_meet_at_the_temperature_of_the_effusivities(plate, low_c, high_c):
    dough = (0.5, 700.0, 2250.0)
    one = Slab(1.0, 0.05, *plate, 100, 330.0 + 273.15)
    two = Slab(1.0, 0.012, *dough, 100, 20.0 + 273.15)
    met_c = touch(one, two, 8.0, 0.0005) - 273.15
    ratio = math.sqrt(math.prod(dough) / math.prod(plate))
    assert met_c == pytest.approx((330.0 + ratio * 20.0) / (1 + ratio), abs=1.5)
    assert low_c <= met_c <= high_c


def test_slab_thin_and_conducting_is_one_lump_with_its_exponential():
    # Biot number 0.0004: C dT/dt = -h A (T - Ta)
    slab = Slab(0.1, 0.002, 50.0, 7850.0, 500.0, 2, 500.0)
    capacity_j_k = 0.1 * 0.002 * 7850.0 * 500.0
    for _ in range(60000):
        slab.step(0.005, -1.0 * (slab.t_k[0] - 300.0), 0.0)
    exact_k = 300.0 + 200.0 * math.exp(-300.0 / capacity_j_k)
    assert slab.t_k[1] == pytest.approx(exact_k, abs=0.2)


def test_slab_conductivity_that_grows_carries_the_integral_of_k_at_rest():
    slab = Slab(1.0, 0.04, 0.05, 60.0, 840.0, 8, 400.0, slope_per_k=0.003, reference_k=373.15,
                front_extra_j_k=HELD, back_extra_j_k=HELD)  # fmt: skip
    slab.t_k[0], slab.t_k[-1] = 700.0, 350.0
    run(slab, 20000.0, 2.0)
    flow = [(slab._base_w_k + slab._grow_w_k2 * (a + b)) * (a - b) for a, b in
            zip(slab.t_k[:-1], slab.t_k[1:], strict=True)]  # fmt: skip
    exact_w = 0.05 / 0.04 * (350.0 + 0.0015 * (326.85**2 - 23.15**2))
    assert flow == pytest.approx([exact_w] * 8, rel=1e-3)


def test_slab_agrees_with_a_general_solver():
    slab = stone()
    begin_k = [300.0 + 5.0 * i for i in range(9)]
    slab.t_k[:] = begin_k
    run(slab, 600.0, 0.25, front_w=200.0, back_w=-50.0)
    answer = solve_ivp(
        lambda _t, y: slab.slopes(list(y), 200.0, -50.0),
        (0, 600.0),
        begin_k,
        rtol=1e-9,
        method="LSODA",
    )
    assert slab.t_k == pytest.approx(list(answer.y[:, -1]), abs=0.02)


def test_slab_keeps_the_energy_put_in():
    slab = stone()
    run(slab, 1000.0, 0.25, front_w=300.0, back_w=100.0)
    assert slab.energy_j(300.0) == pytest.approx(400.0 * 1000.0, rel=1e-9)


def test_slab_largest_step_bounds_what_is_stable():
    slab = stone()
    slab.t_k[4] = 900.0
    run(slab, 4000.0, slab.largest_step_s() * 0.99)
    assert max(slab.t_k) - min(slab.t_k) < 5.0
    slab.t_k[4] += 1.0
    run(slab, 4000.0, slab.largest_step_s() * 2.5)
    assert not max(slab.t_k) - min(slab.t_k) < 5.0


@pytest.mark.parametrize(("thickness_m", "layers"), [(0.0, 8), (-0.01, 8), (float("nan"), 8), (0.03, 1)])
def test_slab_refuses_what_is_no_plate(thickness_m, layers):
    with pytest.raises(ValueError, match="slab"):
        stone(layers=layers, thickness_m=thickness_m)


def test_slab_of_the_standard_oven_is_the_handbook_fireclay():
    with DATA.open() as lines:
        rows = {row["name"]: row for row in csv.DictReader(x for x in lines if not x.startswith("#"))}
    row, p = rows["High-duty fireclay"], preset("standard").parameters
    assert (p.stone_kg_m3, p.stone_w_mk, p.stone_j_kgk) == tuple(
        float(row[k]) for k in ("density_kg_m3", "k_w_mk", "cp_j_kgk")
    )
