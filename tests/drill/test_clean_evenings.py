"""Clean evenings: they end without a trip, are what their seed says, and prove what is claimed."""

import pytest
from scipy.stats import beta

from host.drill import clean


def short(kind, count):
    """The first seeds of a kind of oven whose setpoint is low: a quick evening."""
    found = []
    for seed in range(200):
        _, cook, words = clean.drawn(seed)
        if words.startswith(kind) and cook.setpoint_c <= 120:
            found.append(seed)
            if len(found) == count:
                return found
    raise AssertionError(f"no short evening among 200 of kind {kind}")


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["random", "other"])
def test_evening_without_a_fault_ends_without_a_trip(kind):
    for seed in short(kind, 1):
        outcome = clean.run_evening(seed)
        assert outcome["end"] == "done", outcome
        assert outcome["trips"] == []
        assert outcome["breads"] >= 3


def test_one_seed_is_one_evening():
    first, second = clean.drawn(11), clean.drawn(11)
    assert first[2] == second[2]
    assert first[0].plant.parameters == second[0].plant.parameters
    assert clean.drawn(12)[2] != first[2]


def test_evenings_cover_every_kind_of_oven_and_probe_and_the_mains_range():
    words = [clean.drawn(seed)[2] for seed in range(40)]
    assert {text.split()[0] for text in words} == {"random", "other", "third"}
    assert {text.split()[1] for text in words} == {"1.5", "3.0", "4.5"}
    assert {text.split()[3] for text in words} == {"full", "plain", "doorless"}
    ratios = [float(text.split()[-1]) for text in words]
    assert min(ratios) < 0.93 and max(ratios) > 1.03
    assert min(ratios) >= 0.90 and max(ratios) <= 1.06


@pytest.mark.parametrize(("trips", "count"), [(0, 10), (0, 500), (1, 500), (3, 60), (5, 5)])
def test_bound_is_the_exact_binomial_one(trips, count):
    # one-sided Clopper-Pearson limit by the beta distribution of scipy
    expected = 1.0 if trips == count else beta.ppf(0.95, trips + 1, count - trips)
    assert clean.bound_pct(trips, count) == pytest.approx(100 * expected, rel=1e-6)


def test_bound_of_five_hundred_clean_evenings_is_the_rule_of_three():
    # rule of three: 3 / n at 95 % (Hanley and Lippman-Hand 1983, from memory)
    assert clean.bound_pct(0, 500) == pytest.approx(100 * 3 / 500, rel=0.01)


def test_summary_counts_trips_and_unfinished_evenings():
    row = {"rule": "over-setpoint", "setpoint_c": 450, "value": 3.0, "threshold": 15.0, "distance": 12.0, "unit": "K"}
    good = {"seed": 1, "words": "w", "end": "done", "trips": [], "margins": [row]}
    tripped = {
        **good,
        "margins": [{**row, "value": 8.0, "distance": 7.0}],
        "seed": 2,
        "trips": ["no-rise at 10 s"],
        "end": "not finished: aborted cool",
    }
    slow = {**good, "seed": 3, "end": "not finished: running preheat"}
    found = clean.summary([good, tripped, slow])
    assert (found["evenings"], found["tripped"], found["unfinished"]) == (3, 1, 1)
    assert [row["distance"] for row in found["margins"]] == [7.0]  # the nearest of all evenings
    text = clean.text(found, [good, tripped, slow])
    assert "seed 2" in text and "seed 3" in text and "seed 1" not in text
    assert "over-setpoint" in text and "7.0 left" in text
