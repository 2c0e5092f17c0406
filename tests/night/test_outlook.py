"""What an evening will take, told before it starts: a trade that is one, and words for plans that have none."""

import copy

import pytest

from host import oven
from host.plans import bake_plan, outlook
from tools.__main__ import main


def plan_of(name, **changes):
    plan = bake_plan.load(name)
    plan.legs[0].update(changes)
    return plan


@pytest.mark.slow
def test_faster_trade_is_faster_and_the_plans_own_is_among_them():
    plant = oven.sample(612)
    before = copy.deepcopy(plant.state_k())
    rows = outlook.outlook(plan_of("club-flatbread", breads=5, base_kj=1290, stretch_pct=5), plant)
    assert [row["stretch_pct"] for row in rows] == [0, 5, 10, 20]
    assert [row["own"] for row in rows] == [False, True, False, False]
    assert rows[-1]["pace_s"] < rows[0]["pace_s"]
    assert {row["breads"] for row in rows} == {5}
    for row in rows:
        assert 1.0 <= row["base"] < 1.2
        text = outlook.words(row)
        assert "5 breads take" in text
        assert f"every {row['pace_s']:.0f} s" in text
    assert plant.state_k() == before  # a copy was asked


@pytest.mark.slow
def test_plan_by_seconds_has_no_trade():
    rows = outlook.outlook(plan_of("club-flatbread", breads=2, base_kj=0, stretch_pct=0), oven.sample(612), None)
    assert [row["stretch_pct"] for row in rows] == [None]
    assert "by seconds (the plan)" in outlook.words(rows[0])


def test_plan_without_breads_and_one_that_cannot_be_are_said_in_one_line(capsys):
    assert main(["bake", "outlook", "burn-in"]) == 2
    assert "fewer than two breads" in capsys.readouterr().err
    assert main(["bake", "outlook", "tsg-485", "--oven", "nothing"]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
    assert main(["bake", "outlook"]) == 2
    assert "outlook PLAN" in capsys.readouterr().err
