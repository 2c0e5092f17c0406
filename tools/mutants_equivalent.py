"""Mutants that no test can tell from the original: module -> {key: why nothing changes}."""

TRUTH = "only whether it is nought is asked of this number, inside the function's own rules"

EQUIVALENT = {
    "supervisor": {
        "Supervisor._look_at_oven: 1 in 1 if seen.out_pm >= L.FULL_PM else 0 -> 2": TRUTH,
        "Supervisor._look_at_oven: 1 in 1 if seen.top_on or seen.deck_on or foreign else 0 -> 2": TRUTH,
        "Supervisor._look_at_oven: 1 in 1 if session and runaway.calm_ms >= L.CALM_MS else 0 -> 2": TRUTH,
    },
    "people": {
        "bounded: value < low -> value <= low": "a value equal to the bound is the bound, from either branch",
        "bounded: value > high -> value >= high": "a value equal to the bound is the bound, from either branch",
    },
}
