"""What a plan by heat costs the board's memory: bytes of heap on MicroPython's unix port, compiled as deploy does.

    python -m tests.bench.heat_memory

Pointers are twice as long there as on a board, code and names are not: a board needs between a half and all of it.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from host.deploy import plan
from host.shim.remote import find_micropython

SCRIPT = """
import gc, json, sys
sys.path[:] = [sys.argv[1], ".frozen"]
import math
from tizzone.control import stone
from tizzone.evening import breads, leg, sequence, plan_in_force
def live():
    gc.collect()
    gc.collect()
    return gc.mem_alloc()
live()
marks = [live()]
import tizzone.control.heat
marks.append(live())
import tizzone.evening.flow as made
marks.append(live())
kept = made.Flow()
marks.append(live())
print(json.dumps([b - a for a, b in zip(marks, marks[1:])]))
"""


def measured():
    """{control/heat, evening/flow, a Flow, files}: bytes."""
    files = {file.path: file.data for file in plan.make("boards/pico.py", is_compiled=True).files}
    with tempfile.TemporaryDirectory() as folder:
        for path, data in files.items():
            out = Path(folder) / path
            out.parent.mkdir(parents=True, exist_ok=True)
            out.write_bytes(data)
        script = Path(folder) / "script.py"
        script.write_text(SCRIPT, encoding="utf-8")
        done = subprocess.run([find_micropython(), str(script), folder], capture_output=True, text=True)
    if done.returncode:
        sys.exit("micropython: " + done.stderr.strip().splitlines()[-1])
    names = ("control/heat", "evening/flow", "a Flow")
    sizes = sum(len(files[f"tizzone/{name}.mpy"]) for name in names[:2])
    return dict(zip(names, json.loads(done.stdout), strict=True)) | {"files": sizes}


if __name__ == "__main__":
    found = measured()
    print(json.dumps(found | {"heap": found["control/heat"] + found["evening/flow"] + found["a Flow"]}, indent=1))
