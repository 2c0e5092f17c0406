"""The same store on real MicroPython, on a real folder; each runtime reads the other's files."""

import json
import subprocess
import sys
from pathlib import Path
from shutil import which

import pytest

ROOT = Path(__file__).parents[2]
MICROPYTHON = which("micropython", path=str(Path(sys.executable).parent)) or which("micropython")
# 190 kB on a board is stood for by this heap on a 64-bit build
HEAP = "heapsize=145wK"

SEQUENCE = """
import json, sys
from tizzone.memory.store import Store, StoreError
store = Store("state")
said = [store.load("latch")]
store.save("latch", {"tripped": 0})
said.append(store.load("latch"))
store.save("latch", {"tripped": 1, "reason": "high_limit", "at_s": 12.5, "note": None})
said.append(store.load("latch"))
for n in range(40):
    store.save("counters", {"hot_s": n, "list": [1, True, "°C"]})
    store.log("event %d \\x03" % n)
said.append(store.load("counters"))
try:
    store.save("settings", {"x": float("nan")})
except ValueError as error:
    said.append(str(error))
try:
    Store("state/latch.a/x").save("session", {})
except StoreError as error:
    said.append("StoreError" if isinstance(error, OSError) else "?")
said.append(list(store.read_log())[-2:])
print(json.dumps(said))
"""

READ = """
import json
from tizzone.memory.store import Store
store = Store("state")
print(json.dumps([store.load("latch"), store.load("counters"), list(store.read_log())[-1]]))
"""

EXPECTED = [
    [None, "missing"],
    [{"tripped": 0}, "ok"],
    [{"tripped": 1, "reason": "high_limit", "at_s": 12.5, "note": None}, "ok"],
    [{"hot_s": 39, "list": [1, True, "°C"]}, "ok"],
    "store: settings: not a plain value",
    "StoreError",
    ["event 38 ?", "event 39 ?"],
]


def run(runtime, script, folder):
    """Run a script in `folder` with the device folder importable; -> what it printed, decoded."""
    device = str(ROOT / "device")
    if runtime == "micropython":
        command, variable = [MICROPYTHON, "-X", HEAP, "-c", script], "MICROPYPATH"
    else:
        command, variable = [sys.executable, "-B", "-c", script], "PYTHONPATH"
    environment = {variable: device, "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, timeout=60)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


runtimes = pytest.mark.parametrize(
    "runtime",
    [
        "cpython",
        pytest.param(
            "micropython",
            marks=pytest.mark.skipif(not MICROPYTHON, reason="no MicroPython unix port here"),
        ),
    ],
)


@runtimes
def test_store_on_a_real_folder_keeps_its_promises(runtime, tmp_path):
    assert run(runtime, SEQUENCE, tmp_path) == EXPECTED


@pytest.mark.slow
@pytest.mark.skipif(not MICROPYTHON, reason="no MicroPython unix port here")
@pytest.mark.parametrize("writer", ["cpython", "micropython"])
def test_store_files_of_one_runtime_are_read_by_the_other(writer, tmp_path):
    run(writer, SEQUENCE, tmp_path)
    reader = "cpython" if writer == "micropython" else "micropython"
    assert run(reader, READ, tmp_path) == [EXPECTED[2], EXPECTED[3], "event 39 ?"]


@pytest.mark.slow
@runtimes
def test_store_damaged_files_are_said_and_never_raise(runtime, tmp_path):
    run("cpython", SEQUENCE, tmp_path)
    state = tmp_path / "state"
    whole = (state / "latch.a").read_bytes()
    (state / "latch.a").write_bytes(whole[:-3])
    (state / "counters.a").write_bytes(b"\xff\xfe\x00")
    (state / "counters.b").write_bytes(b"")
    (state / "log.a").write_bytes(b"\x03\xff\n")
    latch, counters, line = run(runtime, READ, tmp_path)
    # the copy with the trip is the damaged one: its status must say that the value is no proof
    assert latch == [{"tripped": 0}, "one_copy"]
    assert counters == [None, "damaged"]
    assert line == "??"
