"""Mutants that no test can tell from the original: module -> {key: why nothing changes}."""

EQUIVALENT = {
    "people": {
        "bounded: value < low -> value <= low": "a value equal to the bound is the bound, from either branch",
        "bounded: value > high -> value >= high": "a value equal to the bound is the bound, from either branch",
    },
}
