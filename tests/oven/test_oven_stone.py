"""The stone under a bread and around it, and what a probe in it is told."""

import copy

import pytest

from host.oven import preset, sample
from host.oven.parameters import NAMED
from host.oven.stone import Stone

QUIET = {"turbulence_k": 0.0, "mains_wander": 0.0}


def rested(name="standard", **changes):
    plant = preset(name, **QUIET, **changes)
    share = 0.45
    for _ in range(7200):
        off_k = 450.0 - plant.temperature_c("dome")
        if abs(off_k) < 25.0:
            share = min(1.0, max(0.0, share + 0.0004 * off_k))
        out = min(1.0, max(0.0, share + 0.02 * off_k))
        plant.step(1.0, {"top": out, "deck": out})
    return plant, share


def one_bread(plant, share):
    """(drop of the face under the bread, of the rim's face, of the probe), K: 90 s, door 8 s before and after."""
    begin = plant.true_c("stone"), plant.true_c("rim"), plant.temperature_c("stone")
    low = list(begin)
    plant.event("load", bake_s=90, water_g=25)
    plant.event("door", seconds=8)
    for second in range(1, 600):
        if second == 91:
            plant.event("door", seconds=8)
        off_k = 450.0 - plant.temperature_c("dome")
        out = 0.0 if plant.door_open else min(1.0, max(0.0, share + 0.03 * off_k))
        plant.step(1.0, {"top": out, "deck": out})
        now = plant.true_c("stone"), plant.true_c("rim"), plant.temperature_c("stone")
        low = [min(pair) for pair in zip(low, now, strict=True)]
    return tuple(a - b for a, b in zip(begin, low, strict=True))


# Of a true drop of about 74 K another simulation saw 27-32 K at 7.5 mm, and 13-15 K at its rim
@pytest.mark.parametrize("name", ["light", "standard", "heavy"])
def test_stone_probe_sees_of_a_bread_what_its_place_lets_it_see(name):
    seen = {}
    for place, changes in {
        "face": {"stone_probe_depth_mm": 0.0},
        "deep": {"stone_probe_depth_mm": 7.5},
        "rim": {"stone_probe_depth_mm": 0.0, "stone_probe_from_middle_mm": 250.0},
    }.items():
        face_k, rim_k, seen[place] = one_bread(*rested(name, **changes))
    assert 69.0 <= face_k <= 83.0  # of 204 other simulated ovens, from memory
    assert seen["face"] == pytest.approx(face_k, abs=2.0)
    assert 26.0 <= seen["deep"] <= 33.0
    assert seen["rim"] <= rim_k <= 15.0
    assert seen["rim"] >= 4.0


def test_stone_probe_between_the_layers_is_their_mean():
    p = NAMED["standard"]
    for depth_mm, node, part in ((0.0, 0, 0.0), (7.5, 2, 0.5), (30.0, 9, 1.0), (99.0, 9, 1.0)):
        stone = Stone(preset("standard", stone_probe_depth_mm=depth_mm).parameters, 300.0)
        stone.middle.t_k = [300.0 + 10.0 * i for i in range(p.stone_layers + 1)]
        assert stone.seen_k() == pytest.approx(300.0 + 10.0 * (node + part))


def test_stone_probe_in_the_rim_knows_nothing_of_the_middle():
    stone = Stone(preset("standard", stone_probe_from_middle_mm=300.0).parameters, 300.0)
    stone.middle.t_k = [900.0] * len(stone.middle.t_k)
    assert stone.seen_k() == 300.0


def test_stone_columns_even_out_and_keep_their_heat():
    stone = Stone(NAMED["standard"], 300.0)
    stone.middle.t_k = [400.0] * len(stone.middle.t_k)
    before_j = stone.energy_j(0.0)
    for _ in range(20_000):
        stone.step(0.5, 0.0, 0.0, 0.0, 0.0)
    assert stone.energy_j(0.0) == pytest.approx(before_j, rel=1e-9)
    assert stone.rim.t_k[3] == pytest.approx(stone.middle.t_k[3], abs=0.5)


def test_stone_poor_contact_reads_towards_the_air_and_later():
    good, _ = rested()
    poor = copy.deepcopy(good)
    poor.stone_probe_contact = 0.6
    for _ in range(300):
        for plant in (good, poor):
            plant.step(1.0, {"top": 0.45, "deck": 0.45})
    air_c, stone_c = good.true_c("dome"), good.temperature_c("stone")
    assert air_c < poor.temperature_c("stone") < stone_c
    assert poor.temperature_c("stone") == pytest.approx(air_c + 0.6 * (stone_c - air_c), abs=1.0)


def test_stone_taken_out_draws_nothing_and_its_probe_hangs_in_the_air():
    plant = sample(3, stone_in=0.0, **QUIET)
    for _ in range(480):  # until nothing rises any more: the tip's lag is then none
        plant.step(30.0, {"top": 0.4, "deck": 0.4})
    assert plant.stone.energy_j(plant.ambient_c + 273.15) == pytest.approx(0.0, abs=1e-3)
    assert plant.temperature_c("stone") == pytest.approx(plant.true_c("dome"), abs=2.0)
    account = plant.energy()
    assert abs(account["residual_j"]) < 1e-3 * account["in_j"]
