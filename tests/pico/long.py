"""What takes too long for a test, on the emulated Pico. Each says what it has seen; 1 is its end if that is not good.

    python -m tests.pico.long idle [--hours 24]      live memory and largest free block of an idle board
    python -m tests.pico.long evening [--hours 6]    the same with an evening: a bread every four minutes
    python -m tests.pico.long hot                    30 to 450 °C: overshoot, band, reading against the tip
    python -m tests.pico.long warm                   20 to 60 °C
    python -m tests.pico.long cuts [--cuts 10]       a load cut off at so many points, each then loaded anew
    python -m tests.pico.long hung                   a load onto a board whose program hangs
    python -m tests.pico.long link [--kb 1000]       every byte value, random bytes, lines of 10 kB, half lines

An emulated hour takes some 15 minutes of one idle core. Cut off with Ctrl-C, it says what it has seen so far.
"""

import argparse
import random
import re
import sys

from host.deploy import DeployError, plan
from host.deploy.line import Timing
from host.deploy.run import deploy
from host.link import LinkError
from tests.pico.bench import MAIN
from tests.pico.cable import Cable
from tests.pico.image import NoFirmware, files_of, loaded
from tests.pico.records import released
from tests.pico.rig import Rig, ready

PATIENT = Timing(reply_s=1.0, quiet_s=3.0, boot_s=20.0, way_in_s=60.0, exec_s=20.0)
HANG = b"""
from tizzone import app
a = app.App()
a.start()
for _ in range(20):
    a.step()
while True:
    pass
"""


def compiled():
    """The plan of a Pico as it is loaded."""
    return plan.make("boards/pico.py", is_compiled=True)


def told_memory(rig):
    """[(s, live bytes, largest free block in bytes)] that MAIN has printed."""
    found, live = [], None
    for t, line in rig.serial:
        if line.startswith("LIVE"):
            live = int(line.split()[1])
        block = re.search(r"max free sz: (\d+)", line)
        if block and live is not None:
            found.append((t, live, 16 * int(block[1])))
    return found


def memory_over(hours, each_minute, settings=None):
    """Run MAIN for so long; exit code."""
    more = {**released(settings=settings), "main.py": MAIN}
    with Rig(loaded(compiled(), more), oven={"o0": 100}) as rig:
        try:
            if rig.boots_and_arms() is None:
                raise RuntimeError("the board does not arm")
            while rig.t < hours * 3600:
                each_minute(rig)
                if int(rig.t) // 60 % 10 == 0:
                    print(f"{rig.t / 3600:6.2f} h: live {told_memory(rig)[-1][1]}", flush=True)
        except KeyboardInterrupt:
            print("cut off")
        seen = told_memory(rig)
        status = rig.status()
    first, last = seen[0], seen[-1]
    print(f"{last[0] / 3600:.2f} h; live {first[1]} -> {last[1]} bytes, most {max(row[1] for row in seen)}")
    print(f"largest free block {first[2]} -> {last[2]} bytes, least {min(row[2] for row in seen)}; {status}")
    return 0 if status.get("trip") == "none" and last[1] < first[1] + 4_000 else 1


def idle(options):
    """Nobody does anything."""
    return memory_over(options.hours or 24.0, lambda rig: rig.run(60))


def evening(options):
    """A bread whenever one is due, somebody there, questions in between."""

    def minute(rig):
        stage = rig.status().get("stage")
        if stage == "none":
            print("start:", rig.ask("start", 8))
        rig.ask("present")
        if stage == "load":
            rig.act("contact door 0")
            rig.run(3)
            rig.ask("loaded", 8)
            rig.run(3)
            rig.act("contact door 1")
        for line in ("glance", "stone", "counters", "bread", "alarms", "verdict right right"):
            rig.ask(line)
        rig.run(40)

    settings = {"soak_min": 0, "bake_s": 90, "setpoint_c": 150, "session_max_min": 480}
    return memory_over(options.hours or 6.0, minute, settings)


