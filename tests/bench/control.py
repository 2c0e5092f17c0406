"""The comparison: `python -m tests.bench.control [--ovens 200] [--others 20] [--setpoint 450] [--json FILE]`.

Every controller meets the same ovens, seeds and noise. Prints median / 95 % / worst of each figure and writes JSON. The
ovens are the presets, random layered ones and random ones of three lumps with a transport delay. "later" is against
full output to setpoint - 5 K, "lost" against full output from laying a bread until the dome is back: what physics
permits. `--window own` gives each oven the shortest window that its flicker permits with the zones staggered.
`--learned FILE` takes what was learned from the JSON of an earlier run. Not a test: minutes.
"""

import argparse
import json
import math
import os
import statistics
import sys
from concurrent.futures import ProcessPoolExecutor

from host import oven
from host.learning import learn, loop
from host.mains import flicker
from tests.bench import rivals
from tests.bench.evening import full_power, measure

FIGURES = ("late_s", "overshoot_k", "band_k", "recover_s", "lost_s", "rebound_k", "switchings_h")
NAMES = ("full power", "on/off 12 K", "simple-pid", "simple-pid/window", "ours, default", "ours, learned")
RIVALS = NAMES[1:4]
FLICKER = 0.95  # 5 % in hand: the steps of a record wander


def plant(kind, which, changes):
    """A fresh oven."""
    made = {"preset": oven.preset, "layered": oven.sample, "lumps": oven.other, "roofed": oven.third}[kind]
    has_slab = kind in ("preset", "layered")
    return made(which, **{name: value for name, value in changes.items() if has_slab or name != "stone_m"})


def contest(job):
    """All controllers on one oven: {controller: figures}, with the bound and what was learned."""
    kind, which, options = job
    seed = which if isinstance(which, int) else 0

    def fresh():
        made = plant(kind, which, options["changes"])
        if options["mains"] != 1.0:
            made.event("mains", ratio=options["mains"])
        return made

    window_s = own_window_s(fresh()) if options["window"] == "own" else options["window"] / 1000
    told = {"setpoint_c": options["setpoint"], "window_ms": round(window_s * 1000), "seed": seed,
            "together": options["together"]}  # fmt: skip
    bound_s = full_power(fresh(), **told)
    # learned once, on the oven as it was bought: nominal mains, its own stone
    learned = options["learned"].get(f"{kind} {which}") or learn.on_plant(plant(kind, which, {}), seed)
    tuning = {k: v for k, v in (learned["tuning"] or {}).items() if k != "ms"}
    fielded = {
        "full power": rivals.FullPower(loop.pid(window_s=window_s, adapt=True)),
        "on/off 12 K": rivals.OnOff(),
        "simple-pid": rivals.step_tuned(plant(kind, which, {}), seed),
        "simple-pid/window": rivals.step_tuned(plant(kind, which, {}), seed, every_s=window_s),
        "ours, default": loop.pid(window_s=window_s, adapt=True),
        "ours, learned": loop.pid(**tuning, window_s=window_s, adapt=not tuning),
    }
    found = {}
    for name, controller in fielded.items():
        if options["ours"] and name in RIVALS:
            continue
        found[name] = measure(fresh(), controller, **told)
        found[name]["late_s"] = found[name]["arrive_s"] - bound_s
        found[name]["lost_s"] = found[name]["recover_s"] - found["full power"]["recover_s"]
    return {"kind": kind, "which": which, "bound_s": bound_s, "window_s": window_s, "learned": learned,
            "figures": found}  # fmt: skip


def own_window_s(made):
    """The shortest usual window at which this oven's staggered zones flicker at most 0.95; else the longest."""
    p = made.parameters
    steps = flicker.steps_pct(flicker.change_pct(p.top_w, 230.0), flicker.change_pct(p.deck_w, 230.0), True)
    return flicker.window_needed_s(steps, limit=FLICKER) or flicker.WINDOWS_S[-1]


