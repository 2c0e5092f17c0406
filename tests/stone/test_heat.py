"""Heat into a bread as the board estimates it, beside what the simulated oven booked, and beside arithmetic."""

import math
import types

import pytest

from host import oven
from host.shim.loader import world
from tests.bench.heat_board import Board, club

W = world()
H = W.load("tizzone.control.heat")
T = W.load("tizzone.control.stone")
STEFAN_KW_M2K4 = 5.670374419e-11  # CODATA 2018


def stone(surface_c=430.0, core_c=440.0, bread_c=30.0):
    return types.SimpleNamespace(surface_c=surface_c, core_c=core_c, bread_c=bread_c)


def test_base_is_the_contact_times_what_lies_between_face_and_underside():
    """48 W/m2K: through flour, steam and crust; fitted to simulated ovens, 39 to 52 in those of layers."""
    heat = H.Heat()
    heat.begin(stone())
    for _ in range(10):
        heat.step(stone(surface_c=430.0, bread_c=80.0), 450.0, 0.0, 2.0, True)
    assert heat.base_kj == pytest.approx(47.8e-3 * 350.0 * 20.0, rel=1e-6)
    assert heat.time_s == 20.0


def test_top_lies_between_what_grey_and_what_black_walls_with_still_air_would_send():
    """Stefan and Boltzmann: from grey walls (0.7, no air) to black ones and 8 W/m2K of still air."""
    heat = H.Heat()
    heat.step(stone(bread_c=100.0), 450.0, 0.0, 12.0, True)
    glow = STEFAN_KW_M2K4 * (723.15**4 - 373.15**4)
    assert 0.7 * glow < heat.top_w < glow + 8e-3 * 350.0


def test_nothing_is_counted_while_no_bread_lies_there():
    heat = H.Heat()
    heat.step(stone(), 450.0, 1.0, 2.0, False)
    assert (heat.base_kj, heat.top_kj, heat.time_s) == (0.0, 0.0, 0.0)
    assert heat.base_w > 0.0


@pytest.mark.parametrize("base_w", [0.0, -1.0, math.nan])
def test_time_left_is_none_where_no_heat_flows(base_w):
    heat = H.Heat()
    heat.base_w = base_w
    assert heat.left_s(1000.0) == 0.0


def test_time_left_is_longer_than_at_a_flow_that_would_stay_and_nought_once_it_is_there():
    heat = H.Heat()
    heat.base_w = 15.0
    assert 40.0 < heat.left_s(600.0) < 45.0
    heat.base_kj = 601.0
    assert heat.left_s(600.0) == 0.0


def coming_kj(heat, stone, bake_s):
    """What leaves no shortfall, which is a line in what is wanted."""
    missing_k, least_k = heat.short_k(stone, bake_s, 1.0), heat.short_k(stone, bake_s, 0.0)
    return -least_k / (missing_k - least_k)


def test_shortfall_is_what_makes_a_coming_bread_get_its_heat():
    heat = H.Heat()
    short_k = heat.short_k(stone(), 90.0, 1400.0)
    warmer = stone(430.0 + short_k, 440.0 + short_k)
    assert heat.short_k(warmer, 90.0, 1400.0) == pytest.approx(0.0, abs=1e-9)
    assert coming_kj(heat, warmer, 90.0) == pytest.approx(1400.0, rel=1e-6)
    assert coming_kj(heat, stone(), 120.0) > coming_kj(heat, stone(), 90.0)


def test_what_was_expected_wrongly_is_expected_better_of_the_next_bread():
    heat = H.Heat()
    for _ in range(12):
        expected = coming_kj(heat, stone(), 90.0)
        heat.begin(stone())
        for _ in range(45):  # a bread that takes 10 % less than foretold at first
            heat.step(stone(surface_c=340.0, bread_c=85.0), 450.0, 0.0, 2.0, True)
        heat.ended()
    assert expected == pytest.approx(heat.base_kj, rel=0.01)


def test_one_bread_that_is_far_off_moves_the_expectation_by_a_bounded_step():
    heat = H.Heat()
    heat.step(stone(), 450.0, 0.0, 12.0, False)
    heat.begin(stone())
    heat.step(stone(surface_c=60.0), 450.0, 0.0, 90.0, True)
    heat.ended()
    assert heat.trim == pytest.approx(0.9)


def test_open_door_cools_the_reading_far_more_than_the_walls():
    """An open door of 8 s: walls lose 11-13 K while a sheath of 3 mm sinks by 44-60 K (two independent simulations)."""
    heat = H.Heat()
    for _ in range(60):
        heat.step(stone(), 450.0, 0.3, 2.0, False)
    for k in range(50):  # the sheath of 3 mm sinks within 10 s and is back within 90
        heat.step(stone(), 450.0 - 55.0 * min(k / 5.0, 1.0) * max(0.0, 1.0 - k / 45.0), 0.3, 2.0, False)
        assert heat.walls_c > 450.0 - 20.0
    assert heat.walls_c == pytest.approx(450.0, abs=2.0)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("make", "probe", "rms"),
    [
        (oven.sample, (7.5, 0), 0.015),
        (oven.sample, None, 0.015),
        (oven.other, (7.5, 0), 0.015),
        (oven.third, (7.5, 1), 0.025),  # a rim says nothing of the middle between breads: the model runs alone
    ],
    ids=["layers", "layers-spots", "lumps", "roof-rim"],
)
def test_estimate_follows_the_oven_from_bread_to_bread(make, probe, rms):
    """Unseen ovens; a cook who comes late and pauses, so that the breads differ: within one oven the ratio of estimate
    and truth stays within these rms; from oven to oven it may be off by what heat.py says, twice and a little."""
    changes = {} if probe is None else {"stone_probe_depth_mm": 7.5, "stone_probe_from_middle_mm": 300.0 * probe[1]}
    board = Board(make(711, **changes), club(base_kj=1290, stretch_pct=5, breads=8), probe, probe is None, 711,
                  cook="uneven").run()  # fmt: skip
    for told, true, off, most in (("base_kj", "base_kj_m2", 0.25, rms), ("top_kj", "top_kj_m2", 0.35, 0.03)):
        ratios = [one[told] / getattr(each, true) for one, each in zip(board.told, board.breads, strict=True)][1:]
        mean = sum(ratios) / len(ratios)
        assert abs(mean - 1.0) < off
        assert math.sqrt(sum((r / mean - 1.0) ** 2 for r in ratios) / len(ratios)) < most
