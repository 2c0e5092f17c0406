"""The virtual tests: each preset and the sampler's percentiles beside the published ranges; a Markdown table.

python -m tests.bench.published [--ovens 60] [--first 0]
"""

import argparse
import sys
from functools import partial

import numpy as np

from host import oven
from host.oven import published

# by figure: lowest, highest, and as published; the energy of the brick is judged by its index, which knows the litres
RANGES = {
    "preheat_min": (8.0, 14.0, "8-14"),
    "holding_w": (250.0, 450.0, "250-450"),
    "brick_kwh": (None, None, "0.5-1.06 (60 l)"),
    "brick_min": (40.0, 55.0, "40-55"),
    "eei": (62.0, 132.0, "62-132"),
}
PERCENTILES = (5, 50, 95)


def line(name, told, cells, groups):
    """A row of the table: a figure, what is published, and each group's percentiles and how many are outside."""
    low, high, words = told
    row = [name, words, *cells]
    for values in groups:
        if not values:
            row += ["-"] * (len(PERCENTILES) + 1)
            continue
        row += [f"{np.percentile(values, p):.2f}" for p in PERCENTILES]
        outside = "-" if low is None else str(sum(not low <= value <= high for value in values))
        row.append(outside)
    return "| " + " | ".join(row) + " |"


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=60, help="random ovens of each structure (default: 60)")
    parser.add_argument("--first", type=int, default=0, help="first seed (default: 0)")
    given = parser.parse_args(arguments)
    seeds = range(given.first, given.first + given.ovens)
    presets = {name: published.figures(partial(oven.preset, name)) for name in oven.PRESETS if name != "lamp"}
    drawn = {
        "layered": [published.figures(partial(oven.sample, seed)) for seed in seeds],
        "roofed": [published.empty_figures(partial(oven.third, seed)) for seed in seeds],
        "three lumps": [published.empty_figures(partial(oven.other, seed)) for seed in seeds],
    }
    heads = ["", "published", *presets]
    for structure in drawn:
        heads += [*(f"{structure} {p} %" for p in PERCENTILES), f"outside, of {given.ovens}"]
    print("| " + " | ".join(heads) + " |\n|" + " --- |" * len(heads))
    for name, told in RANGES.items():
        cells = [f"{found[name]:.2f}" for found in presets.values()]
        groups = [[each[name] for each in found if name in each] for found in drawn.values()]
        print(line(name, told, cells, groups))
    return 0


if __name__ == "__main__":
    sys.exit(main())
