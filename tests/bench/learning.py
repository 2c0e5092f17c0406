"""Learning undisturbed and disturbed: `python -m tests.bench.learning [--ovens 20] [--others 10] [--json FILE]`.

Each oven (layered ones, and as many of the two other structures as `--others` says; sheaths of 1.5, 3 and 4.5 mm in
turn) learns once undisturbed and once with each disturbance, at a moment drawn from its seed: the mains down by 12 %
for good, a bread laid that no door told of, a bread laid through a door that no contact tells of. Prints how often it
was refused, by where the experiment stood, what it took, and how far a tuning that was learned all the same lies from
the undisturbed one. Decides nothing; a quarter of an hour for the defaults.
"""

import argparse
import json
import random
import statistics
import sys
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor

from host import oven
from host.learning import learn

KINDS = {"layered": oven.sample, "lumps": oven.other, "roofed": oven.third}
SHEATHS_MM = (1.5, 3.0, 4.5)
WINDOW_MS = 20_000
PHASES = ("rise", "relay", "fit", "done")
DISTURBED = {
    "mains -12 %": lambda plant: plant.event("mains", ratio=0.88),
    "bread": lambda plant: plant.event("load", bake_s=90.0, water_g=25.0),
    "bread through the door": lambda plant: (
        plant.event("door", seconds=8.0),
        plant.event("load", bake_s=90.0, water_g=25.0),
    ),
}


def learned(kind, seed, act=None, at_s=0.0):
    """One experiment: its result with where it stood at `at_s`."""
    plant = KINDS[kind](seed, dome_probe_mm=SHEATHS_MM[seed % 3])
    stood = []

    def disturb(loop, trial):
        if act is not None and not stood and loop.time_s >= at_s and trial.phase < 2:
            stood.append(f"{PHASES[trial.phase]} {trial.levels_c[trial._at]:.0f}")
            act(plant)

    found = learn.on_plant(plant, seed, disturb=disturb, window_ms=WINDOW_MS)
    return {**found, "stood": stood[0] if stood else ""}


def oven_of(job):
    """[(name, result)] of one oven."""
    kind, seed = job
    plain = learned(kind, seed)
    rows = [("undisturbed", plain)]
    draw = random.Random(f"learning {kind} {seed}")
    for name, act in DISTURBED.items():
        rows.append((name, learned(kind, seed, act, draw.uniform(0.1, 0.95) * plain["seconds"])))
    return rows


def off_pct(found, plain):
    """The largest change of a tuning's values, per cent; None where one of the two has none."""
    if not found["tuning"] or not plain["tuning"]:
        return None
    return 100.0 * max(abs(found["tuning"][name] / plain["tuning"][name] - 1.0) for name in ("kc_pct_per_k", "ti_s"))


def lines(ovens):
    """The table."""
    counts, off = defaultdict(Counter), defaultdict(list)
    minutes = []
    for rows in ovens:
        plain = rows[0][1]
        if plain["ok"]:
            minutes.append(plain["seconds"] / 60.0)
        for name, found in rows:
            key = (name, found["stood"])
            counts[key]["learned" if found["ok"] else "refused: " + found["reason"].split(":")[0]] += 1
            if name != "undisturbed" and off_pct(found, plain) is not None:
                off[name].append(off_pct(found, plain))
    for key in sorted(counts):
        told = ", ".join(f"{count} {word}" for word, count in counts[key].most_common())
        yield f"{key[0]:24}{key[1]:12}{told}"
    for name, values in off.items():
        told = f"{statistics.median(values):.0f} % median, {max(values):.0f} % worst"
        yield f"{name}, learned all the same: gain or time off by {told}"
    minutes.sort()
    yield f"took {minutes[0]:.0f}..{minutes[-1]:.0f} min, median {statistics.median(minutes):.0f}"


def main(argv=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=20)
    parser.add_argument("--others", type=int, default=10, help="of each of the two other structures")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--json", metavar="FILE")
    given = parser.parse_args(argv)
    jobs = [("layered", seed) for seed in range(given.ovens)]
    jobs += [(kind, seed) for kind in ("lumps", "roofed") for seed in range(given.others)]
    with ProcessPoolExecutor(given.jobs) as pool:
        ovens = list(pool.map(oven_of, jobs))
    print("\n".join(lines(ovens)))
    if given.json:
        with open(given.json, "w", encoding="utf-8") as file:
            json.dump(ovens, file, indent=1, default=float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
