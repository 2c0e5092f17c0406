"""The distances between healthy ovens, the thresholds of limits.py, and faulty ovens; one table.

    python -m tests.bench.margins [--ovens 300] [--first 0] [--jobs 2] [--json FILE]

Every oven (three structures in turn; probe sizes, room, mains -10..+6 %, worn elements, wiring, doors, a rough cook
by its seed) has one healthy evening, and every fault that a rule about the oven must see, each from a warm copy. On
faulty evenings the thresholds of the rules are moved out of the way, so that what would have been reached is seen;
`within` is how long the rule may take. Healthy: the highest value that any healthy evening reached. Faulty: the lowest
that any faulty evening reached in that time. A threshold belongs between the two. The second table tells on
how many ovens a fault was not seen in time. An hour for 300 ovens on two cores; decides nothing.
"""

import argparse
import copy
import json
import random
import re
import shutil
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path

from host import oven
from host.drill import clean, warm
from host.drill.margins import UNITS, Margins, least
from host.faults import library
from host.faults.kitchen import Slides
from host.faults.sensor import chip
from host.shim.loader import DEVICE

# constant of limits.py moved out of the way on faulty evenings
ASIDE = {
    "FELL_MS": 500_000_000,
    "NO_RISE_MK": -500_000,
    "REVERSED_MK": 500_000,
    "OVER_MK": 300_000,
    "UNDRIVEN_RISE_MK": 300_000,
    "DISAGREE_MK": 500_000,
    "RIPPLE_TURNS": 10_000,
    "FROZEN_MS": 500_000_000,
    "SLIP_MS": 500_000_000,
}
SETTLED_S = 1800.0  # at the setpoint before a probe begins to slip
SLIPS = (0.85, 2400.0)  # to so much of the rise, s: faster, the reading falls and other rules have it
# a cable shorted midway before anything is warm: so much of the rise is shown
SHORTED = {"shorted_07": 0.7, "shorted_05": 0.5}
# rule: (fault, phase, within s, wiring)
FAULTY = {
    "probe-fell": (("dome_out", "setpoint", 200.0, "plain"), ("dome_out", "preheat", 200.0, "plain")),
    "no-rise": (
        ("dome_out", "cold", 400.0, "plain"),
        ("elements_open", "cold", 400.0, "plain"),
        ("dome_short_outside", "cold", 400.0, "plain"),
    ),  # fmt: skip
    "probe-reversed": (("dome_reversed", "cold", 120.0, "plain"),),
    "over-setpoint": (("relays_welded", "setpoint", 320.0, "plain"),),
    "undriven-rise": (("welded_lowered", "setpoint", 320.0, "plain"),),
    "probes-disagree": (("shorted_07", "cold", 7200.0, "full"), ("shorted_05", "cold", 7200.0, "full")),
    "probe-slipped": (("slips", "setpoint", 3000.0, "plain"),),
    "reading-frozen": (("dome_frozen", "setpoint", 180.0, "plain"),),
    "probe-near-element": (("dome_near_element", "setpoint", 600.0, "plain"),),
}


