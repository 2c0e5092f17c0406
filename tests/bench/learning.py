"""Learning undisturbed and disturbed: `python -m tests.bench.learning [--ovens 100] [--others 20] [--json FILE]`.

Each oven (layered ones, and as many of the two other structures as `--others` says; sheaths of 1.5, 3 and 4.5 mm in
turn) learns once undisturbed and once with each disturbance, at a moment drawn from its seed: the mains down by 12 %
for good, early or late, a bread laid through a door that no contact tells of, a bread that no door told of; each with a
stone probe wired and without. Prints how often it was refused, by where the experiment stood, how far a tuning that was
learned all the same lies from the undisturbed one, and what it took. Decides nothing; the defaults take about ten
minutes of one idle core.
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
TUNED = ("kc_pct_per_k", "ti_s", "rise_k_s_pct")


def mains(plant):
    """Down by 12 % for good."""
    plant.event("mains", ratio=0.88)


def bread(plant):
    """Laid without a door."""
    plant.event("load", bake_s=90.0, water_g=25.0)


def door(plant):
    """A bread through a door that no contact tells of."""
    plant.event("door", seconds=8.0)
    bread(plant)


# name: (act, from and to which share of the undisturbed experiment)
DISTURBED = {
    "mains -12 %, early": (mains, 0.1, 0.5),
    "mains -12 %, late": (mains, 0.5, 0.97),
    "bread through the door": (door, 0.1, 0.95),
    "bread untold": (bread, 0.1, 0.95),
}


def learned(kind, seed, act=None, at_s=0.0, stone=False):
    """One experiment: its result with where it stood at `at_s`; None where it was over before."""
    plant = KINDS[kind](seed, dome_probe_mm=SHEATHS_MM[seed % 3])
    stood = []

    def disturb(loop, trial):
        if act is not None and not stood and loop.time_s >= at_s and trial.phase < 2:
            stood.append(f"{PHASES[trial.phase]} {trial.levels_c[trial._at]:.0f}")
            act(plant)

    found = learn.on_plant(plant, seed, disturb=disturb, window_ms=WINDOW_MS, stone_probe=stone)
    return {**found, "stood": stood[0] if stood else "", "stone": stone}


def oven_of(job):
    """[(name, result)] of one oven."""
    kind, seed = job
    plain = learned(kind, seed)
    rows = [("undisturbed", plain), ("undisturbed", learned(kind, seed, stone=True))]
    draw = random.Random(f"learning {kind} {seed}")
    for name, (act, low, high) in DISTURBED.items():
        at_s = draw.uniform(low, high) * plain["seconds"]
        found = learned(kind, seed, act, at_s)
        rows.append((name, found))
        # a stone probe can only refuse more
        rows.append((name, {**found, "stone": True} if act is mains else learned(kind, seed, act, at_s, stone=True)))
    return kind, seed, rows


def off_pct(found, plain, name):
    """How far one value of a tuning lies from the undisturbed one, per cent; None where one of the two has none."""
    if not found["tuning"] or not plain["tuning"]:
        return None
    return 100.0 * abs(found["tuning"][name] / plain["tuning"][name] - 1.0)


def spread(values):
    """Text: median / worst."""
    return f"{statistics.median(values):.0f} / {max(values):.0f}" if values else "-"


def table(ovens):
    """Markdown rows: what happened, stone probe, refused, learned, and how far off those were."""
    yield "| ovens | what happened | stone probe | refused | learned: gain, integral time, rate off, % median / worst |"
    yield "| --- | --- | --- | --- | --- |"
    for kind in KINDS:
        for name in ("undisturbed", *DISTURBED):
            for stone in (False, True):
                of = [(found, rows[0][1]) for its, _, rows in ovens for what, found in rows
                      if its == kind and what == name and found["stone"] == stone
                      and (found["stood"] or name == "undisturbed")]  # fmt: skip
                if not of:
                    continue
                off = [[off_pct(found, plain, value) for found, plain in of] for value in TUNED]
                told = ", ".join(spread([each for each in column if each is not None]) for column in off)
                refused = sum(not found["ok"] for found, _ in of)
                yield f"| {kind} | {name} | {'yes' if stone else 'no'} | {refused} of {len(of)} | {told} |"


def reasons(ovens):
    """Lines: by what happened and where it stood, why it was refused."""
    counts = defaultdict(Counter)
    for kind, _, rows in ovens:
        for name, found in rows:
            if name == "undisturbed" or found["stood"]:
                why = "learned" if found["ok"] else found["reason"].split(":")[0]
                counts[kind, name, "stone probe" if found["stone"] else "", found["stood"]][why] += 1
    for key in sorted(counts):
        told = ", ".join(f"{count} {word}" for word, count in counts[key].most_common())
        yield f"{key[0]:8} {key[1]:24}{key[2]:12}{key[3]:11}{told}"


def minutes(ovens):
    """Line: what an undisturbed one took."""
    for kind in KINDS:
        took = sorted(rows[0][1]["seconds"] / 60.0 for its, _, rows in ovens if its == kind and rows[0][1]["ok"])
        if took:
            high = took[int(0.95 * (len(took) - 1))]
            middle = statistics.median(took)
            yield f"{kind}: took {took[0]:.0f}..{took[-1]:.0f} min, median {middle:.0f}, 95 % {high:.0f}"


def main(argv=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=100)
    parser.add_argument("--others", type=int, default=20, help="of each of the two other structures")
    parser.add_argument("--first", type=int, default=0, help="first seed: ovens that no limit was set by")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--json", metavar="FILE")
    given = parser.parse_args(argv)
    jobs = [("layered", given.first + i) for i in range(given.ovens)]
    jobs += [(kind, given.first + i) for kind in ("lumps", "roofed") for i in range(given.others)]
    with ProcessPoolExecutor(given.jobs) as pool:
        ovens = list(pool.map(oven_of, jobs))
    for lines in (table, reasons, minutes):
        print("\n".join(lines(ovens)))
    for kind, seed, rows in ovens:
        for _, found in rows[:2]:
            if not found["ok"]:
                print(f"refused undisturbed: {kind} {seed}: {found['reason']}")
    if given.json:
        with open(given.json, "w", encoding="utf-8") as file:
            json.dump(ovens, file, indent=1, default=float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
