"""What the board's estimate of heat makes of what it was not told, or told wrongly: breads 2..8 of unseen ovens.

    python -m tests.bench.heat_wrong [--ovens 6]

From an evening where all is as told the ratio of estimate to truth is each oven's own; the figures are how far the same
ratio moves, %, mean over the ovens (worst), and the spread of the breads that came of it. The sixth bread is the one
that something happens to where it happens to one.
"""

import argparse
import statistics
import sys
from concurrent.futures import ProcessPoolExecutor

from tests.bench.frontier import BASE_KJ, made
from tests.bench.heat_board import Board, club

BREADS, HIT = 8, 5  # bread number 6 is the one with index 5
PAUSE_S = 1200.0


class Troubled(Board):
    """A board to whose sixth bread something happens."""

    trouble = ""
    _done = False

    def tick(self):
        seq, here = self.app.sequence, self.plant
        laid = len(here.baked)
        if not self._done and laid == HIT + 1 and here.baked[-1].out_s is None:
            if self.trouble == "turned" and here.time_s - here.baked[-1].laid_s > 40.0:
                here.event("door", seconds=8.0)
                self._done = True
            elif self.trouble == "door 20 s" and here.time_s - here.baked[-1].laid_s > 40.0:
                here.event("door", seconds=20.0)
                self._done = True
        super().tick()
        if self.trouble == "lost word" and not self._done and laid == HIT + 1 and seq.stage == self.S.BAKE:
            self._done = True
            seq._enter(self.S.LOAD)  # the bread lies there, and nobody has said so
            self._due_s = self.time_s + 90.0
            self._stage = self.S.LOAD
            here.baked[-1].out_s = None
            self._lost_s = self.time_s + 90.0
        lost_s = getattr(self, "_lost_s", None)
        if lost_s is not None and self.time_s >= lost_s:
            here.event("door", seconds=8.0)
            here.event("unload")
            self._lost_s = None


def cold_pause(board):
    """Twenty minutes of rest at 200 degrees before the sixth bread: the stone has cooled when it goes on."""
    seq = board.app.sequence
    seq._set(200_000)
    seq._enter(board.S.REST)
    until_s = board.time_s + PAUSE_S
    while board.time_s < until_s:
        board.tick()
    seq.resume()


WRONG = {
    "as told": ({}, {}, ""),
    "bread told 30 % too heavy": ({"bread_g_dm2": 57}, {}, ""),
    "bread told 30 % too light": ({"bread_g_dm2": 31}, {}, ""),
    "turned in mid-bake": ({}, {}, "turned"),
    "door 20 s in mid-bake": ({}, {}, "door 20 s"),
    "mains -10 %": ({}, {"mains": 0.9}, ""),
    "cold stone after a pause": ({}, {"pause": True}, ""),
    "a bread nobody told of": ({}, {}, "lost word"),
}


def ratios(order):
    """(base, top) lists of estimate / truth of one oven's evening, and their spreads."""
    number, name = order
    leg, more, trouble = WRONG[name]
    plant, seed = made(number, (7.5, 0))
    if "mains" in more:
        plant.event("mains", ratio=more["mains"])
    plan = club(base_kj=BASE_KJ, stretch_pct=5, breads=BREADS, **leg)
    acts = {HIT: cold_pause} if "pause" in more else None
    board = Troubled(plant, plan, (7.5, 0), seed=seed, acts=acts)
    board.trouble = trouble
    board.run()
    breads = board.breads
    if trouble == "lost word":  # it has no estimate: the breads around it have
        breads = [each for i, each in enumerate(breads) if i != HIT]
    pairs = list(zip(board.told, breads, strict=False))[1:]
    out = []
    for told, true in (("base_kj", "base_kj_m2"), ("top_kj", "top_kj_m2")):
        values = [one[told] / getattr(each, true) for one, each in pairs]
        true_of = [getattr(each, true) for _, each in pairs]
        out.append((values, max(true_of) / min(true_of)))
    return out


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--ovens", type=int, default=6)
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args(arguments)
    orders = [(n, name) for name in WRONG for n in range(options.ovens)]
    with ProcessPoolExecutor(options.jobs) as pool:
        found = dict(zip(orders, pool.map(ratios, orders), strict=True))
    print("| | base, all breads | base, that bread | top, all | top, that bread | spread base, top (worst) |")
    print("| --- | --- | --- | --- | --- | --- |")
    for name in WRONG:
        cells, spreads = [], []
        for part in (0, 1):
            moved, hit = [], []
            for n in range(options.ovens):
                right = statistics.mean(found[n, "as told"][part][0])
                values = found[n, name][part][0]
                moved.append(100 * (statistics.mean(values) / right - 1))
                hit.append(100 * (values[HIT - 1] / right - 1))
            cells += [f"{statistics.mean(each):+.1f} ({max(each, key=abs):+.1f})" for each in (moved, hit)]
            spreads.append(max(found[n, name][part][1] for n in range(options.ovens)))
        print(f"| {name} | " + " | ".join(cells) + f" | {spreads[0]:.3f}, {spreads[1]:.3f} |", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
