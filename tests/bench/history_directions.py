"""Measures how the figures of an evening move when something changes: prints what host/history/directions holds.

python tests/bench/history_directions.py [OVENS]      half of them layered, half of three lumps; seeds from 1000
"""

import sys
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1] / "history")]

from many import Evenings  # noqa: E402

from host.history.evening import NAMES, observe, vector  # noqa: E402

FIRST_SEED = 1000
# name: (what changes, by which factor)
TRIALS = {
    "power": [("power", 0.86), ("top", 0.75)],
    "gasket": [("loss", 1.15)],
    "wall": [("wall", 1.15)],
    "probe": [("probe", 0.94), ("probe", 1.06)],
    "mass": [("mass", 1.2)],
}


def raw(evening, room_c=20.0):
    """The vector without the correction for the room."""
    return vector({**evening, "room_c": room_c if evening["room_c"] is not None else None}, 450.0)


def one(kind, seed):
    """{name: [direction per unit of the logarithm, ...]} and the movement per K of a warmer room."""
    base = observe(Evenings(kind, seed, 1, {}, [1.0], [20.0], quiet=True).run(np.array([1500.0]))[0], [])
    p = Evenings(kind, seed, 1, {}, [1.0], [20.0]).plant.parameters
    hold_w = (base["hold"] or 60.0) / 100.0 * (p.top_w + p.deck_w)
    trials = [(name, what, factor) for name, list_ in TRIALS.items() for what, factor in list_]
    count = len(trials) + 2
    health = {what: np.ones(count) for what in ("power", "top", "loss", "wall", "probe", "mass")}
    for i, (_, what, factor) in enumerate(trials):
        health[what][i + 1] = factor
    room = np.full(count, 20.0)
    room[-1] = 28.0
    evenings = Evenings(kind, seed, count, health, np.ones(count), room, hold_w=hold_w, quiet=True)
    found = [raw(observe(rows, [])) for rows in evenings.run(np.full(count, 1500.0))]
    top_share = p.top_w / (p.top_w + p.deck_w)
    moves = {}
    for i, (name, what, factor) in enumerate(trials):
        size = np.log(1 - top_share * (1 - factor)) if what == "top" else np.log(factor)
        moves.setdefault(name, []).append((found[i + 1] - found[0]) / size)
    return moves, (found[-1] - found[0]) / 8.0


def main(ovens):
    """Print the table."""
    moves, rooms = {}, []
    for k in range(ovens):
        kind = ("layered", "lumped")[k % 2]
        found, room = one(kind, FIRST_SEED + k)
        rooms.append(room)
        for name, rows in found.items():
            moves.setdefault(name, []).extend(rows)
        print(f"# {kind} {FIRST_SEED + k} done", file=sys.stderr)
    print("COOLER_PER_K =", tuple(np.round(np.nanmedian(rooms, axis=0), 4).tolist()))
    print("# spread of it:", np.round(np.nanstd(rooms, axis=0), 4).tolist())
    print("MOVES = {")
    for name, rows in moves.items():
        rows = np.array(rows)
        whole = rows[np.isfinite(rows).all(axis=1)]
        print(f'    "{name}": (  # {len(whole)} of {len(rows)} trials had every figure: {" ".join(NAMES)}')
        print(f"        {np.round(np.mean(whole, axis=0), 3).tolist()},")
        print("        [")
        for line in np.cov(whole.T):
            print(f"            {np.round(line, 4).tolist()},")
        print("        ],\n    ),")
    print("}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
