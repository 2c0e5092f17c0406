"""Every shipped bake plan on every simulated oven and both runtimes: done, refused with a figure, or how it failed.

    python -m tests.bench.plans [--runtime cpython] [--oven heavy] [--plan club-flatbread]

About a quarter of an hour of one core. A plan that an oven cannot do must be refused beforehand with the figure; one
that is begun must be completed without a trip. Told for each: time to the first bread, breads an hour, how many
loads were released by time and not by the stone, and the stone itself at the loads.
"""

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np

from host import oven
from host.plans import bake_plan
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal

LONGEST_S = 6 * 3600.0


def tried(name, preset, runtime, spots=False, board="boards/pico.py"):
    """(good, one line) of one plan on one oven."""
    plan = bake_plan.load(name)
    plant = oven.preset(preset, 1)
    faults = bake_plan.impossible(plan, plant)
    if faults:
        return True, "refused: " + "; ".join(faults)
    cook = Cook(plan=plan, verdicts=["right right"], spots=spots)
    with Rehearsal(plant=plant, cook=cook, runtime=runtime, board=board) as made:
        made.advance(5)
        for line in plan.lines():
            reply = made.send(line)
            if not reply.startswith("~ok"):
                return False, f"refused by the board: {reply[1:]}"
        made.send("start")
        while made.now_s < LONGEST_S and made.state in ("running", "held"):
            made.advance(10)
        made.advance(130)
        return made.state == "complete" and made.trip == "none", summary(made, plan)


def without_stone(folder):
    """The full wiring without its stone probe."""
    lines = Path("boards/pico.py").read_text(encoding="utf-8").splitlines()
    path = Path(folder) / "nostone.py"
    path.write_text("\n".join(line for line in lines if not line.startswith('    "stone"')), encoding="utf-8")
    return str(path)


def summary(made, plan):
    """Figures of one evening."""
    rows = made.rows
    text = (
        f"{made.state} trip={made.trip} after {made.now_s / 60:.0f} min, highest reading {np.nanmax(rows['pv_c']):.0f}"
    )
    over_k = np.nanmax(rows["pv_c"] - np.where(rows["setpoint_c"] > 0, rows["setpoint_c"], np.nan))
    text += f", most above the setpoint {over_k:.1f} K"
    loads = [e["t_s"] for e in made.events if e["kind"] == "stage" and e["value"] == "bake"]
    if len(loads) > 1:
        stones = [rows["stone_c"][np.searchsorted(rows["t_s"], t_s) - 1] for t_s in loads]
        records = [made.send(f"bread {n}") for n in range(1, len(loads) + 1)]
        text += (
            f", first bread {loads[0] / 60:.0f} min, {3600 * (len(loads) - 1) / (loads[-1] - loads[0]):.1f} breads/h"
        )
        text += f", by time {sum('unready' in r for r in records)} of {len(loads)} (plan {plan.breads})"
        text += f", stone at load {min(stones):.0f}..{max(stones):.0f} for {plan.legs[0]['stone_c']}"
    return text


def main(arguments=None):
    """Run and tell; 1 if any plan that was begun did not end well."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runtime", choices=("cpython", "micropython"))
    parser.add_argument("--oven", choices=oven.PRESETS)
    parser.add_argument("--plan", choices=bake_plan.shipped())
    parser.add_argument("--no-stone-probe", action="store_true", help="a board without one: spots are taken instead")
    options = parser.parse_args(arguments)
    bad = 0
    for runtime in [options.runtime] if options.runtime else ["cpython", "micropython"]:
        for name in [options.plan] if options.plan else bake_plan.shipped():
            for preset in [options.oven] if options.oven else oven.PRESETS:
                with tempfile.TemporaryDirectory() as folder:
                    board = without_stone(folder) if options.no_stone_probe else "boards/pico.py"
                    good, text = tried(name, preset, runtime, options.no_stone_probe, board)
                bad += not good
                print(f"{'ok ' if good else 'BAD'} {runtime} {name} {preset}: {text}", flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
