"""The virtual tests: each preset and the sampler's percentiles beside the published ranges; a Markdown table.

python -m tests.bench.published [--ovens 60] [--first 0]
"""

import argparse
import sys
from functools import partial

import numpy as np

from host import oven
from host.oven import published

RANGES = {"preheat_min": "8-14", "holding_w": "250-450", "brick_kwh": "0.5-1.06 (60 l)", "brick_min": "40-55",
          "eei": "62-132"}  # fmt: skip
PERCENTILES = (5, 50, 95)


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=60, help="random ovens (default: 60)")
    parser.add_argument("--first", type=int, default=0, help="first seed (default: 0)")
    given = parser.parse_args(arguments)
    presets = {name: published.figures(partial(oven.preset, name)) for name in oven.PRESETS if name != "lamp"}
    drawn = [published.figures(partial(oven.sample, given.first + n)) for n in range(given.ovens)]
    heads = ["", "published", *presets, *(f"sampler {p} %" for p in PERCENTILES), "outside"]
    print("| " + " | ".join(heads) + " |\n|" + " --- |" * len(heads))
    for name, told in RANGES.items():
        values = np.array([each[name] for each in drawn])
        low, high = (float(part) for part in told.split()[0].split("-"))
        cells = [name, told, *(f"{found[name]:.2f}" for found in presets.values())]
        cells += [f"{np.percentile(values, p):.2f}" for p in PERCENTILES]
        print("| " + " | ".join([*cells, f"{np.sum((values < low) | (values > high))} of {len(values)}"]) + " |")
    return 0


if __name__ == "__main__":
    sys.exit(main())
