"""Clean evenings of the drill again, under a plan whose time and pace go by heat: no trip may come of it.

    python -m tests.bench.heat_clean [--seeds 0-89] [--stretch 30] [--jobs 2]

The drill's own rough cook (host/drill/clean.py): doors, forgotten words, breads that follow within 20 s, mains between
-10 and +6 %, three structures of oven, three sheaths, with and without door contact; the
fastest trade that a plan may ask.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor

from host.drill import clean
from host.drill.margins import UNITS

FASTEST_PCT = 30
NEAR = ("away", "sagging", "probe-fell", "probe-slipped", "undriven-rise")  # rules that breads come near to


def lines(setpoint_c, bake_s, stretch_pct):
    """The link's lines of a plan that goes by heat at this setpoint; bounds as evening/bake_plan.py has them."""
    stone_c = setpoint_c - 10
    base_kj = round(14.3 * (stone_c - 100) / 330 * bake_s**0.8 * 90**0.2)
    leg = [setpoint_c, 0, 1, stone_c, 10, 50, 100, bake_s, 20, 420, 12, 20, 0, base_kj, stretch_pct, 0]
    return ["plan begin heat 200 1", "plan leg 1 " + " ".join(map(str, leg)), "plan end"]


def evening(order):
    """(seed, words, taken, trips, breads by heat, breads, margins)."""
    seed, stretch_pct = order
    real = clean.drawn
    told = {}

    def drawn(seed, device=None):
        made, cook, words = real(seed, device)
        send = made.send

        def with_plan(line):
            if line == "start" and not told:
                told["made"] = made
                told["taken"] = [send(each) for each in lines(cook.setpoint_c, cook.bake_s, stretch_pct)]
            return send(line)

        made.send = with_plan
        return made, cook, words

    clean.drawn = drawn
    try:
        found = clean.run_evening(seed)
    finally:
        clean.drawn = real
    book = told["made"].board.life.app.evening.breads
    taken = all(each.startswith("~ok") for each in told["taken"])
    by_heat = sum("seconds" not in book.line(n) for n in range(book.count)) if taken else 0
    return (
        seed,
        found["words"],
        taken,
        found["trips"],
        by_heat,
        book.count,
        found["margins"],
    )


def main(arguments=None):
    """Run and tell; 1 if any evening tripped."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="0-89", help="first-last (default: 0-89)")
    parser.add_argument("--stretch", type=int, default=FASTEST_PCT, help="per cent (default: the fastest)")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args(arguments)
    first, _, last = options.seeds.partition("-")
    seeds = range(int(first), int(last or first) + 1)
    with ProcessPoolExecutor(options.jobs) as pool:
        rows = list(pool.map(evening, [(seed, options.stretch) for seed in seeds]))
    for row in rows:
        if row[3] or not row[2]:
            print(row[:-1])
    tripped, refused = sum(bool(r[3]) for r in rows), sum(not r[2] for r in rows)
    print(f"{len(rows)} evenings, {sum(r[5] for r in rows)} breads, {sum(r[4] for r in rows)} by heat; "
          f"tripped {tripped}, plan refused {refused}")  # fmt: skip
    near = {}
    for row in rows:
        for each in row[6] if row[2] else ():
            if each["rule"] in NEAR and each["value"] > near.get(each["rule"], (0.0, 0.0, 0))[0]:
                near[each["rule"]] = each["value"], each["threshold"], row[0]
    for rule, (value, threshold, seed) in near.items():
        print(f"{rule}: {value:.1f} of {threshold:.1f} {UNITS[rule]}, seed {seed}")
    return 1 if tripped else 0


if __name__ == "__main__":
    sys.exit(main())
