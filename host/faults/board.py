"""Faults of the board itself: its supply, clock, program, memory and files; and people who are not there."""

from __future__ import annotations

from host.faults import stored
from host.faults.base import BOOT_S, NO_SESSION, Fault, FaultError, Promise, Quiet, app_of, rehearsal_of, send

GOES_ON = "heat is right to go on: control does not depend on the PC"


def _order(*order):
    return lambda outside: outside.orders.append(list(order))


def _outside(name, value):
    return lambda outside: setattr(outside, name, value)


def _cut_power(seconds):
    return lambda outside: outside.cut_power(seconds)


def _corrupt(change):
    """Change something in the running application's memory."""

    def make(outside):
        app = app_of(outside)
        if app is None:
            raise FaultError("no program is running")
        change(app, outside)

    return make


def _leave(outside):
    rehearsal_of(outside).cook = None


def _garbage(outside):
    outside.rx += bytes(outside.random.randrange(256) for _ in range(400))


# What is destroyed so that this module raises in its next call.
def _probes(app, outside):
    app.probes["dome"].buf = None


def _conditioning(app, outside):
    app.dome._ring = None


def _supervisor(app, outside):
    app.supervisor.flags = None


def _rules(app, outside):
    app.supervisor.fell.high_mc = None


def _people(app, outside):
    app.supervisor.attendance.alone_ms = None


def _sequence(app, outside):
    app.sequence.stage_ms = None


def _pid(app, outside):
    app.pid.filtered_c = float("nan")


def _heater(app, outside):
    app.heater.contactor_ms = None


def _sensed(app, outside):
    app.contacts.enable = 0


def _link(app, outside):
    app.link._line = None
    outside.rx += b"x"


def _commands(app, outside):
    app.settings = None
    send(outside, "setting breads")


def _memory(app, outside):
    app.memory.store = None
    send(outside, "stop")


def _bit_setpoint(app, outside):
    app.sequence.setpoint_mc ^= 1 << 16


def _bit_limit(app, outside):
    app.supervisor._limit_mc ^= 1 << 15


def faults() -> list[Fault]:
    """Every fault of this group."""
    return [
        *_of_the_supply(),
        *stored.faults(),
        *_of_the_program(),
        *_of_the_memory(),
        *_of_people(),
    ]


def _of_the_supply():
    cut = {"*": Promise("power-cut", BOOT_S + 20, inhibit_s=0.5), "cold": Quiet(NO_SESSION),
           "cooling": Quiet(NO_SESSION)}  # fmt: skip
    return [
        Fault("power_cut", "mains off for everything, 20 s", _cut_power(20.0), None, "board", cut),
        Fault("power_blip", "mains off for everything, 0.3 s", _cut_power(0.3), None, "board", cut),
    ]


def _of_the_program():
    reset = {"*": Promise("watchdog-reset", BOOT_S, inhibit_s=0.8)}
    idle = {phase: Quiet("no evening is on: a late tick is borne", "tick-late") for phase in ("cold", "cooling")}
    late = {"*": Promise("tick-late deadman", 4.0, inhibit_s=0.8), **idle}
    stalled = {
        "*": Promise("tick-late deadman watchdog-reset clock-wrong", 20.0, inhibit_s=0.8),
        "cooling": idle["cooling"],
    }
    one_frame = {"*": Quiet("one answer is missing: heat waits for the next", "")}
    crash = {"*": Promise("program-fault watchdog-reset", BOOT_S, inhibit_s=0.6)}
    return [
        Fault("hang", "the program hangs", _order("hang", 0), None, "board", reset),
        Fault("late_tick", "one wait takes 3 s longer", _order("late", 3_000_000), None, "board", late),
        Fault("slow_tick", "one wait takes 0.6 s longer", _order("late", 600_000), None, "board",
              {"*": Promise("tick-late deadman", 2.0, inhibit_s=1.1), **idle}),
        Fault("clock_stalls", "the tick counter stands still", _order("stall", 1), _order("stall", 0), "board",
              stalled),
        Fault("bus_error", "one bus call fails with an exception", _order("fail", "spi", "OSError"), None, "board",
              one_frame),
        Fault("program_error", "the program ends on an exception at a bus", _order("fail", "spi", "RuntimeError"),
              None, "board", crash),
        Fault("pc_not_reading", "the PC stops reading", _outside("host_reading", False),
              _outside("host_reading", True), "board", {"*": Quiet(GOES_ON)}),
        Fault("link_garbage", "400 random bytes arrive from the PC", _garbage, None, "board", {"*": Quiet(GOES_ON)}),
    ]  # fmt: skip


def _of_the_memory():
    crash = {"*": Promise("program-fault", BOOT_S, inhibit_s=0.6)}
    renewed = "the start of an evening makes it anew"
    in_session = {**crash, "cooling": Quiet(NO_SESSION, "program-fault"), "cold": Quiet(renewed, "program-fault")}
    hot = {**in_session, "*": Promise("program-fault", BOOT_S, inhibit_s=0.6, above_c=125)}
    flip = {"*": Promise("memory-fault", 0.5)}
    found = []
    for name, change, promises in (
        ("probes", _probes, crash), ("conditioning", _conditioning, crash), ("supervisor", _supervisor, crash),
        ("rules", _rules, in_session), ("people", _people, hot), ("sequence", _sequence, crash),
        ("pid", _pid, in_session), ("heater", _heater, crash), ("sensed", _sensed, crash), ("link", _link, crash),
        ("commands", _commands, crash),
        ("memory", _memory, {"*": Promise("watchdog-reset program-fault power-cut", BOOT_S, inhibit_s=0.8),
                             "cooling": Quiet(NO_SESSION, "watchdog-reset program-fault"),
                             "cold": Quiet(NO_SESSION, "watchdog-reset program-fault")}),
    ):  # fmt: skip
        found.append(
            Fault(f"exception_in_{name}", f"a variable of {name} destroyed: it raises", _corrupt(change), None,
                  "board", promises, inside=True)
        )  # fmt: skip
    found.append(Fault("bit_setpoint", "a bit of the setpoint in memory turns over", _corrupt(_bit_setpoint), None,
                       "board", flip, inside=True))  # fmt: skip
    found.append(Fault("bit_limit", "a bit of the high limit in memory turns over", _corrupt(_bit_limit), None,
                       "board", flip, inside=True))  # fmt: skip
    return found


def _of_people():
    gone = {"*": Promise("attendance", 1000.0, above_c=125), "cold": Promise("attendance", 1000.0, "heat", above_c=125),
            "cooling": Quiet(NO_SESSION)}  # fmt: skip
    return [Fault("cook_gone", "the cook goes away and confirms nothing", _leave, None, "people", gone)]
