"""A read and its conditioning allocate nothing: 1,000 times on real MicroPython with the heap
locked.
"""

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CASES = Path(__file__).parent / "heap"


@pytest.mark.parametrize("case", sorted(p.name for p in CASES.glob("*.py") if p.name != "common.py"))
def test_reading_allocates_nothing_under_heap_lock(case, interpreter):
    done = subprocess.run(
        [interpreter, "-X", "heapsize=145wK", str(CASES / case)],
        capture_output=True, text=True, timeout=60, check=False,
        env={"MICROPYPATH": f"{ROOT / 'device'}:{CASES}"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[-1] == "1000", done.stdout
