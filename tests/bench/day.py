"""A board that stays on: what is live on real MicroPython after hours idle, `python -m tests.bench.day [HOURS]` (24).

The unix port, in the board's own time without waiting: a day of ticks takes a minute or two. A question comes every
minute, each of six in turn. Exit code 1 where more than 2 kB came to be live after the first two hours.
"""

import argparse
import json
import subprocess
import sys

from tests.bench.speed import on_device

MOST_BYTES = 2_000


def main():
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("hours", nargs="?", type=float, default=24.0, help="of the board's time (default: 24)")
    command, folder = on_device()
    with folder:
        done = subprocess.run(
            [*command, str(parser.parse_args().hours)], capture_output=True, text=True, cwd=folder.name
        )
    if done.returncode:
        sys.exit("micropython: " + (done.stderr or done.stdout).strip().splitlines()[-1])
    rows = [json.loads(line) for line in done.stdout.splitlines() if line.startswith("[")]
    for hours, live, answers in rows:
        print(f"{hours:5.1f} h: live {live} bytes, {answers} answers")
    return 0 if len(rows) > 2 and rows[-1][1] - rows[1][1] <= MOST_BYTES else 1


if __name__ == "__main__":
    sys.exit(main())
