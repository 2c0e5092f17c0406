"""Twelve breads by heat on whole boards, supervisor in force: no evening may trip, and how near the rules it comes.

    python -m tests.bench.heat_rehearsed [--ovens 20] [--stretch 5,20,30] [--sheaths 3,1.5,4.5] [--seconds]
                                         [--plan club-flatbread]

The unseen ovens of tests.bench.frontier, probe of the stone at 7.5 mm, in full wiring, under a cook who does as told
(host/simulator/cook.py). Told of each stretch and sheath: evenings that tripped, pace and spread of breads 2..12 by the
plant, and the rules' least distances. `--seconds`: the same plan by seconds beside it. 20 ovens at one stretch and
sheath take about two minutes of one core. Not a test; 1 if any evening tripped.
"""

import argparse
import statistics
import sys

from host.drill.margins import Margins, least
from host.plans import bake_plan
from host.simulator.cook import Cook
from host.simulator.rehearsal import Rehearsal
from tests.bench.frontier import FIRST_SEED, KINDS

LONGEST_S = 5 * 3600.0
NEAR = ("probe-slipped", "probe-fell", "over-setpoint", "away", "sagging")


def planned(name, **changes):
    """A shipped plan with other values in the legs that bake."""
    plan = bake_plan.load(name)
    for leg in plan.legs:
        if leg["breads"]:
            leg.update(changes)
    return plan


class Watched(Cook):
    """A prompt cook, and the distance to every rule in each tick."""

    def __init__(self, plan):
        super().__init__(plan=plan)
        self.margins = Margins()
        self.away_s = self.sag_s = 0.0  # the slip rule's two times, at their longest

    def act(self, rehearsal):
        """As Cook."""
        super().act(rehearsal)
        self.margins.judge(rehearsal)
        rule = rehearsal.board.life.app.supervisor.slipped
        self.away_s = max(self.away_s, rule.away_ms / 1000)
        self.sag_s = max(self.sag_s, rule.sag_ms / 1000)


def evening(number, plan, sheath_mm):
    """{trip, state, breads, pace_s, base, top, away_s, sag_s, rows} of one oven's evening."""
    seed = FIRST_SEED + number // 3
    plant = KINDS[number % 3](seed, stone_probe_depth_mm=7.5, dome_probe_mm=sheath_mm)
    cook = Watched(plan)
    with Rehearsal(plant, cook=cook, seed=seed) as made:
        made.advance(5)
        for line in plan.lines():
            reply = made.send(line)
            if not reply.startswith("~ok"):
                raise SystemExit(f"heat_rehearsed: {line}: {reply}")
        made.send("start")
        while made.now_s < LONGEST_S and made.state in ("running", "held"):
            made.advance(10)
        breads = [each for each in made.plant.baked if each.out_s is not None]
        found = {"trip": made.trip, "state": made.state, "breads": len(breads), "end_s": made.now_s}
    kept = breads[1:] or breads
    base, top = [each.base_kj_m2 for each in kept], [each.top_kj_m2 for each in kept]
    gaps = [two.laid_s - one.laid_s for one, two in zip(breads, breads[1:], strict=False)]
    return found | {
        "pace_s": statistics.mean(gaps) if gaps else float("nan"),
        "base": max(base) / min(base) if base else float("nan"),
        "top": max(top) / min(top) if top else float("nan"),
        "away_s": cook.away_s,
        "sag_s": cook.sag_s,
        "rows": cook.margins.rows(),
    }


def told(name, rows):
    """A line of the table, and one more of the rules."""
    cells = [f"{statistics.median(r[k] for r in rows):.{d}f} / {max(r[k] for r in rows):.{d}f}"
             for k, d in (("base", 3), ("top", 3), ("pace_s", 0), ("away_s", 0), ("sag_s", 0))]  # fmt: skip
    trips = sum(r["trip"] != "none" for r in rows)
    print(
        f"| {name} | {len(rows)} | {trips} | {sum(r['state'] != 'complete' for r in rows)} | "
        + " | ".join(cells)
        + " |"
    )
    worst = least([r["rows"] for r in rows])
    near = [f"{rule} {row['value']:.1f} of {row['threshold']:.1f}" for (rule, _), row in worst.items() if rule in NEAR]
    print("  " + "; ".join(near), flush=True)


def main(arguments=None):
    """Run and tell; 1 if any evening tripped."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=20)
    parser.add_argument("--stretch", default="5,20,30", help="per cent, one table row each")
    parser.add_argument("--sheaths", default="3", help="mm of the dome's probe")
    parser.add_argument("--plan", default="club-flatbread", help="a shipped plan by heat (default: club-flatbread)")
    parser.add_argument("--seconds", action="store_true", help="the same plan by seconds as well")
    options = parser.parse_args(arguments)
    plans = [("seconds", {"base_kj": 0, "stretch_pct": 0})] if options.seconds else []
    plans += [(f"heat {s}", {"stretch_pct": int(s)}) for s in options.stretch.split(",")]
    print("| | ovens | tripped | not complete | base | top | bread to bread, s | away, s | sag, s |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    tripped = 0
    for sheath_mm in map(float, options.sheaths.split(",")):
        for name, changes in plans:
            rows = [evening(n, planned(options.plan, **changes), sheath_mm) for n in range(options.ovens)]
            for n, row in enumerate(rows):
                if row["trip"] != "none" or row["state"] != "complete":
                    print(f"  oven {n}: {row['trip']}, {row['state']}, {row['breads']} breads, {row['end_s']:.0f} s")
            told(f"{name}, {sheath_mm:g} mm", rows)
            tripped += sum(row["trip"] != "none" for row in rows)
    return 1 if tripped else 0


if __name__ == "__main__":
    sys.exit(main())
