"""Cost of the float tick on real MicroPython, and a million ticks in single precision: `python -m tests.bench.tick`.

The unix port has 64-bit objects and double floats: a board's bytes are about half, its time some 200 times as long.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from host.shim.remote import find_micropython

DEVICE = Path(__file__).parents[2] / "device"
SCRIPT = """
import gc, sys, time
sys.path.insert(0, sys.argv[1])
from tizzone.control.pid import Pid
from tizzone.learning.model_fit import Fit, Window
keep = [bytearray(64) for _ in range(800)]
pid = Pid()
count = 20000
gc.collect()
begun = time.ticks_us()
for i in range(count):
    pass
empty = time.ticks_diff(time.ticks_us(), begun)
begun = time.ticks_us()
for i in range(count):
    pid.update(450.0, 449.0 + 0.01 * (i % 200), 0.25)
spent = time.ticks_diff(time.ticks_us(), begun)
gc.collect()
gc.disable()
before = gc.mem_alloc()
for i in range(100):
    pid.update(450.0, 449.5, 0.25)
used = (gc.mem_alloc() - before) / 100
gc.enable()
window = Window(220.0)
for i in range(2400):
    window.add(220.0 + (i // 90 % 2), 100.0 * (i // 80 % 2), 0.25)
fit = Fit(window)
worst = 0
while not fit.done:
    begun = time.ticks_us()
    fit.search_piece()
    worst = max(worst, time.ticks_diff(time.ticks_us(), begun))
pause = 0
for i in range(200):
    junk = [bytearray(16) for _ in range(100)]
    begun = time.ticks_us()
    gc.collect()
    pause = max(pause, time.ticks_diff(time.ticks_us(), begun))
print(empty / count, spent / count, used, pause, worst, gc.mem_alloc())
"""


def cost():
    """dict of us and bytes a tick on the unix port with the small heap of the simulated board."""
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder) / "cost.py"
        script.write_text(SCRIPT, encoding="utf-8")
        told = subprocess.run(
            [find_micropython(), "-X", "heapsize=145wK", str(script), str(DEVICE)],
            capture_output=True, text=True, check=True, timeout=300,
        )  # fmt: skip
    values = map(float, told.stdout.split())
    names = ("empty_us", "pid_us", "pid_bytes", "worst_pause_us", "worst_fit_piece_us", "live_bytes")
    return dict(zip(names, values, strict=True))


def main():
    """Print both as JSON."""
    print(json.dumps(cost(), indent=1))
    from tests.control.test_pid import test_pid_in_single_precision_does_not_drift

    test_pid_in_single_precision_does_not_drift(1_000_000)
    print("a million ticks in single precision: no drift")
    return 0


if __name__ == "__main__":
    sys.exit(main())