def table(contests, kinds):
    """Lines of median / 95 % / worst of the ovens of these kinds."""
    chosen = [each for each in contests if each["kind"] in kinds]
    lines = [f"{'':18}" + "".join(f"{name:>22}" for name in FIGURES)]
    for name in NAMES:
        cells = []
        if not any(name in each["figures"] for each in chosen):
            continue
        for figure in FIGURES:
            values = [each["figures"][name][figure] for each in chosen if name in each["figures"]]
            values = sorted(value for value in values if not math.isnan(value))
            if values:
                high = values[min(len(values) - 1, int(0.95 * len(values)))]
                cells.append(f"{statistics.median(values):8.1f} /{high:5.1f} /{values[-1]:5.1f}")
            else:
                cells.append("-")
        lines.append(f"{name:18}" + "".join(f"{cell:>22}" for cell in cells))
    return lines


def main(argv=None):
    """Run the comparison; returns 0."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--ovens", type=int, default=20, help="random layered ovens (200 for the full run)")
    parser.add_argument("--others", type=int, default=6, help="random ovens of three lumps")
    parser.add_argument("--roofed", type=int, default=0, help="random ovens with roof and sides apart")
    parser.add_argument("--setpoint", type=float, default=450.0)
    parser.add_argument("--window", default=10_000, type=lambda word: word if word == "own" else int(word),
                        help="output window in ms, or own: what each oven's flicker permits")  # fmt: skip
    parser.add_argument("--together", action="store_true", help="both elements switch together")
    parser.add_argument("--mains", type=float, default=1.0, help="mains ratio of the evening (learned at 1.0)")
    parser.add_argument("--stone-m", type=float, help="thickness of the stone of the evening")
    parser.add_argument("--ours", action="store_true", help="leave the alternatives out")
    parser.add_argument("--learned", metavar="FILE", help="JSON of an earlier run: do not learn again")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="processes (default: every core)")
    parser.add_argument("--json", metavar="FILE")
    given = parser.parse_args(argv)
    known = {}
    if given.learned:
        with open(given.learned, encoding="utf-8") as file:
            known = {f"{each['kind']} {each['which']}": each["learned"] for each in json.load(file)["contests"]}
    options = {"setpoint": given.setpoint, "window": given.window, "together": given.together, "learned": known,
               "mains": given.mains, "ours": given.ours,
               "changes": {"stone_m": given.stone_m} if given.stone_m else {}}  # fmt: skip
    jobs = [("preset", name, options) for name in oven.PRESETS if name != "lamp"]
    jobs += [("layered", seed, options) for seed in range(given.ovens)]
    jobs += [("lumps", seed, options) for seed in range(given.others)]
    jobs += [("roofed", seed, options) for seed in range(given.roofed)]
    with ProcessPoolExecutor(given.jobs) as pool:
        contests = list(pool.map(contest, jobs))
    print(f"setpoint {given.setpoint:g} C, window {given.window} ms; median / 95 % / worst")
    for title, kinds in (("layered ovens", ("preset", "layered")), ("three lumps", ("lumps",)),
                         ("roof and sides apart", ("roofed",))):  # fmt: skip
        if any(each["kind"] in kinds for each in contests):
            print(title)
            print("\n".join(table(contests, kinds)))
    never = sum(math.isnan(each["bound_s"]) for each in contests)
    failed = [(each["kind"], each["which"], each["learned"]["reason"]) for each in contests
              if not each["learned"]["ok"]]  # fmt: skip
    print(f"ovens that full power does not bring there: {never}; not learned: {failed}")
    if given.json:
        with open(given.json, "w", encoding="utf-8") as file:
            told = {**options, "learned": given.learned}
            json.dump({"options": told, "contests": contests}, file, indent=1, default=float)
    return 0


if __name__ == "__main__":
    sys.exit(main())
