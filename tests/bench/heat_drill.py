"""The drill's faults while breads go by heat: in a bake, in the recovery after it, at a bread that is due before the
dome is back, and held in between.

    python -m tests.bench.heat_drill [--ovens standard,other:602] [--stretch 20] [--faults NAME,...] [--every 1]

Every fault of the drill that can exist in full wiring, graded by the drill's own promises (host/drill/judge.py); the
bread that is due counts as recovery there. The states are those of the fourth bread, two of which were laid early.
`--every N`: each Nth case. About a second of one core a case. 1 if a promise was broken.
"""

import argparse
import collections
import copy
import sys

from host.drill import campaign, warm
from host.faults.library import FAULTS
from host.pins import pin_map
from host.simulator.cook import Cook
from tests.bench.frontier import BASE_KJ
from tests.bench.heat_board import club

BOARD = "boards/pico.py"
PROMISED = {"load": "load", "recover": "recover", "due early": "recover", "held": "held"}
BREADS = 3  # done before


def states(spec, stretch_pct):
    """{phase: Rehearsal} of an oven in full wiring, by heat."""
    plan = club(base_kj=BASE_KJ, stretch_pct=stretch_pct)
    made = warm.rehearsal(spec, "full")
    made.advance(6.0)
    campaign.ask_limit(made)
    made.cook = Cook(plan=plan)
    for line in (*plan.lines(), "start"):
        reply = made.send(line)
        if not reply.startswith("~ok"):
            raise SystemExit(f"heat_drill: {line}: {reply}")
    seq = made.board.life.app.sequence
    found = {}
    warm.until(made, lambda r: r.stage == "bake" and seq.breads_done >= BREADS, "load")
    made.advance(15.0)
    found["load"] = copy.deepcopy(made)
    warm.until(made, lambda r: r.stage == "recover" and seq.by_heat and not r.outside.door_open, "recover")
    found["recover"] = copy.deepcopy(made)
    found["held"] = copy.deepcopy(made)
    found["held"].send("hold")
    found["held"].advance(20.0)
    warm.until(made, lambda r: r.stage == "load", "due early")
    found["due early"] = made
    return found


def main(arguments=None):
    """Run and tell; 1 if a promise was broken."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", default="standard,other:602")
    parser.add_argument("--stretch", type=int, default=20)
    parser.add_argument("--faults", help="only these, with commas between")
    parser.add_argument("--every", type=int, default=1)
    options = parser.parse_args(arguments)
    pins = pin_map.read(BOARD)
    names = options.faults.split(",") if options.faults else list(FAULTS)
    names = [name for name in names if campaign.is_possible(FAULTS[name], "full", pins)]
    failed, told = 0, collections.Counter()
    number = 0
    for spec in options.ovens.split(","):
        for phase, made in states(spec, options.stretch).items():
            short_k = (made.board.life.app.sequence.setpoint_mc - made.board.life.app.dome.pv_mc) / 1000
            print(f"{spec}, {phase}: dome {short_k:.0f} K below its setpoint, stage {made.stage}", flush=True)
            for name in names:
                number += 1
                if number % options.every:
                    continue
                result = campaign.drilled(copy.deepcopy(made), campaign.Case((name,), PROMISED[phase], spec, "full"))
                told[phase, "failed" if result.failed else "quiet" if result.quiet else "ended"] += 1
                if result.failed:
                    failed += 1
                    print(f"  {name}: {result.failed}; {result.reason} after {result.seen_s:.0f} s", flush=True)
    print("; ".join(f"{phase} {what} {count}" for (phase, what), count in sorted(told.items())))
    print(f"{sum(told.values())} cases, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
