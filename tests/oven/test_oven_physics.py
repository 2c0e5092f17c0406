"""The whole oven: its account of energy, its equations against a general solver, single lumps against
exponentials."""

import copy
import math

import pytest
from scipy.integrate import solve_ivp

from host.oven import other, preset, sample, third

QUIET = {"turbulence_k": 0.0, "mains_wander": 0.0}
ON = {"top": 1.0, "deck": 1.0}
KINDS = {
    "standard": lambda: preset("standard"),
    "light": lambda: preset("light"),
    "heavy": lambda: preset("heavy"),
    "lamp": lambda: preset("lamp"),
    "random": lambda: sample(11),
    "three lumps": lambda: other(11),
    "roofed": lambda: third(11),
}


def evening(plant, dt_s):
    """Preheat, two breads with the door, a spell with the fan stopped, low mains and one element, cooling."""

    def run(seconds, heat):
        for _ in range(round(seconds / dt_s)):
            plant.step(dt_s, heat)

    run(2400, ON)
    for _ in range(2):
        plant.event("door", seconds=12)
        plant.event("load", bake_s=90, water_g=25)
        run(300, {"top": 0.8, "deck": 0.4})
    plant.fan_running = False
    plant.event("mains", ratio=0.9)
    plant.element_ok["deck"] = False
    run(600, ON)
    plant.event("load", bake_s=1000, water_g=40)
    run(120, {"top": 0.3})
    plant.event("unload")
    run(1800, {})


@pytest.mark.slow
@pytest.mark.parametrize("dt_s", [0.25, 60.0])
@pytest.mark.parametrize("kind", KINDS)
def test_oven_energy_in_is_stored_plus_lost_over_an_evening(kind, dt_s):
    plant = KINDS[kind]()
    evening(plant, dt_s)
    account = plant.energy()
    assert abs(account["residual_j"]) <= 0.001 * account["in_j"]
    assert 0.3 * account["in_j"] < account["lost_j"] < account["in_j"]


def test_oven_energy_in_is_power_times_time():
    plant = preset("standard", **QUIET)
    plant.step(600.0, {"top": 0.5, "deck": 0.25})
    plant.event("mains", ratio=1.1)
    plant.step(600.0, {"top": 1.0})
    p = plant.parameters
    exact_j = 600.0 * (0.5 * p.top_w + 0.25 * p.deck_w + 1.1**2 * p.top_w)
    assert plant.energy()["in_j"] == pytest.approx(exact_j, rel=1e-9)


def test_oven_energy_account_notices_heat_that_was_not_booked():
    plant = preset("standard")
    evening(plant, 1.0)
    plant.stone.middle.t_k[3] += 20.0
    account = plant.energy()
    assert abs(account["residual_j"]) > 0.001 * account["in_j"]


def solved(plant, seconds, heat):
    """State after `seconds` by LSODA from the plant's present state, its stated equations and nothing else."""
    answer = solve_ivp(lambda _t, y: plant.derivatives(list(y), heat), (0.0, seconds), plant.state_k(),
                       method="LSODA", rtol=1e-8, atol=1e-6)  # fmt: skip
    assert answer.success
    return list(answer.y[:, -1])


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["standard", "light", "heavy", "random"])
def test_oven_agrees_with_a_general_solver_through_preheat_door_and_cooling(kind):
    plant = sample(11, **QUIET) if kind == "random" else preset(kind, **QUIET)
    for seconds, heat, door in (
        (1800.0, {"top": 1.0, "deck": 1.0}, False),
        (600.0, {"top": 0.2, "deck": 0.9}, False),
        (20.0, {"top": 0.0, "deck": 0.0}, True),
        (1200.0, {"top": 0.0, "deck": 0.0}, False),
    ):
        plant.fan_running = seconds != 600.0
        if door:
            plant.event("door", seconds=seconds)
        exact_k = solved(plant, seconds, heat)
        for _ in range(round(seconds / 0.25)):
            plant.step(0.25, heat)
        # first-order steps of 0.25 s: worst in the air right after the door opens
        assert plant.state_k() == pytest.approx(exact_k, abs=0.7)


