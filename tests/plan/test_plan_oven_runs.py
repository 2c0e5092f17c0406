"""What the simulated oven says: reach, time, energy, soak, against other ways to the same figure."""

import pytest

from host.mains import evening, ovenrun
from host.oven import preset

WATTS = (1500.0, 1400.0)


@pytest.fixture(scope="module")
def studied():
    """Study of the hall's oven."""
    return ovenrun.study(ovenrun.Build(*WATTS, 22), 450, 4.0)


def test_ovenrun_coarse_steps_agree_with_the_ovens_own():
    coarse, fine = ovenrun.plant(*WATTS, 22), ovenrun.plant(*WATTS, 22, substep_s=0.5)
    for oven in (coarse, fine):
        for _ in range(720):
            oven.step(5.0, {"top": 1.0, "deck": 1.0})
    for place in ("dome", "stone", "casing"):
        assert coarse.true_c(place) == pytest.approx(fine.true_c(place), abs=0.5)
    assert coarse.energy()["in_j"] == pytest.approx(fine.energy()["in_j"], rel=0.01)


def test_ovenrun_steady_full_power_agrees_with_a_general_solver():
    # scipy's Radau on the plant's plainly written equations, a road of its own to the same state.
    from scipy.integrate import solve_ivp

    highest_c, _ = ovenrun.full_power(ovenrun.plant(*WATTS, 22), 450)
    oven = ovenrun.plant(*WATTS, 22)
    solved = solve_ivp(
        lambda t, y: oven.derivatives(y, {"top": 1.0, "deck": 1.0}), (0, ovenrun.FULL_S),
        oven.state_k(), method="Radau", rtol=1e-6, atol=1e-3,
    )  # fmt: skip
    assert solved.success
    assert solved.y[2, -1] - 273.15 == pytest.approx(highest_c, abs=1.0)


def test_ovenrun_element_energy_is_power_times_time():
    oven = ovenrun.plant(*WATTS, 22)
    ovenrun.full_power(oven, 450)
    assert oven.energy()["in_j"] == pytest.approx(sum(WATTS) * ovenrun.FULL_S)
    assert abs(oven.energy()["residual_j"]) < 1.0


def test_ovenrun_low_supply_is_81_percent_of_the_power():
    low = ovenrun.plant(*WATTS, 22)
    low.event("mains", ratio=0.9)
    weak = ovenrun.plant(WATTS[0] * 0.81, WATTS[1] * 0.81, 22)
    assert ovenrun.full_power(low, 450) == pytest.approx(ovenrun.full_power(weak, 450))


@pytest.mark.slow
def test_ovenrun_more_power_arrives_sooner_and_goes_higher(studied):
    strong = ovenrun.study(ovenrun.Build(2000.0, 1900.0, 22), 450, 4.0)
    assert strong.highest_c > studied.highest_c > studied.highest_low_c
    assert strong.time_to_s < studied.time_to_s < studied.time_to_low_s


def test_ovenrun_holding_power_holds(studied):
    # A constant share of that power, without any thermostat, must stay near 450 degC.
    oven = ovenrun.plant(*WATTS, 22)
    ovenrun.hold(oven, 450)
    share = studied.holding_w / studied.power_w
    for _ in range(360):
        oven.step(5.0, {"top": share, "deck": share})
    assert oven.true_c("dome") == pytest.approx(450, abs=10)


def test_ovenrun_soak_without_fan_is_hotter_than_with_it(studied):
    oven = ovenrun.plant(*WATTS, 22)
    evening.thermostat(oven, 450, 4.0)
    with_fan_c = oven.temperature_c("box")
    assert studied.electronics_peak_c > with_fan_c + 10
    assert oven.fan_running  # the soak must not change the oven that it was asked about


@pytest.mark.slow
def test_evening_of_the_thermostat_is_near_the_rehearsal():
    # The controller's own code on the same oven, up to the fifth bread, against a plain thermostat.
    plain = evening.thermostat(ovenrun.plant(*WATTS, 22), 350, 1.2)
    own = evening.rehearsed(ovenrun.plant(*WATTS, 22, substep_s=preset("standard").substep_s),
                            350, 1.2)  # fmt: skip
    assert own is not None and "own code" in own.source
    assert own.energy_j == pytest.approx(plain.energy_j, rel=0.12)


def test_evening_is_not_rehearsed_above_what_a_device_is_commissioned_for():
    assert evening.rehearsed(ovenrun.plant(*WATTS, 22), 481, 4.0) is None


@pytest.mark.slow
def test_plan_weak_oven_is_judged_by_reach_at_nominal_and_low_supply(plan_of):
    def codes(watts):
        changes = {"elements.top.power_w": watts, "elements.deck.power_w": watts}
        return {f.code: f for f in plan_of(changes).findings}

    weak = codes("500")
    assert weak["not-reachable"].grade == "stop"
    assert weak["not-reachable"].figure.number < 450
    low = codes("850")
    assert low["not-reachable-low"].grade == "change" and "not-reachable" not in low
    enough = codes("1450")
    assert "not-reachable" not in enough and "not-reachable-low" not in enough
    # The power that the weak one is told to have must be enough.
    advised = f"{weak['not-reachable'].remedy.number / 2:.0f}"
    assert "not-reachable" not in codes(advised)


def test_plan_electronics_kept_in_the_casing_is_judged_by_the_soak(plan_of):
    extra = (
        '\n[[survey]]\npart = "electronics"\nname = "Fan board"\nplace = "outside"\nrated_c = {}\ndecision = "kept"\n'
    )
    peak_c = plan_of().figures["soak_electronics"].number
    for rated_c, seen in ((peak_c - 1, True), (peak_c + 1, False)):
        plan = plan_of(extra=extra.format(f"{rated_c:.2f}"))
        assert ("soak-electronics" in {f.code for f in plan.findings}) is seen
