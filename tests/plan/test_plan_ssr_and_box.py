"""Relay heat, junction, heatsink and box against the published worked example."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from host.mains import box, life, ssr

# A relay maker's brochure (page 52, heatsink choice): 10 A, 1.2 V, RthJC 1.3, RthCS 0.1,
# RthSA 1.0 K/W, junction at 100 degC: ambient 71.2 degC, case 84.4 degC.
EXAMPLE = {"own_w": 12.0, "sink_w": 12.0, "case_k_w": 1.3, "interface_k_w": 0.1}


def test_ssr_loss_is_drop_times_current():
    assert ssr.loss_w(10, 1.2) == pytest.approx(12.0)
    # Another maker's question page: 1.5 V at 10 A is 15 W.
    assert ssr.loss_w(10, 1.5) == pytest.approx(15.0)


def test_ssr_worked_example_allows_air_of_71_2_degrees():
    assert ssr.air_allowed_c(100, sink_k_w=1.0, **EXAMPLE) == pytest.approx(71.2)
    assert ssr.junction_c(71.2, sink_k_w=1.0, **EXAMPLE) == pytest.approx(100)
    assert ssr.junction_c(71.2, 12.0, 12.0, 0.0, 0.1, 1.0) == pytest.approx(84.4)  # the case: nothing inside it


def test_ssr_worked_example_inverted_gives_its_heatsink():
    assert ssr.heatsink_needed_k_w(100, 71.2, **EXAMPLE) == pytest.approx(1.0)


def test_ssr_shared_heatsink_carries_both_relays():
    one = ssr.junction_c(40, 12, 12, 1.3, 0.1, 1.0)
    two = ssr.junction_c(40, 12, 24, 1.3, 0.1, 1.0)
    assert two - one == pytest.approx(12.0)


WARM = st.floats(-10, 80)
K_W = st.floats(0.05, 5)


@pytest.mark.slow
@given(WARM, st.floats(0, 40), st.floats(0.1, 60), st.floats(0, 60), K_W, K_W, K_W, K_W)
def test_ssr_more_heat_or_resistance_never_cools_the_junction(air, more_air, own, others, case, face, sink, more):
    base = ssr.junction_c(air, own, own + others, case, face, sink)
    assert ssr.junction_c(air + more_air, own, own + others, case, face, sink) >= base
    assert ssr.junction_c(air, own, own + others, case, face, sink + more) >= base
    assert ssr.junction_c(air, own, own + others, case + more, face, sink) >= base
    assert ssr.junction_c(air, own, own, case, face, sink) <= base


@given(WARM, st.floats(0.5, 60), K_W, K_W)
@pytest.mark.slow
def test_ssr_heatsink_needed_brings_the_junction_to_the_design_figure(air, watts, case, face):
    needed = ssr.heatsink_needed_k_w(115, air, watts, watts, case, face)
    assume(needed > 0)
    assert ssr.junction_c(air, watts, watts, case, face, needed) == pytest.approx(115)


def test_box_rise_is_power_over_k_and_area():
    # By hand: 400 x 400 x 200 mm on a wall: 0.16 + 4 x 0.08 = 0.48 m2; 20 W / (5.5 x 0.48) = 7.6 K.
    area = box.area_m2(400, 400, 200)
    assert area == pytest.approx(0.48)
    assert box.air_c(30, 20, area, 5.5) == pytest.approx(37.576, abs=0.001)
    assert box.area_needed_m2(30, 20, 37.576, 5.5) == pytest.approx(0.48, rel=1e-3)
    assert box.area_needed_m2(60, 20, 60, 5.5) is None


@given(st.floats(80, 1200), st.floats(0, 400), st.floats(0, 80), st.floats(0, 50))
def test_box_larger_never_hotter_and_more_heat_never_cooler(side, wider, watts, more):
    small, large = box.area_m2(side, side, 200), box.area_m2(side + wider, side, 200)
    assert box.air_c(30, watts, large, 5.5) <= box.air_c(30, watts, small, 5.5)
    assert box.air_c(30, watts + more, small, 5.5) >= box.air_c(30, watts, small, 5.5)


def test_life_counts_one_operation_a_window():
    # By hand: 4 h in windows of 20 s are 720 operations; 100 000 of them last 138.9 evenings.
    assert life.evenings(100_000, 20, 4) == pytest.approx(138.89, abs=0.01)
    assert life.window_for_s(100_000, 200, 4) == pytest.approx(28.8)
    assert life.evenings(100_000, life.window_for_s(100_000, 200, 4), 4) == pytest.approx(200)
