"""Mutants that no test can tell from the original: module -> {key: why nothing changes}."""

EQUIVALENT = {}
