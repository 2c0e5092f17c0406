"""How hot, how fast, how much: the simulated ovens beside ranges from memory.

The ranges are those of 204 other simulated domestic ovens of 2.4..3.5 kW with the stone in, by another program: from
memory, not published, and nothing in them was checked against a real oven. There, at 450 degrees a welded relay raised
the air by 9..20 K in the first minute, 480 was passed after 94..434 s, and left alone they ended at 522..839 degrees.
The stone was -47..+23 K from the dome when that arrived and +10..+34 K at rest; a bread took 69..83 K from it. These
ovens are set to published tests instead (test_oven_published.py), hold more heat in their walls and lose less: they
are slower, and run away more slowly. Where they leave the range it is said.
"""

import copy

import pytest
from scipy.optimize import brentq, fsolve

from host.oven import ThreeLump, other, preset, sample, third

ON = {"top": 1.0, "deck": 1.0}
QUIET = {"turbulence_k": 0.0, "mains_wander": 0.0}


def held(plant, seconds, setpoint_c=450.0):
    """Hold the dome with proportional-integral action; returns the mean share of power in the last 10 min."""
    share, last = 0.5, []
    for _ in range(round(seconds)):
        deviation_k = setpoint_c - plant.temperature_c("dome")
        share = min(1.0, max(0.0, share + 0.0004 * deviation_k))
        out = min(1.0, max(0.0, share + 0.02 * deviation_k))
        plant.step(1.0, {"top": out, "deck": out})
        last = [*last[-599:], out]
    return sum(last) / len(last)


def figures(plant):
    """Minutes to 450, stone then and at rest (K from the dome), holding power, and a twin at rest."""
    while plant.temperature_c("dome") < 450.0 and plant.time_s < 7200.0:
        plant.step(1.0, ON)
    minutes, then_k = plant.time_s / 60.0, plant.true_c("stone") - 450.0
    share = held(plant, 7200)
    power_w = share * (plant.parameters.top_w + plant.parameters.deck_w)
    return minutes, then_k, plant.true_c("stone") - 450.0, power_w, plant


@pytest.fixture(scope="module", params=["light", "standard", "heavy"])
def named(request):
    return request.param, figures(preset(request.param, **QUIET))


def test_oven_reaches_450_and_holds_it_as_such_ovens_do(named):
    name, (minutes, then_k, rest_k, power_w, _) = named
    wanted = {"light": (47.7, 1290.0), "standard": (48.5, 1280.0), "heavy": (55.3, 1410.0)}[name]  # measured here
    assert minutes == pytest.approx(wanted[0], abs=1.0)
    assert power_w == pytest.approx(wanted[1], rel=0.03)
    assert -47.0 <= then_k <= 23.0
    assert 10.0 <= rest_k <= 34.0


def test_oven_holding_power_is_the_root_of_the_stated_equations(named):
    # the same figure without any stepping: the share at which all derivatives vanish and the probe's tip is at 450
    _, (*_, power_w, plant) = named

    def tip_c(share):
        heat = {"top": share, "deck": share}
        at_rest = fsolve(lambda y: plant.derivatives(list(y), heat), plant.state_k(), xtol=1e-10)
        return at_rest[5] - 273.15

    share = brentq(lambda s: tip_c(s) - 450.0, 0.3, 0.8, xtol=1e-5)
    p = plant.parameters
    assert share * (p.top_w + p.deck_w) == pytest.approx(power_w, rel=0.01)


def test_oven_with_a_welded_relay_runs_away_as_such_ovens_do(named):
    plant = copy.deepcopy(named[1][-1])
    begin_c, passed = plant.true_c("dome"), None
    for second in range(1, 6 * 3600):
        plant.step(1.0, ON)
        if second == 60:
            assert 6.0 <= plant.true_c("dome") - begin_c <= 20.0  # from memory 9..20 K, of lighter walls
        if passed is None and plant.temperature_c("dome") >= 480.0:
            passed = second
            assert 94 <= second <= 434
    assert 522.0 <= plant.true_c("dome") <= 839.0


