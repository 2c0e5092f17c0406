"""How even and how fast: twelve breads on unseen ovens of three structures; seconds as today, heat, a thermostat, and
the best pace for an evenness that somebody finds who knows the oven itself (oracle.py).

    python -m tests.bench.frontier [--ovens 20] [--probes 7.5,rim,none] [--cook prompt,uneven] [--stretches 0,5,20]
                                   [--no-frontier] [--json FILE] [--picture FILE.svg]

Spread: highest / lowest of breads 2..12, of base and of top. Median / worst over the ovens. Estimate: the board's heat
against the plant's, breads 2..12: mean ratio and its range over the ovens, and rms within an oven. About 20 minutes of
one core for all of it. Not a test: it decides nothing.
"""

import argparse
import copy
import json
import statistics
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from host import oven
from tests.bench import oracle
from tests.bench.heat_board import Board, club, figures
from tests.bench.rivals import OnOff

KINDS = (oven.sample, oven.other, oven.third)
FIRST_SEED = 601
PROBES = {"7.5": (7.5, 0), "rim": (7.5, 1), "none": None}  # none: four spots are taken instead
BASE_KJ = 1290
STRETCHES = "0,5,10,20,30"
TODAY = {"base_kj": 0, "stretch_pct": 0}
NO_STONE = {"stone_c": 0, "wait_min": 0, "sag_k": 0, **TODAY}


class Watched(Board):
    """Keeps the oven as it is when the first bread goes in."""

    start = None

    def _cook(self):
        due = self.app.sequence.stage == self.S.LOAD and not self.plant.baked
        before = copy.deepcopy(self.plant) if due else None
        super()._cook()
        if due and self.plant.baked:
            self.start = before


def made(number, probe):
    """(oven, seed) number 0.. of the unseen ones, with its stone probe."""
    seed = FIRST_SEED + number // 3
    changes = {"stone_probe_depth_mm": 7.5, "stone_probe_from_middle_mm": 300.0 * probe[1]} if probe else {}
    return KINDS[number % 3](seed, **changes), seed


def evening(number, name, cook, plan, thermostat=False, kind=Board):
    """One evening's Board, run."""
    plant, seed = made(number, PROBES[name])
    board = kind(plant, plan, PROBES[name], PROBES[name] is None, seed, cook=cook)
    if thermostat:
        board.app.pid = _Thermostat()
    return board.run()


class _Thermostat(OnOff):
    """On/off, 12 K, in the place of the controller."""

    def update(self, setpoint_c, pv_c, dt_s, heating=True):
        return super().update(setpoint_c, pv_c, dt_s)

    def retarget(self, setpoint_c, pv_c):
        """It has nothing to change."""

    match = retarget


def row_of(board):
    """Figures of an evening, with the estimate against the truth."""
    row = figures(board)
    for told, true in (("base_kj", "base_kj_m2"), ("top_kj", "top_kj_m2")):
        if board.told:
            pairs = zip(board.told, board.breads, strict=True)
            ratios = [one[told] / getattr(each, true) for one, each in pairs][1:]
            row["told_" + told[:-3]] = float(np.mean(ratios)), float(np.std(ratios) / np.mean(ratios))
    return row


def job(order):
    """All evenings of one oven, one probe and one cook."""
    number, name, cook, stretches, with_frontier = order
    today = evening(number, name, cook, club(**TODAY), kind=Watched)
    found = {"today": row_of(today)}
    for stretch in stretches:
        plan = club(base_kj=BASE_KJ, stretch_pct=stretch)
        found[f"heat {stretch}"] = row_of(evening(number, name, cook, plan))
    if name == "7.5":
        found["seconds, dome only"] = row_of(evening(number, name, cook, club(**NO_STONE)))
        found["thermostat"] = row_of(evening(number, name, cook, club(**NO_STONE), thermostat=True))
    if with_frontier:
        one = found["today"]
        found["frontier"] = oracle.frontier(today.start, one["base_kj"], one["top_kj"])
    return {"number": number, "probe": name, "cook": cook, "found": found}


def told(values, digits=3):
    """Median / worst."""
    return f"{statistics.median(values):.{digits}f} / {max(values):.{digits}f}"


