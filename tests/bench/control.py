"""The comparison: `python -m tests.bench.control [--ovens 200] [--others 40] [--setpoint 450] [--json FILE]`.

Every controller meets the same ovens, seeds and noise. Prints median / worst of each figure and writes JSON. The ovens
are the presets, random layered ones and random ones of three lumps with a transport delay. Not a test: minutes.
"""

import argparse
import json
import math
import os
import statistics
import sys
from concurrent.futures import ProcessPoolExecutor

from host import learn, loop, oven
from tests.bench import rivals
from tests.bench.evening import full_power, measure

FIGURES = ("late_s", "overshoot_k", "band_k", "recover_s", "rebound_k", "switchings_h")
NAMES = ("on/off 12 K", "simple-pid", "ours, default", "ours, learned")


def plant(kind, which, changes):
    """A fresh oven."""
    made = {"preset": oven.preset, "layered": oven.sample, "lumps": oven.other}[kind]
    return made(which, **({k: v for k, v in changes.items() if kind != "lumps" or k != "stone_m"}))


def contest(job):
    """All controllers on one oven: {controller: figures}, with the bound and what was learned."""
    kind, which, options = job
    seed = which if isinstance(which, int) else 0

    def fresh():
        made = plant(kind, which, options["changes"])
        if options["mains"] != 1.0:
            made.event("mains", ratio=options["mains"])
        return made

    told = {"setpoint_c": options["setpoint"], "window_ms": options["window_ms"], "seed": seed,
            "together": options["together"]}  # fmt: skip
    bound_s = full_power(fresh(), **told)
    # learned once, on the oven as it was bought: nominal mains, its own stone
    learned = learn.on_plant(plant(kind, which, {}), seed)
    tuning = {k: v for k, v in (learned["tuning"] or {}).items() if k != "ms"}
    window_s = options["window_ms"] / 1000
    fielded = [rivals.OnOff(), rivals.step_tuned(plant(kind, which, {}), seed), loop.pid(window_s=window_s, adapt=True),
               loop.pid(**tuning, window_s=window_s)]  # fmt: skip
    if options["ours"]:
        fielded = [None, None, *fielded[2:]]
    found = {}
    for name, controller in zip(NAMES, fielded, strict=True):
        if controller is not None:
            found[name] = measure(fresh(), controller, **told)
            found[name]["late_s"] = found[name]["arrive_s"] - bound_s
    return {"kind": kind, "which": which, "bound_s": bound_s, "learned": learned, "figures": found}


def table(contests, kinds):
    """Lines of median / 95 % / worst of the ovens of these kinds."""
    chosen = [each for each in contests if each["kind"] in kinds]
    lines = [f"{'':16}" + "".join(f"{name:>22}" for name in FIGURES)]
    for name in NAMES:
        cells = []
        for figure in FIGURES:
            values = [each["figures"][name][figure] for each in chosen if name in each["figures"]]
            values = sorted(value for value in values if not math.isnan(value))
            if values:
                high = values[min(len(values) - 1, int(0.95 * len(values)))]
                cells.append(f"{statistics.median(values):8.1f} /{high:5.1f} /{values[-1]:5.1f}")
            else:
                cells.append("-")
        lines.append(f"{name:16}" + "".join(f"{cell:>22}" for cell in cells))
    return lines


def main(argv=None):
    """Run the comparison; returns 0."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--ovens", type=int, default=20, help="random layered ovens (200 for the full run)")
    parser.add_argument("--others", type=int, default=6, help="random ovens of three lumps")
    parser.add_argument("--setpoint", type=float, default=450.0)
    parser.add_argument("--window-ms", type=int, default=10_000)
    parser.add_argument("--together", action="store_true", help="both elements switch together")
    parser.add_argument("--mains", type=float, default=1.0, help="mains ratio of the evening (learned at 1.0)")
    parser.add_argument("--stone-m", type=float, help="thickness of the stone of the evening")
    parser.add_argument("--ours", action="store_true", help="leave the alternatives out")
    parser.add_argument("--json", metavar="FILE")
    given = parser.parse_args(argv)
    options = {"setpoint": given.setpoint, "window_ms": given.window_ms, "together": given.together,
               "mains": given.mains, "ours": given.ours,
               "changes": {"stone_m": given.stone_m} if given.stone_m else {}}  # fmt: skip
    jobs = [("preset", name, options) for name in oven.PRESETS if name != "lamp"]
    jobs += [("layered", seed, options) for seed in range(given.ovens)]
    jobs += [("lumps", seed, options) for seed in range(given.others)]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        contests = list(pool.map(contest, jobs))
    print(f"setpoint {given.setpoint:g} C, window {given.window_ms} ms; median / 95 % / worst")
    for title, kinds in (("layered ovens", ("preset", "layered")), ("three lumps", ("lumps",))):
        print(title)
        print("\n".join(table(contests, kinds)))
    never = sum(math.isnan(each["bound_s"]) for each in contests)
    failed = [(each["kind"], each["which"], each["learned"]["reason"]) for each in contests
              if not each["learned"]["ok"]]  # fmt: skip
    print(f"ovens that full power does not bring there: {never}; not learned: {failed}")
    if given.json:
        with open(given.json, "w", encoding="utf-8") as file:
            json.dump({"options": options, "contests": contests}, file, indent=1, default=float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