def test_oven_bread_takes_from_the_stone_what_breads_take(named):
    # laid through a door open for 8 s, taken out the same way after 90 s
    plant = copy.deepcopy(named[1][-1])
    begin_c, low_c, back_s = plant.true_c("stone"), 1e9, None
    share = 0.55
    plant.event("load", bake_s=90, water_g=25)
    plant.event("door", seconds=8)
    for second in range(1, 900):
        if second == 91:
            plant.event("door", seconds=8)
        deviation_k = 450.0 - plant.temperature_c("dome")
        if abs(deviation_k) < 25.0:
            share = min(1.0, max(0.0, share + 0.0002 * deviation_k))
        out = min(1.0, max(0.0, share + 0.03 * deviation_k))
        plant.step(1.0, {"top": out, "deck": out})
        low_c = min(low_c, plant.true_c("stone"))
        if back_s is None and second > 95 and plant.true_c("stone") > begin_c - 10.0:
            back_s = second
    assert 69.0 <= begin_c - low_c <= 83.0
    # from memory 260-354 s, from when is not known; here the rim feeds the spot, counted from the laying
    assert 200 <= back_s <= 354


def ripple_k(plant, window_s, share):
    """Mean peak to peak of the dome reading within a window, both elements together, K."""
    per_window = round(window_s / 0.25)
    seen = []
    for tick in range(round(1200 / 0.25)):
        conducts = 1.0 if (tick * 0.25) % window_s < share * window_s - 0.124 else 0.0
        plant.step(0.25, {"top": conducts, "deck": conducts})
        seen.append(plant.temperature_c("dome"))
    last = [seen[-k * per_window : len(seen) - (k - 1) * per_window] for k in (1, 2, 3, 4)]
    return sum(max(window) - min(window) for window in last) / 4


# From memory, of the other ovens: the band's floor with nothing disturbing, by a probe of 7.5 s that reads the air
# alone: 10 s 0.2..0.6 K, 20 s 0.8..1.4, 30 s 1.6..2.6 K, 60 s 5..7 K. Asked of such a tip: no more than that. A sheath
# of 3 mm shows less yet.
@pytest.mark.parametrize(("window_s", "high_k"), [(10, 0.6), (20, 1.4), (30, 2.6), (60, 7.0)])
def test_oven_window_ripple_is_at_most_that_of_the_air_and_less_behind_a_sheath(named, window_s, high_k):
    name, figure = named
    p = figure[-1].parameters
    share = figure[3] / (p.top_w + p.deck_w)
    airy = preset(name, dome_probe_mm=0.0, **QUIET)
    held(airy, 5400)
    sheathed_k, airy_k = ripple_k(copy.deepcopy(figure[-1]), window_s, share), ripple_k(airy, window_s, share)
    assert 0.0 < sheathed_k < airy_k <= high_k
    assert airy_k > 0.02 * window_s / 10


@pytest.mark.slow
@pytest.mark.parametrize("make", [sample, other, third])
@pytest.mark.parametrize("seed", range(21, 25))
def test_oven_random_ones_lie_within_the_families_range(make, seed):
    plant = make(seed, **QUIET)
    power_w = plant.parameters.top_w + plant.parameters.deck_w
    assert 2400.0 <= power_w <= 3500.0
    minutes, then_k, rest_k, hold_w, plant = figures(plant)
    assert 20.0 <= minutes <= 90.0
    assert 800.0 <= hold_w <= 0.82 * power_w
    # three lumps: a slow stone is part of the structure
    lag_k = -110.0 if isinstance(plant, ThreeLump) else -75.0
    assert lag_k <= then_k <= 35.0
    assert 3.0 <= rest_k <= 60.0
    plant.step(600.0, ON)
    for _ in range(30):
        plant.step(600.0, ON)
    assert 500.0 <= plant.true_c("dome") <= 900.0


def test_lamp_stays_warm_to_the_touch_at_most():
    plant = preset("lamp", **QUIET)
    for _ in range(60):
        plant.step(60.0, ON)
    for place in ("dome", "stone"):
        assert 60.0 <= plant.temperature_c(place) <= 80.0
