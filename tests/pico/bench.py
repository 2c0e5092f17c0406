"""What the board's program costs on the emulated chip: start, memory, ticks, answers.

    python -m tests.pico.bench [--board boards/pico_panel.py] [--sources]      a table; a few minutes

A tick's length is the time from the dome's chip select to the next wait of more than 4 ms; of it the processor may wait
for a probe's bus. Live memory and the largest free block are the firmware's own words (`gc.mem_alloc`, `mem_info`),
told by a main.py that starts the program as ours does.
"""

import argparse
import re
import statistics
import sys

from host.deploy import plan
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import Rig, ready

MAIN = b"""
import gc, micropython
gc.threshold(32768)
from tizzone import app
a = app.App()
a.start()
n = 0
while True:
    if n % 240 == 8:
        gc.collect()
        print("LIVE", gc.mem_alloc(), gc.mem_free())
        micropython.mem_info()
    n += 1
    a.step()
"""
ANSWERS = ("status", "glance", "permissives", "alarms", "stone", "counters", "bread 1", "handover", "setting soak_min",
           "alarms probe-open", "log 0")  # fmt: skip


def rig_of(board, is_compiled, more):
    """A rig with that board's files, released to 480 °C."""
    files = {**released(board), **more}
    with_panel = {"display": {"unit": 0, "addr": 0x3C}, "wiring": {"stop": 26}} if "panel" in board else {}
    return Rig(loaded(plan.make(board, is_compiled=is_compiled), files), oven={"o0": 30}, **with_panel)


def memory(board, is_compiled):
    """(live bytes, largest free block in bytes, total) after the start, as the firmware tells."""
    with rig_of(board, is_compiled, {"main.py": MAIN}) as rig:
        rig.until_python(lambda: any("max free sz" in line for _, line in rig.serial), 60, 0.5)
        text = "\n".join(line for _, line in rig.serial)
    live, free = map(int, re.search(r"LIVE (\d+) (\d+)", text).groups())
    return live, 16 * int(re.search(r"max free sz: (\d+)", text)[1]), live + free


def lengths(rig, seconds):
    """Lengths of the ticks of so many seconds, ms, ascending."""
    rig.stats(reset=True)
    rig.run(seconds)
    return sorted(tick[1] for tick in rig.stats(reset=True)["ticks"])


def spread(found):
    """Median and most."""
    return f"{statistics.median(found):.1f}, {found[-1]:.1f}"


def rows(board, is_compiled):
    """Table lines: what, figure."""
    live, block, total = memory(board, is_compiled)
    with rig_of(board, is_compiled, {}) as rig:
        armed_s = rig.boots_and_arms()
        yield "power-up to armed, 3 s of grace in it, s", f"{armed_s:.1f}"
        yield "live memory after the start, kB of " + f"{total / 1000:.0f}", f"{live / 1000:.1f}"
        yield "largest free block after the start, kB", f"{block / 1000:.1f}"
        rig.run(2)
        yield "tick, idle, ms: median, most (with a collection)", spread(lengths(rig, 12))
        rig.ask("start")
        rig.until("x.conducting == 3", 12)
        yield "tick, heating, ms: median, most", spread(lengths(rig, 12))
        for line in ANSWERS:
            rig.stats(reset=True)
            reply = rig.ask(line)
            stats = rig.stats(reset=True)
            most = max(tick[1] for tick in stats["ticks"])
            late = max(gap for _, gap in stats["gaps"])
            yield (
                f"tick that answers `{line}` ({len(reply or '')} letters), ms",
                f"{most:.1f}, next tick after {late:.0f}",
            )


def main(argv=None):
    """The command."""
    parser = argparse.ArgumentParser(description="What the board's program costs on the emulated chip.")
    parser.add_argument("--board", default="boards/pico.py")
    parser.add_argument("--sources", action="store_true", help="loaded as written")
    options = parser.parse_args(argv)
    try:
        ready()
    except NoFirmware as error:
        print(f"bench: {error}", file=sys.stderr)
        return 2
    print(f"| {options.board}, {'sources' if options.sources else 'compiled'} | |\n| --- | --- |")
    for what, figure in rows(options.board, not options.sources):
        print(f"| {what} | {figure} |", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
