"""Is the twin's 'give or take' honest? `python -m tests.bench.twin [--ovens 100] [--json FILE]`.

Each oven is the standard one with every scale of the twin drawn from 0.75 to 1.35, and with what the twin knows nothing
of drawn as well: views, vent, casing, emissivity, the watts told within 5 % of the true. It runs an evening of 75
minutes at 450 degrees, the twin is fitted to what its board saw, and each scale is held against the true one. Prints
how often the true scale lay within once and twice what the twin said it knows (of a normal error 68 and 95 %), and how
many twins were refused. Decides nothing; about three seconds of computing an oven.
"""

import argparse
import json
import math
import random
import statistics
import sys
from collections import defaultdict
from dataclasses import replace

from host.learning import loop, twin
from host.oven.oven import Oven
from host.oven.parameters import NAMED

UNKNOWN = ("top_sees_stone", "deck_sees_stone", "vent_w_k", "casing_room_w_k", "element_emissivity", "wall_m")
SECONDS = 4500.0


def oven_of(seed):
    """(true scales, plant, watts told)."""
    draw = random.Random(f"twin {seed}")
    base = NAMED["standard"]
    true = {name: math.exp(draw.uniform(math.log(0.75), math.log(1.35))) for name in twin.SCALES}
    p = twin.scaled(base, true)
    p = replace(p, turbulence_k=base.turbulence_k, mains_wander=base.mains_wander)
    p = replace(p, **{name: getattr(p, name) * draw.uniform(0.85, 1.12) for name in UNKNOWN})
    return true, Oven(p, seed), draw.uniform(0.95, 1.05)


def told_of(seed):
    """[(scale, error of the logarithm, what it said it knows)], and why the twin was refused, or ""."""
    true, plant, watts = oven_of(seed)
    run = loop.Loop(plant, loop.pid(), 450.0, seed=seed)
    rows = run.run(SECONDS)
    evening = twin.Evening(rows[:, 0], rows[:, 2], rows[:, 4], rows[:, 5])
    found = twin.fit(evening, plant.parameters.top_w * watts, plant.parameters.deck_w * watts)
    errors = [(name, math.log(found.scales[name] / true[name]), found.known[name]) for name in twin.SCALES]
    return errors, found.fault


def lines(ovens):
    """The table, of the twins that were not refused."""
    by = defaultdict(list)
    for errors, fault in ovens:
        for name, error, known in errors:
            if not fault:
                by[name].append((abs(error), known))
    yield "| scale | off by, % median / worst | said, % median | within once | within twice |"
    yield "| --- | --- | --- | --- | --- |"
    for name, values in by.items():
        off = [100 * error for error, _ in values]
        said = statistics.median(100 * known for _, known in values)
        once, twice = (sum(error <= times * known for error, known in values) for times in (1, 2))
        count = len(values)
        yield (f"| {name} | {statistics.median(off):.0f} / {max(off):.0f} | {said:.0f} "
               f"| {once} of {count} | {twice} of {count} |")  # fmt: skip
    yield f"refused: {sum(bool(fault) for _, fault in ovens)} of {len(ovens)}"


def main(argv=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=100)
    parser.add_argument("--json", metavar="FILE")
    given = parser.parse_args(argv)
    ovens = [told_of(seed) for seed in range(given.ovens)]
    print("\n".join(lines(ovens)))
    for seed, (_, fault) in enumerate(ovens):
        if fault:
            print(f"refused: {seed}: {fault}")
    if given.json:
        with open(given.json, "w", encoding="utf-8") as file:
            json.dump(ovens, file, indent=1, default=float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
