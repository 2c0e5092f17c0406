"""Two abnormal inputs at once, in every state that can be reached with them: a campaign.

    python tests/safety/pairs.py [MINUTES]      default 60; says how far it came

Each state is tried with every event and every pair of events of explorer.py; what came first is tried first. Left out:
a person's line in the very tick of a pair (they follow in ticks of one event), three events at once, and what the
explorer leaves out by itself: the slow rules about the oven, alarms that only tell, two probes.
"""

import sys
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from explorer import EVENTS, PAIRS  # noqa: E402
from test_explorer import Checked  # noqa: E402


def main(minutes):
    """Explore for so long; 1 if something was wrong."""
    begun_s = time.monotonic()
    made = Checked(at_most=1 << 30, events=(*EVENTS, *PAIRS), until_s=begun_s + 60.0 * minutes)
    acts = sum(len(acts) for acts in made.graph.values())
    left = made.explorer.left
    print(f"{len(made.graph)} states, {acts} acts, {left} states not tried yet, {time.monotonic() - begun_s:.0f} s")
    print(f"heat in {made.met['heat']} acts, tripped after {made.met['tripped']}; wrong: {len(made.wrong)}")
    for entry in made.wrong[:20]:
        print(entry[:3])
    return 1 if made.wrong else 0


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 60.0))
