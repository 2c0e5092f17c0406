"""The budget against a worked example by hand and a printed one, tolerances against the standards."""

import math

import pytest

from host.calibration.uncertainty import REACH_K, Component, budget, class_tolerance_k, combined_k, reach


def test_a_budget_worked_by_hand():
    """Type K class 2 on a MAX31855, reference 2.2 K (k = 2) at 400 °C, used at 450 °C.

    By hand: the point is 50 K away, 50/200 = 0.25. Class 2 at 450 °C: 0.0075 x 450 = 3.375 K (IEC 60584-1).
      reference       2.2 / 2              = 1.1000   squared 1.21000
      class           0.25 x 3.375 / 1.7321 = 0.4871           0.23730
      chip            0.25 x 2.0 / 1.7321   = 0.2887           0.08333
      resolution      0.25 / 3.4641         = 0.0722           0.00521
      board           0.5 / 1.7321          = 0.2887           0.08333
      ordering        1.5 / 1.7321          = 0.8660           0.75000
                                             sum 2.36917, root 1.53921, k = 2: 3.078 K
    """
    parts = [Component.expanded("reference", 2.2)]
    lines = budget(450.0, [(0.0, []), (400.0, parts)], "K", 2, 2.0, 0.25)
    assert [round(line.standard_k, 4) for line in lines] == [1.1, 0.4871, 0.2887, 0.0722, 0.2887, 0.866]
    assert abs(2 * combined_k(lines) - 3.078) < 0.0006


def test_the_end_gauge_example_of_the_gum():
    # Source: JCGM 100:2008 H.1 (from memory): 25, 9.7, 2.9 and 16.6 nm combine to 32 nm.
    lines = [Component(str(u), u, "") for u in (25.0, 9.7, 2.9, 16.6)]
    assert round(combined_k(lines)) == 32


def test_distributions():
    # Source: JCGM 100:2008 4.3.7 (a/sqrt 3), F.2.2.1 (step/sqrt 12), 4.3.3 (U/k), 4.2.3 (s/sqrt n).
    assert Component.rectangular("", 3.0).standard_k == pytest.approx(math.sqrt(3.0))
    assert Component.resolution("", 0.25).standard_k == pytest.approx(0.0721688, abs=1e-7)
    assert Component.expanded("", 3.0, k=3.0).standard_k == 1.0
    # 1, 2, 3: s = 1, mean's deviation 1/sqrt 3
    assert Component.repeated("", [1.0, 2.0, 3.0]).standard_k == pytest.approx(1 / math.sqrt(3.0))


@pytest.mark.parametrize(
    ("kind", "grade", "t_c", "tolerance_k"),
    [
        # Source: IEC 60584-1:2013 (seen in two reproductions): the larger of the two, with its knees.
        ("K", 1, 375.0, 1.5), ("K", 1, 450.0, 1.8), ("K", 2, 333.0, 2.5), ("K", 2, 450.0, 3.375),
        ("N", 2, 480.0, 3.6), ("J", 1, 400.0, 1.6), ("T", 1, 125.0, 0.5), ("T", 2, 350.0, 2.625),
        ("S", 1, 1000.0, 1.0), ("S", 2, 1000.0, 2.5),
        # Source: IEC 60751: class A at 300 °C 0.75 K, class B 1.8 K.
        ("pt100", "A", 300.0, 0.75), ("pt1000", "B", 300.0, 1.8),
        # beyond the class's range (T ends at 350 °C) we take 1.5 times: house rule
        ("T", 2, 400.0, 4.5),
    ],
)  # fmt: skip
def test_tolerance_classes(kind, grade, t_c, tolerance_k):
    assert class_tolerance_k(kind, grade, t_c) == pytest.approx(tolerance_k, abs=0.003)


def test_reach_of_a_point():
    assert reach(450.0, []) == 1.0
    assert reach(450.0, [0.0, 100.0]) == 1.0
    assert reach(400.0, [400.0]) == 0.0
    assert reach(400.0 + REACH_K - 1.0, [400.0]) < 1.0 == reach(400.0 + REACH_K, [400.0])


def test_water_points_alone_say_little_at_450_and_a_reference_says_more():
    near = [Component.rectangular("ice", 0.1)]
    water = 2 * combined_k(budget(450.0, [(0.0, near), (99.6, near)], "K", 2, 2.0, 0.25))
    nothing = 2 * combined_k(budget(450.0, [], "K", 2, 2.0, 0.25))
    reference = [(0.0, near), (400.0, [Component.expanded("reference", 1.0)])]
    assert abs(water - nothing) < 0.05
    assert 2 * combined_k(budget(450.0, reference, "K", 2, 2.0, 0.25)) < 0.6 * nothing
