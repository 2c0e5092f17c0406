"""The stone's estimate on ovens that took no part in choosing its rates, one line each.

    python -m tests.bench.stone [--seeds 1-20]

Columns, K: rms with typical values over the whole evening; rms of an evening during which four spots are taken, from
the setpoint on; rms after the fourth; rms of the next evening; and how far below the wanted stone 'ready' was said at
worst in each of the three (negative: late).
"""

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "stone"))

from evenings import judge, rms, session  # noqa: E402

from host import oven  # noqa: E402


def main(arguments=None):
    """Run and tell."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1-20", help="first-last (default: 1-20)")
    first, _, last = parser.parse_args(arguments).seeds.partition("-")
    rows = []
    for kind, make in (("layers", oven.sample), ("lumps", oven.other)):
        for seed in range(int(first), int(last) + 1):
            row = judge(session(make(seed), seed, 9000), seed)
            rows.append(row)
            shown = [f"{key[:-2]} {'never' if value is None else round(float(value), 1)}" for key, value in row.items()]
            print(f"{kind} {seed}: {', '.join(shown)}", flush=True)
    for key in rows[0]:
        values = [row[key] for row in rows if row[key] is not None]
        print(f"{key}: pooled {rms(values):.2f}, highest {max(values):.1f}, of {len(values)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
