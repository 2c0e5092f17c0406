"""The virtual tests: presets and sampler against what household ovens do in published ones.

Ranges: preheat by 180 K in 8-14 min and 250-450 W to hold 200 degrees (common practice, no source); the soaked brick
within EEI 62-132 of Regulation (EU) 65/2014, Annex II (class limits from memory), after the order of 40-55 min.
"""

import math
from functools import partial

import pytest

from host.oven import other, preset, published, sample, third
from host.oven.slab import Slab


@pytest.mark.parametrize("name", ["light", "standard", "heavy"])
def test_published_tests_find_each_preset_an_ordinary_oven(name):
    found = published.figures(partial(preset, name))
    assert 8.0 <= found["preheat_min"] <= 14.0
    assert 250.0 <= found["holding_w"] <= 450.0
    assert 62.0 <= found["eei"] <= 132.0
    assert 40.0 <= found["brick_min"] <= 55.0


@pytest.mark.slow
def test_published_tests_find_the_sampler_ordinary_ovens():
    # of 200 seeds one in fifty lies outside, by 6 % at most (`python -m tests.bench.published --ovens 200`)
    found = [published.figures(partial(sample, seed)) for seed in range(60, 68)]
    for name, low, high in (("preheat_min", 8.0, 14.0), ("holding_w", 250.0, 450.0), ("eei", 62.0, 132.0)):
        inside = sum(low <= each[name] <= high for each in found)
        assert inside >= len(found) - 1, name
        assert all(0.94 * low <= each[name] <= 1.06 * high for each in found), name


@pytest.mark.parametrize("make", [third, other])
def test_published_tests_find_ordinary_ovens_of_lumps_too(make):
    found = [published.empty_figures(partial(make, seed)) for seed in range(40, 46)]
    assert all(0.94 * 8.0 <= each["preheat_min"] <= 14.0 for each in found)
    assert all(0.94 * 250.0 <= each["holding_w"] <= 1.06 * 450.0 for each in found)


def test_three_lumps_air_reaches_the_probe_as_air_moves_through_a_cavity():
    """0.4 to 1.4 m at 0.15 to 0.5 m/s."""
    for seed in range(40):
        p = other(seed).parameters
        assert 0.4 - 1e-9 <= p.delay_s * p.dome_probe_shut_m_s <= 1.4 + 1e-9


def test_published_standard_energy_is_the_regulations():
    # 60, 65 and 70 litres: 0.802, 0.823 and 0.844 kWh
    assert [published.standard_energy_kwh(v) for v in (60, 65, 70)] == pytest.approx([0.802, 0.823, 0.844])


def test_published_brick_is_230_by_114_by_64_and_keeps_its_heat():
    load = published.Brick()
    assert load.surface_m2 == pytest.approx(0.0965, abs=0.0002)
    capacity = sum(load.half.capacity_j_k(i) for i in range(len(load.half.t_k))) * 2
    assert capacity == pytest.approx(0.920 * 850 + 1.050 * 4190, rel=1e-9)
    for _ in range(600):
        load.step(0.5, 473.15, 473.15, 1013.0)
    # in saturated steam nothing evaporates below boiling
    assert load.evaporated_g == pytest.approx(0.0, abs=1.0)
    assert 5.0 < load.core_c < load.half.t_k[0] - 273.15


def test_published_brick_centre_warms_as_the_block_of_three_sides_does():
    """A face held warm: the block's product solution (Carslaw and Jaeger, section 5.6, from memory)."""
    load = published.Brick()
    load.half.t_k = [300.0] * len(load.half.t_k)
    half: Slab = load.half
    half.front_j_k = 1e15
    half.t_k[0] = 400.0
    t_s = 1500.0
    for _ in range(round(t_s / 0.5)):
        half.step(0.5, 0.0, 0.0)
    diffusivity = 0.9 / ((0.920 + 1.050) / (0.230 * 0.114 * 0.064) * (0.920 * 850 + 1.050 * 4190) / 1.970)

    def middle(side_m):
        odd = [2 * n + 1 for n in range(20)]
        decays = [math.exp(-diffusivity * (m * math.pi / side_m) ** 2 * t_s) for m in odd]
        return sum(4 / math.pi * (-1) ** (m // 2) / m * decay for m, decay in zip(odd, decays, strict=True))

    left = math.prod(middle(side_m) for side_m in published.Brick.SIZE_M)
    assert load.core_c + 273.15 == pytest.approx(400.0 - 100.0 * left, abs=3.0)


def test_published_saturation_is_that_of_the_steam_tables():
    from iapws.iapws97 import _PSat_T

    for t_c in (5.0, 40.0, 70.0, 99.0):
        assert published.saturation_hpa(t_c) == pytest.approx(_PSat_T(t_c + 273.15) * 1e4, rel=0.01)
