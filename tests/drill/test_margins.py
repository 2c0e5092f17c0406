"""The distances to the rules: read from the rules of a running board, and kept at their least."""

import pytest

from host import oven
from host.drill import clean
from host.drill.margins import UNITS, Lasting, Margins, least
from host.simulator.rehearsal import Rehearsal


@pytest.fixture(scope="module")
def watched():
    made = Rehearsal(plant=oven.preset("standard", 1), settings={"setpoint_c": 120, "soak_min": 0})
    reached = Margins()
    made.advance(6.0)
    made.send("start")
    for _ in range(1400):
        made.advance(0.25)
        reached.judge(made)
    return made, {row["rule"]: row for row in reached.rows()}


def test_margins_of_a_healthy_start_are_all_above_zero(watched):
    _, rows = watched
    assert {"over-setpoint", "no-rise", "probe-reversed", "probe-fell", "high-limit", "box-hot"} <= set(rows)
    assert all(row["distance"] > 0.0 for row in rows.values())
    assert all(row["unit"] == UNITS[row["rule"]] for row in rows.values())
    assert all(row["setpoint_c"] == 120 for row in rows.values())


def test_margin_to_the_high_limit_is_the_hottest_reading(watched):
    made, rows = watched
    row = rows["high-limit"]
    assert row["value"] == pytest.approx(max(made.rows["pv_c"]), abs=1.0)
    assert row["threshold"] == pytest.approx(500.0)
    assert row["distance"] == pytest.approx(row["threshold"] - row["value"])


def test_margin_without_a_rise_is_the_rules_own():
    made = Rehearsal(plant=oven.preset("standard", 1))
    made.plant.element_ok = {"top": False, "deck": False}
    made.advance(6.0)
    made.send("start")
    reached = Margins()
    limits = made.world.load("tizzone.safety.limits")
    for _ in range(round(limits.NO_RISE_MS / 1000) + 20):
        made.advance(0.25 if made.trip in ("none", "") else 1.0)
        reached.judge(made)
    while made.trip in ("none", "") and made.now_s < 400.0:
        made.advance(0.25)
        reached.judge(made)
    assert made.trip == "no-rise"
    row = next(row for row in reached.rows() if row["rule"] == "no-rise")
    assert row["distance"] < 0.0


def test_least_of_many_evenings_is_the_smallest_distance_of_each_setpoint():
    def row(rule, setpoint_c, distance):
        return {"rule": rule, "setpoint_c": setpoint_c, "distance": distance}

    worst = least([[row("a", 450, 3.0), row("a", 260, 1.0)], [row("a", 450, 2.0), row("b", 450, -1.0)]])
    assert {key: found["distance"] for key, found in worst.items()} == {("a", 450): 2.0, ("a", 260): 1.0,
                                                                       ("b", 450): -1.0}  # fmt: skip


def test_value_that_must_last_counts_what_it_did_not_fall_below():
    lasting = Lasting(3.0)
    seen = [lasting.of(value, 450, at_s) for at_s, value in enumerate((5.0, 9.0, 8.0, 7.0, 6.5, 9.0, 9.0, 9.0))]
    assert seen == [None, None, None, 5.0, 6.5, 6.5, 6.5, 6.5]
    assert lasting.of(9.0, 450, 8.0) == 9.0
    assert lasting.of(9.0, 300, 9.0) is None  # another setpoint begins anew
    assert lasting.of(None, 300, 20.0) is None
    assert lasting.of(9.0, 300, 21.0) is None


def test_least_distances_are_told_for_every_rule_at_every_setpoint():
    rows = [
        {"rule": "probe-fell", "setpoint_c": 450, "value": 3.0, "threshold": 130.0, "distance": 127.0, "unit": "s"},
        {"rule": "box-hot", "setpoint_c": 260, "value": 40.0, "threshold": 70.0, "distance": 30.0, "unit": "°C"},
    ]
    text = clean.text({"evenings": 1, "tripped": 0, "unfinished": 0, "bound_pct": 95.0, "margins": rows}, [])
    lines = [line.split() for line in text.splitlines() if line.startswith("  ")]
    assert {(line[0], line[1]) for line in lines} == {(rule, at) for rule in UNITS for at in ("260", "450")}
    told = {(line[0], line[1]): " ".join(line[3:]) for line in lines}
    assert told["probe-fell", "450"] == "3.0 of 130.0 s, 127.0 left"
    assert told["probe-fell", "260"] == "did not judge there"