def test_oven_long_steps_and_short_steps_give_the_same_preheat():
    short, long = preset("standard", **QUIET), preset("standard", **QUIET)
    for _ in range(40):
        long.step(60.0, ON)
    for _ in range(40 * 240):
        short.step(0.25, ON)
    assert long.state_k() == pytest.approx(short.state_k(), abs=0.2)


def test_lamp_shade_alone_cools_by_its_exponential():
    plant = preset("lamp", bulb_shade_w_k=0.0, box_casing_w_k=0.0, **QUIET)
    plant._shades_k[0] += 60.0
    for _ in range(400):
        plant.step(0.25, {})
    p = plant.parameters
    exact_k = 60.0 * math.exp(-100.0 * p.shade_room_w_k / p.shade_j_k)
    assert plant.true_c("dome") - 20.0 == pytest.approx(exact_k, abs=0.1)


@pytest.mark.parametrize("dt_s", [0.25, 7.0])
def test_oven_tip_without_mass_pulled_out_falls_by_its_exponential(dt_s):
    plant = preset("standard", dome_probe_mm=0.0, dome_probe_s=7.5, **QUIET)
    for _ in range(40):
        plant.step(60.0, ON)
    begin_c = plant.temperature_c("dome")
    plant.dome_probe_out = True
    for _ in range(round(28 / dt_s)):
        plant.step(dt_s, ON)
    exact_c = 20.0 + (begin_c - 20.0) * math.exp(-28.0 / 7.5)
    assert plant.temperature_c("dome") == pytest.approx(exact_c, abs=0.01)


def test_three_lumps_reading_lags_the_chamber_by_the_delay_and_the_sheath():
    # A ramp passes a delay L and a first-order sheath tau as the same ramp, L + tau late.
    plant = other(
        5,
        element_chamber_w_k=16.0,
        loss_w_k=0.0,
        loss_black_m2=0.0,
        delay_s=30.0,
        dome_probe_mm=0.0,
        dome_probe_s=6.0,
        **QUIET,
    )
    seen = []
    for _ in range(4800):
        plant.step(0.25, ON)
        seen.append((plant.true_c("dome"), plant.temperature_c("dome")))
    late = next(k for k, (chamber_c, _) in enumerate(seen) if chamber_c >= seen[-1][1])
    assert (len(seen) - 1 - late) * 0.25 == pytest.approx(36.0, abs=0.8)


def test_oven_bread_boils_its_water_and_no_more():
    plant = preset("standard", **QUIET)
    for _ in range(45):
        plant.step(60.0, ON)
    dry = copy.deepcopy(plant)
    plant.event("load", bake_s=90, water_g=25)
    dry.event("load", bake_s=90, water_g=0)
    for _ in range(340):
        plant.step(0.25, ON)
        dry.step(0.25, ON)
    assert plant._water_g == pytest.approx(0.0, abs=1e-9)
    # what the water took is missing in the bread: 25 g at 2257 J/g, less what the hotter dry bread drew less
    kept_j = dry.bread.energy_j(dry._bread_start_k) - plant.bread.energy_j(plant._bread_start_k)
    assert 0.5 * 25 * 2257 < kept_j < 25 * 2257


def test_oven_dough_stays_at_boiling_while_it_is_wet():
    plant = preset("standard", **QUIET)
    for _ in range(45):
        plant.step(60.0, ON)
    plant.event("load", bake_s=90, water_g=400)
    for _ in range(340):
        plant.step(0.25, ON)
    assert max(plant.bread.t_k) - 273.15 == pytest.approx(99.97, abs=0.05)  # boiling at 1013.25 hPa, IAPWS
