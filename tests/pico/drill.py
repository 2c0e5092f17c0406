"""Hardware faults in mid-heating on the real firmware: how long until nothing conducts, and what the board says.

    python -m tests.pico.drill [FAULT ...]     e.g. "open" "contact limit 0"; all of them take some 20 minutes
    python -m tests.pico.drill --markdown      the table of boards/README.md

A fresh board for each. Exit code 1 if one was not seen.
"""

import sys

from host.deploy import plan
from tests.pico.image import NoFirmware, loaded
from tests.pico.records import released
from tests.pico.rig import Rig, ready

# acts of emulator/acts.mjs, "+" between them: what the board may say; "" = no trip: held, or heat off and on again.
# force PIN LEVEL, short PIN LEVEL: an input, or an output, is held there from outside (boards/pico.py names the pins).
FAULTS = {
    **{act: (said,) for act, said in (
        ("open", "probe-open"), ("short_ground", "probe-short-ground"), ("short_supply", "probe-short-supply"),
        ("zeros", "probe-silent"), ("ones", "probe-silent"),
    )},
    **{f"{act} stone": ("stone-probe",) for act in ("open", "short_ground", "short_supply", "zeros", "ones")},
    "stuck": ("reading-frozen",), "noise 60": ("reading-wrong",), "offset -60": ("reading-wrong",),
    "offset 600": ("reading-wrong", "high-limit"), "reversed 1": ("probe-reversed", "reading-wrong"),
    "box 75": ("box-hot", "reading-wrong"), "box -30": ("reading-wrong", "box-hot"),
    "contact limit 0": ("limiter-open",), "contact enable 0": ("",), "contact selector 0": ("", "fan-stopped"),
    "contact door 0": ("",), "fan_dead 1": ("fan-stopped",),
    "dead_top 1": ("no-current",), "dead_deck 1": ("no-current",), "half_wave 1": ("half-wave",),
    "weld_top 1 + contact door 0": ("relay-welded",), "weld_deck 1 + contact door 0": ("relay-welded",),
    "weld_contactor 1 + contact limit 0": ("limiter-open", "contactor-welded"),
    "force 5 0": ("contactor-open", "contactor-welded"),  # mirror contact shorted ...
    "force 5 1 + contact limit 0": ("limiter-open", "contactor-welded"),  # ... or broken
    # The current senses: one that always tells a current is right while its relay is on, and shows once it lets go.
    "force 6 0 + contact door 0": ("relay-welded",), "force 6 1": ("no-current",),
    "force 7 0 + contact door 0": ("relay-welded",), "force 7 1": ("no-current",),
    "force 2 1": ("",), "force 3 1": ("limiter-open",), "force 4 1": ("",), "force 8 1": ("fan-stopped",),
    "force 9 1": ("",),  # broken wires of the contacts
    **{f"short {pin} 0": ("pin-readback",) for pin in (10, 11, 12)},  # a heat pin is shorted to ground ...
    **{f"short {pin} 1 + contact door 0": ("pin-readback", "relay-welded") for pin in (10, 11)},  # ... or to 3.3 V
    "power_cycle": ("power-cut",), "watchdog": ("watchdog-reset",), "ctrl_c": ("watchdog-reset",),
}  # fmt: skip
LONG_S = {"stuck": 110, "reversed 1": 240}  # seconds until it can be seen; else 20


def drill(image, fault):
    """(ms to the end of heat or None, trip said) of one fault."""
    with Rig(image, oven={"o0": 30}) as rig:
        if rig.boots_and_arms() is None or rig.ask("start") != "ok" or not rig.until("x.conducting == 3", 12):
            raise RuntimeError("the board does not heat")
        rig.run(1.3)
        for act in fault.split(" + "):
            if act == "ctrl_c":
                rig.send(b"\x03")
            else:
                rig.act(act)
        since = rig.t
        rig.until("!x.conducting", LONG_S.get(fault, 20), 0.05)
        off_ms = rig.heat_off_ms(since)
        rig.run(1.5)
        rig.until_python(rig.status, 15, 0.5)  # after a restart
        said = ""
        for _ in range(6):
            said = rig.status().get("trip", "none")
            if said != "none":
                break
            rig.run(1)
        return off_ms, said


def main(argv):
    """One line a fault."""
    try:
        ready()
    except NoFirmware as error:
        print(f"drill: {error}", file=sys.stderr)
        return 2
    is_table = "--markdown" in argv
    argv = [word for word in argv if word != "--markdown"]
    unknown = [act for act in argv if act not in FAULTS]
    if unknown:
        print(f"drill: no fault {unknown[0]!r} (known: {', '.join(FAULTS)})", file=sys.stderr)
        return 2
    image = loaded(plan.make("boards/pico.py", is_compiled=True), released())
    missed = 0
    if is_table:
        print("| fault | heat off after, ms | the board says |\n| --- | --- | --- |")
    for fault in argv or FAULTS:
        off_ms, said = drill(image, fault)
        good = off_ms is not None and said.replace("none", "") in FAULTS[fault]
        missed += not good
        when = "never" if off_ms is None else f"{off_ms:.0f}"
        if is_table:
            print(f"| `{fault}` | {when} | {said}{'' if good else ' **MISSED**'} |", flush=True)
        else:
            print(f"{fault:36} heat off after {when:>6} ms, trip {said:20} {'' if good else 'MISSED'}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