def heated(goal_c, start_c, most_s):
    """To a setpoint and 10 minutes on: overshoot and band of the tip, reading against it; exit code."""
    settings = {"setpoint_c": goal_c, "soak_min": 30}
    tips, apart = [], []
    with Rig(loaded(compiled(), released(settings=settings)), oven={"o0": start_c}) as rig:
        if rig.boots_and_arms() is None or rig.ask("start") != "ok":
            raise RuntimeError("the board does not start")
        reached = None
        while rig.t < most_s and (reached is None or rig.t < reached + 600):
            rig.run(5)
            rig.ask("present")
            now = rig.status()
            tip = rig.now["tip"]
            apart.append(abs(int(now["pv_mc"]) / 1000 - tip))
            if reached is None and tip >= goal_c - 1:
                reached = rig.t
            if reached is not None:
                tips.append(tip)
        trip = rig.status().get("trip")
    if not tips:
        print(f"not reached in {most_s} s, trip {trip}")
        return 1
    late = tips[len(tips) // 2 :]
    print(f"reached after {reached:.0f} s; overshoot {max(tips) - goal_c:.1f} K, band {max(late) - min(late):.1f} K")
    print(f"reading within {max(apart):.1f} K of the tip while it rises, {apart[-1]:.2f} K at the end; trip {trip}")
    return 0 if trip == "none" and max(tips) - goal_c < 8 else 1


def hot(options):
    """450 °C."""
    return heated(450, 30.0, 4_000)


def warm(options):
    """60 °C from cold."""
    return heated(60, 20.0, 1_500)


def load(rig, made, cut_at=None, **options):
    """Deploy over the rig's USB."""
    with Cable(rig, cut_at) as port:
        return deploy(port, made, PATIENT, say=lambda text: None, **options)


def cuts(options):
    """A load of what has changed, cut at points spread over its bytes; the second load must mend everything."""
    made = compiled()
    old = {file.path: file.data for file in made.files}
    old["tizzone/control/pid.mpy"] = old["tizzone/control/forecast.mpy"]
    old["tizzone/safety/supervisor.mpy"] = old["tizzone/control/forecast.mpy"]
    listed = "".join(f"{path}\n" for path in made.paths).encode()
    missed = 0
    for number in range(options.cuts):
        cut_at = 2_000 + number * 30_000 // max(1, options.cuts)
        with Rig(loaded(None, {**old, **released(), "loaded.txt": listed})) as rig:
            rig.until("x.usb", 5)
            was_cut = "not cut"
            try:
                load(rig, made, cut_at, is_cold=True)
            except (DeployError, LinkError) as error:
                was_cut = str(error)[:60]
            rig.until("x.usb", 5)
            state = load(rig, made, is_cold=True)["status"]["state"]
            there = files_of(rig.flash())
            good = state == "idle" and all(there.get(file.path) == file.data for file in made.files)
            good = good and not [text for _, text in rig.events if text in ("top 1", "deck 1", "contactor 1")]
        missed += not good
        print(
            f"cut after {cut_at} bytes ({was_cut}): {'loaded, idle, never heated' if good else 'NOT GOOD'}", flush=True
        )
    return 1 if missed else 0


def hung(options):
    """The program hangs right after its grace; the watchdog restarts it for ever."""
    made = compiled()
    with Rig(loaded(made, {**released(), "main.py": HANG})) as rig:
        rig.until_python(lambda: rig.resets, 40, 0.5)
        status = load(rig, made)["status"]
        print(f"{len(rig.resets)} resets; loaded, {status['state']}, trip {status['trip']}")
    return 0 if status["state"] in ("idle", "aborted") else 1


def link(options):
    """Bytes of every kind while it heats; no tick late, nothing grows, the board answers afterwards."""
    rng = random.Random(16)
    with Rig(loaded(compiled(), {**released(), "main.py": MAIN}), oven={"o0": 30}) as rig:
        if rig.boots_and_arms() is None or rig.ask("start") != "ok" or not rig.until("x.conducting == 3", 12):
            raise RuntimeError("the board does not heat")
        rig.stats(reset=True)
        late, sent = 0.0, 0
        try:
            while sent < options.kb * 1000:
                kinds = (bytes(range(256)), rng.randbytes(4_000), b"x" * 10_000 + b"\n", b"stat", b"set\xc3\xffting\n")
                data = bytes(value for value in rng.choice(kinds) if value != 3)  # Ctrl-C interrupts, as it should
                rig.send(data)
                sent += len(data)
                rig.run(1)
                rig.until_python(lambda: rig.now["unsent"] == 0, 120, 2.0)
                late = max([late] + [gap for _, gap in rig.stats(reset=True)["gaps"]])
                if sent % 50_000 < len(data):
                    rig.send(b"\n")
                    rig.ask("present")
                    print(f"{sent} bytes, longest between two ticks {late:.0f} ms", flush=True)
        except KeyboardInterrupt:
            print("cut off")
        rig.send(b"\n")
        rig.run(2)
        status, seen = rig.status(), told_memory(rig)
    print(f"{sent} bytes; longest between two ticks {late:.0f} ms; live {seen[0][1]} -> {seen[-1][1]} bytes; {status}")
    return 0 if late < 350 and status.get("trip") == "none" and seen[-1][1] < seen[0][1] + 4_000 else 1


WHAT = {act.__name__: act for act in (idle, evening, hot, warm, cuts, hung, link)}


def main(argv=None):
    """The command."""
    parser = argparse.ArgumentParser(description="Long runs on the emulated Pico.")
    parser.add_argument("what", choices=sorted(WHAT))
    parser.add_argument("--hours", type=float, help="emulated hours of idle (24) or evening (6)")
    parser.add_argument("--cuts", type=int, default=10)
    parser.add_argument("--kb", type=int, default=1000)
    options = parser.parse_args(argv)
    try:
        ready()
    except NoFirmware as error:
        print(f"long: {error}", file=sys.stderr)
        return 2
    return WHAT[options.what](options)


if __name__ == "__main__":
    sys.exit(main())
