"""The safety path allocates nothing: 1,000 ticks on real MicroPython with the heap locked, trips appearing included."""

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HEAP = Path(__file__).parent / "heap"


def test_thousand_ticks_under_heap_lock_allocate_nothing(interpreter):
    done = subprocess.run(
        [interpreter, "-X", "heapsize=145wK", str(HEAP / "safety_path.py")],
        capture_output=True, text=True, timeout=120, check=False,
        env={"MICROPYPATH": f"{HEAP}:{ROOT / 'device'}"},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    trips, counts = done.stdout.splitlines()
    granted, ticks = map(int, counts.split())
    assert ticks == 1000
    assert granted > 200  # the path with heat was walked as well
    assert set(trips.split()) >= {
        "none", "high-limit", "probe-open", "probe-short-ground", "probe-short-supply", "probe-silent",
        "limiter-open", "fan-stopped", "relay-welded", "deadman", "tick-late",
    }  # fmt: skip
