"""What the stone's estimate makes of a probe at the face, at 7.5 mm, at the rim, and of none; simulated ovens.

    python -m tests.bench.stone_probe [--seeds 1-10]

K: rms while nothing lies there, rms from the laying until two minutes after a bread, how early 'ready' was said at the
worst, and the largest difference between a sag that was told and the true one.
"""

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "stone"))

from evenings import judge_probe, rms  # noqa: E402

from host import oven  # noqa: E402

PLACES = {"face": (0.0, 0), "7.5 mm": (7.5, 0), "rim": (7.5, 1)}


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1-10", help="first-last (default: 1-10)")
    first, _, last = parser.parse_args(arguments).seeds.partition("-")
    print("| probe | calm, rms | baked, rms | early at worst | sag off at worst |\n| --- | --- | --- | --- | --- |")
    for place, seat in PLACES.items():
        rows = [judge_probe(oven.sample, seed, *seat) for seed in range(int(first), int(last) + 1)]
        early = [row["early_k"] for row in rows if row["early_k"] is not None]
        print(f"| {place} | {rms([r['calm_k'] for r in rows]):.1f} | {rms([r['baked_k'] for r in rows]):.1f} "
              f"| {max(early):.1f} | {max(r['sag_off_k'] for r in rows):.1f} |", flush=True)  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