def table(rows):
    """Lines of the figures of these rows."""
    lines = ["| | base | top | pace, s | base kJ/m2 | top kJ/m2 |", "| --- | --- | --- | --- | --- | --- |"]
    for name in rows[0]["found"]:
        if name == "frontier":
            continue
        all_of = [row["found"][name] for row in rows]
        columns = (("base", 3), ("top", 3), ("pace_s", 0), ("base_kj", 0), ("top_kj", 0))
        cells = [told([one[key] for one in all_of], digits) for key, digits in columns]
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return lines


def estimates(rows):
    """Lines about the board's estimate in the evenings by heat."""
    lines = []
    for part in ("base", "top"):
        pairs = [one["told_" + part] for row in rows for one in row["found"].values() if "told_" + part in one]
        means, within = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
        lines.append(
            f"{part}: mean {statistics.mean(means):.3f} ({min(means):.2f} to {max(means):.2f} by oven), within an oven "
            f"{100 * np.sqrt(np.mean(np.square(within))):.2f} % rms, worst {100 * max(within):.2f} %"
        )
    return lines


def against_frontier(rows):
    """Lines: each way's pace against the frontier's at the same evenness, median over the ovens that have both."""
    lines = []
    for name in rows[0]["found"]:
        ratios = []
        for row in rows:
            front, one = row["found"].get("frontier"), row["found"][name]
            if not front or name == "frontier":
                continue
            best_s = oracle.pace_at(front, max(one["base"], one["top"]))
            if best_s:
                ratios.append(one["pace_s"] / best_s)
        if ratios:
            lines.append(f"{name}: {told(ratios)} of the frontier's pace at its evenness ({len(ratios)} ovens)")
    return lines


def picture(rows, path):
    """All of it in one picture: evenness across, pace up."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8, 5), layout="constrained")
    axes = figure.add_subplot()
    for row in rows:
        front = row["found"].get("frontier")
        if front:
            axes.plot(*zip(*front, strict=True), color="0.8", linewidth=0.8, zorder=1)
    axes.plot([], [], color="0.8", label="best found with full knowledge, one line an oven")
    marks = {"today": ("s", "tab:blue"), "thermostat": ("x", "tab:red"), "seconds, dome only": ("^", "tab:cyan")}
    for name in rows[0]["found"]:
        if name == "frontier":
            continue
        spread = [max(row["found"][name]["base"], row["found"][name]["top"]) for row in rows]
        pace_s = [row["found"][name]["pace_s"] for row in rows]
        mark, colour = marks.get(name, ("o", None))
        drawn = axes.scatter(spread, pace_s, s=12, marker=mark, color=colour, alpha=0.5, zorder=2)
        axes.scatter([statistics.median(spread)], [statistics.median(pace_s)], s=90, marker=mark, zorder=3,
                     color=drawn.get_facecolor()[0][:3], label=name)  # fmt: skip
    axes.set_xlabel("highest / lowest of breads 2 to 12, worse of base and top")
    axes.set_ylabel("from bread to bread, s")
    axes.legend(fontsize=8)
    axes.grid(alpha=0.3)
    figure.savefig(path, metadata={"Date": None} if str(path).endswith(".svg") else None)


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=20)
    parser.add_argument("--probes", default="7.5,rim,none")
    parser.add_argument("--cook", default="prompt,uneven")
    parser.add_argument("--stretches", default=STRETCHES, help=f"per cent, a row each (default: {STRETCHES})")
    parser.add_argument("--no-frontier", action="store_true")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--json")
    parser.add_argument("--picture")
    options = parser.parse_args(arguments)
    stretches = [int(each) for each in options.stretches.split(",")]
    orders = [(n, name, cook, stretches, not options.no_frontier and (name, cook) == ("7.5", "prompt"))
              for name in options.probes.split(",") for cook in options.cook.split(",")
              for n in range(options.ovens)]  # fmt: skip
    with ProcessPoolExecutor(options.jobs) as pool:
        rows = list(pool.map(job, orders))
    for cook in options.cook.split(","):
        for name in options.probes.split(","):
            chosen = [row for row in rows if (row["probe"], row["cook"]) == (name, cook)]
            print(f"\ncook {cook}, probe {name}, {len(chosen)} ovens; median / worst")
            print("\n".join([*table(chosen), *estimates(chosen), *against_frontier(chosen)]), flush=True)
    if options.json:
        with open(options.json, "w", encoding="utf-8") as file:
            json.dump(rows, file, indent=1)
    if options.picture:
        picture([row for row in rows if (row["probe"], row["cook"]) == ("7.5", "prompt")], options.picture)
    return 0


if __name__ == "__main__":
    sys.exit(main())
