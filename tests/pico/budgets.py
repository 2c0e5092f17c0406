"""What each value costs that the board stores: bytes, and how long the write stalls the loop.

python -m tests.pico.budgets        the table of boards/README.md, measured anew at typical and at slowest flash
"""

import sys

from host.deploy import plan
from tests.pico.image import NoFirmware, loaded
from tests.pico.rig import FAST_FLASH, SLOW_FLASH, Rig, ready

# name: when it is written, and the largest value that an evening makes of it
VALUES = {
    "session": ("start; end of an evening", '{"open": 1, "planned": 0}'),
    "latch": (
        "trip (after the outputs are off); acknowledge; unlock",
        '{"first_out": "probe-short-supply", "tripped": ["probe-short-supply", "reading-wrong", "probes-disagree", '
        '"contactor-welded"], "in_a_row": 2, "locked_out": 0}',
    ),
    "night": (
        "start; each bread at the open door; hold; end",
        '{"plan": "club-night", "leg": 2, "leg_done": 20, "count": 60, "done": 60, "at_s": 12000, '
        '"adjust": -4, "open": 1}',
    ),
    "breads0": ("each bread at the open door (blocks of 20); end", "[12345] * 200"),
    "counters": (
        "with a record; end; trip",
        '{"hot_min": 99999, "heat_min": 99999, "sessions": 999, "breads": 99999, "trips": 999, "cuts": 99, '
        '"top": 999999, "deck": 999999, "contactor": 99999, "stalls": 999}',
    ),
    "stone": (
        "end of an evening with spot readings",
        '{"factor": [0.1234567] * 4, "cov": [0.01234567] * 10, "spots": 99}',
    ),
    "settings": ("setting, correction, learning: idle only", '{"a%02d" % i: 123456 for i in range(20)}'),
    "plan": ("plan end: idle only", '{"name": "club-night", "end_c": 250, "legs": [[450] * 14] * 6}'),
    "commission": ("witness: no evening on", '{"release_c": 480, "steps": [["ab", "2026-11-26", 480000]] * 10}'),
    "log": ("trip, acknowledge, learning: one line", ""),
}
TIMES = 5  # so often each, so that the medium's own tidying is among them

MAIN = """
import gc, time
gc.threshold(32768)
from tizzone.memory.memory import Memory
m = Memory()
def one(name, value, i):
    if name == "log":
        m.log("trip probe-short-supply pv_mc=%d" % (450000 + i))
    else:
        m.keep(name, value)
for name, make in VALUES:
    most = total = 0
    value = make()
    for i in range(TIMES + 1):
        if isinstance(value, dict):
            value["n"] = i
        elif value:
            value[0] = i
        t = time.ticks_us()
        one(name, value, i)
        d = time.ticks_diff(time.ticks_us(), t)
        if i:
            most = max(most, d)
            total += d
    print("W", name, total // TIMES, most, 64 if name == "log" else len(str(value)), m.failed)
print("DONE")
"""


EVENING = ("session", "latch", "night", "breads0", "counters", "log")  # written in an evening


def measure(flash_ms, names=tuple(VALUES)):
    """{name: (mean ms, worst ms, bytes about)} of these values' writes on the emulated chip."""
    makers = ", ".join(f"({name!r}, lambda: {VALUES[name][1] or 'None'})" for name in names)
    main = MAIN.replace("in VALUES", f"in ({makers},)").replace("TIMES", str(TIMES))
    made = plan.make("boards/pico.py", is_compiled=True)
    found = {}
    with Rig(loaded(made, {"main.py": main.encode()}), flash_ms=flash_ms) as rig:
        done = rig.until_python(lambda: any(line == "DONE" or "Error" in line for _, line in rig.serial), 400, 2.0)
        for _, line in rig.serial:
            words = line.split()
            if words[:1] == ["W"]:
                if words[5] != "0":
                    raise RuntimeError(f"the board could not store {words[1]}")
                found[words[1]] = (int(words[2]) / 1000, int(words[3]) / 1000, int(words[4]))
        if not done or set(found) != set(names):
            raise RuntimeError(f"the board stopped: {rig.serial[-3:]}")
    return found


def rows():
    """The table's lines, measured."""
    fast, slow = measure(FAST_FLASH), measure(SLOW_FLASH)
    yield "| value | written when | bytes | ms, typical flash: mean, worst | ms, slowest flash: mean, worst |"
    yield "| --- | --- | --- | --- | --- |"
    for name, (when, _) in VALUES.items():
        a, b = fast[name], slow[name]
        yield f"| `{name}` | {when} | {a[2]} | {a[0]:.0f}, {a[1]:.0f} | {b[0]:.0f}, {b[1]:.0f} |"


def main():
    """Print the table."""
    try:
        ready()
    except NoFirmware as error:
        print(f"budgets: {error}", file=sys.stderr)
        return 2
    print("\n".join(rows()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
