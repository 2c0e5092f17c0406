"""One short evening on one oven three times: the Pico's firmware, MicroPython's unix port, CPython. What differs?

    python -m tests.pico.compare [--setpoint 120] [--out FOLDER]    rig.csv, unix.csv, cpython.csv; some minutes

The same person asks `status` each second and acts on what it says: start, two breads through an open door, stop. Oven
and probes are the same equations without noise (same_oven.py). Compared over the time since `start` was answered:
states and stages in their order, when each began, and the dome's reading second by second. Exit code 1 where the order
differs, a turn comes more than a tick and the second between two questions apart, or readings are further
apart than one code of the chip (0.25 K on its straight line, up to 0.262 K on the curve of type K).
"""

import argparse
import csv
import statistics
import sys
from pathlib import Path

from host.deploy import plan
from host.link.frames import with_checksum
from host.simulator.rehearsal import Rehearsal
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import Rig, ready
from tests.pico.same_oven import SameOven

SETTINGS = {"soak_min": 0, "bake_s": 20, "breads": 2}
START_C, ARMED_S, LONGEST_S = 30.0, 8.0, 900
FIELDS = ("t_s", "pv_mc", "stone_mc", "setpoint_mc", "out_pm", "state", "stage", "breads", "trip", "permit")
CODE_MC = 262


class OnRig:
    """The person's end of the emulated Pico."""

    def __init__(self, image):
        self.rig = Rig(image, oven={"o0": START_C, "noise": 0})

    @property
    def now_s(self):
        """Since power-up."""
        return self.rig.t

    def until(self, t):
        """Let time pass until then."""
        self.rig.run(max(0.0, t - self.rig.t))

    def ask(self, line):
        """The reply."""
        return self.rig.ask(line) or ""

    def opens(self, seconds):
        """The door, for a while."""
        self.rig.act("contact door 0")
        self.rig.at(self.rig.t + seconds, "contact door 1")

    def close(self):
        """End."""
        self.rig.close()


class OnPorts:
    """The same of a rehearsal."""

    def __init__(self, runtime, settings):
        self.board = Rehearsal(plant=SameOven(START_C), settings=settings, runtime=runtime, cook=None)
        for chip in self.board.outside.probe_chips.values():
            chip.noise_k = 0.0

    @property
    def now_s(self):
        """Since power-up."""
        return self.board.now_s

    def until(self, t):
        """Let time pass until then."""
        if t > self.now_s:
            self.board.advance(t - self.now_s)

    def ask(self, line):
        """The reply without its mark."""
        return self.board.send(with_checksum(line))[1:]

    def opens(self, seconds):
        """The door, for a while."""
        self.board.outside.door(seconds)

    def close(self):
        """End."""
        self.board.close()


def evening(board):
    """Rows of FIELDS, a second apart from the start on; the person follows the board's words alone."""
    board.until(ARMED_S)
    if not board.ask("start").startswith("ok"):
        raise RuntimeError("the board does not start")
    begun, rows, due = board.now_s, [], None
    for second in range(1, LONGEST_S):
        board.until(begun + second)
        now = dict(word.split("=", 1) for word in board.ask("status").split() if "=" in word)
        rows.append([second, *(now.get(name, "") for name in FIELDS[1:])])
        if now.get("stage") == "load" and due is None:
            due = second
            board.opens(8)
        if due is not None and second == due + 4:
            board.ask("loaded")
        if now.get("stage") == "bake":
            due = None
        if now.get("state") in ("stopping", "stopped", "complete", "aborted"):
            break
    return rows


def turns(rows):
    """[(state, stage, breads), ...] in their order, each with the second in which it was first told."""
    found = []
    for row in rows:
        told = (row[5], row[6], row[7])
        if not found or found[-1][0] != told:
            found.append((told, row[0]))
    return found


def compared(name, other, one, two):
    """Lines about two evenings, and whether they agree."""
    a, b = turns(one), turns(two)
    lines = []
    same_order = [turn for turn, _ in a] == [turn for turn, _ in b]
    apart = [second - there for (_, second), (_, there) in zip(a, b, strict=False)] if same_order else []
    gaps = [abs(int(x[1]) - int(y[1])) for x, y in zip(one, two, strict=False) if x[1] and y[1]]
    lines.append(f"{name} and {other}: {len(a)} turns, order {'the same' if same_order else 'DIFFERENT'}")
    if not same_order:
        lines += [f"  {turn} / {there}" for turn, there in zip(a, b, strict=False) if turn[0] != there[0]][:3]
    else:
        lines.append(f"  turns apart by {min(apart)} to {max(apart)} s")
    worst = max(range(len(gaps)), key=gaps.__getitem__)
    over = sum(gap > CODE_MC for gap in gaps)
    lines.append(
        f"  reading apart: median {statistics.median(gaps):.0f} mK, most {gaps[worst]} mK at {worst + 1} s; "
        f"{over} of {len(gaps)} seconds by more than one code"
    )
    return lines, same_order and max(map(abs, apart)) <= 1 and not over


def write(folder, name, rows):
    """One CSV file."""
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([FIELDS, *rows])


def main(argv=None):
    """The command; its exit code."""
    parser = argparse.ArgumentParser(description="One evening on the emulated Pico, the unix port and CPython.")
    parser.add_argument("--setpoint", type=int, default=120, help="degrees Celsius (default 120)")
    parser.add_argument("--out", type=Path, help="folder for the three recordings")
    options = parser.parse_args(argv)
    try:
        ready()
    except NoFirmware as error:
        print(f"compare: {error}", file=sys.stderr)
        return 2
    settings = {**SETTINGS, "setpoint_c": options.setpoint}
    image = loaded(plan.make("boards/pico.py", is_compiled=True), released(settings=settings))
    found = {}
    for name, make in (
        ("cpython", lambda: OnPorts("cpython", settings)),
        ("unix", lambda: OnPorts("micropython", settings)),
        ("rig", lambda: OnRig(image)),
    ):
        board = make()
        try:
            found[name] = evening(board)
        finally:
            board.close()
        if options.out:
            options.out.mkdir(parents=True, exist_ok=True)
            write(options.out, name, found[name])
        print(f"{name}: {len(found[name])} s, {' '.join(turn[1] + '@' + str(s) for turn, s in turns(found[name]))}")
    agree = True
    for name, other in (("rig", "unix"), ("rig", "cpython"), ("unix", "cpython")):
        lines, is_same = compared(name, other, found[name], found[other])
        print("\n".join(lines))
        agree = agree and is_same
    return 0 if agree else 1


if __name__ == "__main__":
    sys.exit(main())