def plant(seed, quiet=False):
    """The oven of a seed: (plant, words)."""
    draw = random.Random(f"margins {seed}")
    make = (oven.sample, oven.other, oven.third)[seed % 3]
    changes = {"ambient_c": draw.uniform(5.0, 35.0), "dome_probe_mm": (1.5, 3.0, 4.5)[seed // 3 % 3]}
    made = make(seed, **changes)
    if draw.random() < 0.3:
        worn = {name: getattr(made.parameters, name) * draw.uniform(0.88, 1.0) for name in ("top_w", "deck_w")}
        made = make(seed, **changes, **worn)
    return made, draw.uniform(0.90, 1.06)


@lru_cache(maxsize=1)
def aside():
    """A copy of device/ whose rules about the oven do not trip."""
    folder = Path(tempfile.mkdtemp(prefix="margins-")) / "device"
    shutil.copytree(DEVICE, folder, ignore=shutil.ignore_patterns("__pycache__"))
    path = folder / "tizzone" / "safety" / "limits.py"
    text = path.read_text(encoding="utf-8")
    for name, value in ASIDE.items():
        text, count = re.subn(rf"^{name} = const\(.*?\)", f"{name} = const({value})", text, flags=re.M)
        if count != 1:
            raise SystemExit(f"margins: no constant {name} in limits.py")
    path.write_text(text, encoding="utf-8")
    return folder


def healthy(seed):
    """Rows of one healthy evening of a seed, and what tripped."""
    outcome = clean.run_evening(seed)
    return {"seed": seed, "rows": outcome["margins"], "trips": outcome["trips"], "words": outcome["words"]}


class Attendant:
    """Confirms presence and does nothing else: nobody lays a bread meanwhile."""

    def __init__(self):
        self.due_s = 0.0

    def act(self, rehearsal):
        """As host.simulator.cook.Cook."""
        if rehearsal.now_s >= self.due_s:
            self.due_s = rehearsal.now_s + 240.0
            rehearsal.say("present")


def start(fault, made):
    """Make a fault, or what is made of several."""
    made.cook = Attendant()
    if fault == "slips":
        made.advance(SETTLED_S)
        chip(made.outside, "dome").temperature_c = Slides(made.outside, *SLIPS)
        return
    if fault in SHORTED:
        chip(made.outside, "dome").temperature_c = Slides(made.outside, SHORTED[fault], 1.0)
        return
    several = {
        "relays_welded": ("relay_welded_top", "relay_welded_deck"),
        "welded_lowered": ("relay_welded_top", "relay_welded_deck"),
        "elements_open": ("element_open_top", "element_open_deck"),
    }
    for name in several.get(fault, (fault,)):
        library.FAULTS[name].start(made.outside)
    if fault == "welded_lowered":
        made.send("setpoint 300")  # no output any more, and the relays conduct on


def faulty(seed):
    """{rule fault phase: the highest value that was reached in time} of one oven."""
    found, hottest = {}, {}
    for wiring in ("plain", "full"):
        hot, ratio = plant(seed)
        made = warm.rehearsal("", wiring, {"setpoint_c": 450}, hot=hot, device=aside())
        made.outside.mains(ratio)
        made.advance(6.0)
        wanted = [(rule, *case) for rule, cases in FAULTY.items() for case in cases if case[3] == wiring]
        try:
            phases = warm.states(made)
        except warm.Unreached as reason:
            found[f"unreached {wiring}"] = str(reason)
            phases = {"cold": made} if made.state == "idle" else {}
        for rule, fault, phase, within_s, _ in wanted:
            if phase in phases:
                case = f"{rule} {fault} {phase}"
                found[case], hottest[case] = value_of(copy.deepcopy(phases[phase]), rule, fault, within_s)
    return {"seed": seed, "reached": found, "hottest_c": hottest}


def value_of(made, rule, fault, within_s):
    """(what the rule's value comes to with this fault, the highest true air meanwhile in degrees)."""
    start(fault, made)
    if made.state == "idle":
        made.advance(1.0)
        made.send("start")
    reached, end_s, hottest_c = Margins(), made.now_s + within_s, 0.0
    while made.now_s < end_s and made.state not in ("aborted", "stopped"):
        made._turn()
        reached.judge(made)
        hottest_c = max(hottest_c, made.outside.true_c("dome"))
    values = [row["value"] for row in reached.rows() if row["rule"] == rule]
    return (max(values) if values else None), hottest_c


def job(task):
    """One process's piece of work."""
    kind, seed = task
    return kind, (healthy if kind == "healthy" else faulty)(seed)


def campaign(seeds, kinds, jobs):
    """Outcomes of all of them as they are done."""
    tasks = [(kind, seed) for seed in seeds for kind in kinds]
    if jobs <= 1:
        yield from map(job, tasks)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        for future in as_completed([pool.submit(job, task) for task in tasks]):
            yield future.result()


def table(well, ill):
    """Lines: rule, healthy, threshold, faulty and both distances."""
    worst = least([each["rows"] for each in well])
    lowest = {}
    for each in ill:
        for name, value in each["reached"].items():
            if name.startswith("unreached"):
                continue
            if value is not None and (name not in lowest or value < lowest[name]):
                lowest[name] = value
    lines = ["| rule | at | healthy | threshold | distance | faulty | distance | unit |",
             "| --- | --- | --- | --- | --- | --- | --- | --- |"]  # fmt: skip
    for rule, unit in UNITS.items():
        cases = {name: value for name, value in lowest.items() if name.split()[0] == rule}
        weakest = min(cases, key=cases.get) if cases else None
        if weakest is not None and not any(named == rule for named, _ in worst):  # no healthy evenings in this run
            lines.append(f"| {rule} | - | - | - | - | {cases[weakest]:.1f} ({weakest.split(' ', 1)[1]}) | - | {unit} |")
        for (named, setpoint_c), row in sorted(worst.items()):
            if named != rule:
                continue
            cells = [rule, setpoint_c, *(f"{row[name]:.1f}" for name in ("value", "threshold", "distance")), "-", "-"]
            if weakest is not None:
                cells[5] = f"{cases[weakest]:.1f} ({weakest.split(' ', 1)[1]})"
                cells[6] = f"{cases[weakest] - row['threshold']:.1f}"
            lines.append("| " + " | ".join(map(str, [*cells, unit])) + " |")
    return lines


STRUCTURES = ("layered", "three lumps", "roofed")  # in turn by seed, as `plant` makes them


def unseen(well, ill):
    """Lines: of how many faulty ovens of each structure a rule's value did not come to its threshold in time, and how
    hot the air of these became at most while every rule stood aside."""
    thresholds = {}
    for row in (row for each in well for row in each["rows"]):
        if row["rule"] not in thresholds or row["setpoint_c"] == 450:  # where the faulty evenings are
            thresholds[row["rule"]] = row["threshold"]
    count, hottest_c = {}, {}
    for each in ill:
        for case, value in each["reached"].items():
            threshold = thresholds.get(case.split()[0])
            if threshold is None:
                continue
            held = count.setdefault(case, {name: [0, 0] for name in STRUCTURES})[STRUCTURES[each["seed"] % 3]]
            held[1] += 1
            if value is None or value < threshold:
                held[0] += 1
                hottest_c[case] = max(hottest_c.get(case, 0.0), each["hottest_c"][case])
    heads = ["not seen in time", *STRUCTURES, "their air at most, °C"]
    lines = ["| " + " | ".join(heads) + " |", "|" + " --- |" * len(heads)]
    for case, by in sorted(count.items()):
        cells = [case, *(f"{few} of {many}" for few, many in by.values())]
        cells.append(f"{hottest_c[case]:.0f}" if case in hottest_c else "-")
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def main(argv=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=300)
    parser.add_argument("--first", type=int, default=0, help="first seed (default: 0)")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", choices=("healthy", "faulty"), help="one half of it")
    parser.add_argument("--json", metavar="FILE", help="keep every value")
    given = parser.parse_args(argv)
    kinds = (given.only,) if given.only else ("healthy", "faulty")
    found = {"healthy": [], "faulty": []}
    for kind, outcome in campaign(range(given.first, given.first + given.ovens), kinds, given.jobs):
        found[kind].append(outcome)
        if outcome.get("trips"):
            print(f"healthy {outcome['seed']} ({outcome['words']}) tripped: {'; '.join(outcome['trips'])}", flush=True)
    print("\n".join(table(found["healthy"], found["faulty"])))
    print("\n" + "\n".join(unseen(found["healthy"], found["faulty"])) + "\n")
    silent = {name for each in found["faulty"] for name, value in each["reached"].items() if value is None}
    unreached = sum(1 for each in found["faulty"] for name in each["reached"] if name.startswith("unreached"))
    print(f"healthy {len(found['healthy'])}, faulty {len(found['faulty'])}; rules that never judged: {sorted(silent)}; "
          f"warm states not reached: {unreached}")  # fmt: skip
    if given.json:
        Path(given.json).write_text(json.dumps(found, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
