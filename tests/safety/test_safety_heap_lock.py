"""The safety path allocates nothing: 1,000 ticks on real MicroPython with the heap locked, trips appearing included."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAP = Path(__file__).parent / "heap"


def micropython():
    """Path of the interpreter: beside this Python (the unix port from PyPI) or on PATH."""
    beside = Path(sys.executable).parent / "micropython"
    return str(beside) if beside.exists() else shutil.which("micropython")


@pytest.mark.skipif(micropython() is None, reason="no MicroPython unix port on this platform")
def test_thousand_ticks_under_heap_lock_allocate_nothing():
    done = subprocess.run(
        [micropython(), "-X", "heapsize=145wK", str(HEAP / "safety_path.py")],
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
