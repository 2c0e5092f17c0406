"""Builds the parts of one board from its pin map and settings; called once, before anything is armed.

Whoever wants to know what the loop is made of reads this; what it does with it stands in app.py.
"""

import gc

from tizzone.board_io.contacts import Contacts
from tizzone.commissioning.release import SIGNED, release
from tizzone.control.pid import Pid
from tizzone.evening.evening import Evening
from tizzone.evening.plan_in_force import sequence_of
from tizzone.link.acts import Acts
from tizzone.loading import COMPILED
from tizzone.memory import settings as table
from tizzone.probes import chips
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.reading import FAULT_NAMES
from tizzone.safety.limits import RELEASES_C
from tizzone.safety.seen import Seen
from tizzone.safety.supervisor import Supervisor

# Modules that nobody needs once the board is armed; app.py lets them go.
START_ALONE = (
    "tizzone.parts", "tizzone.probes.chips", "tizzone.commissioning.release", "tizzone.memory.settings",
    "tizzone.evening.bake_plan", "tizzone.safety.conditions",
)  # fmt: skip


def build(app, values):
    """Put every part into `app`; `values`: the checked settings. The heater and the memory are there already."""
    gc.collect()  # loading left its crumbs
    board = app.board
    app.signed = {name: values[name] for name in SIGNED}  # of the settings: in force, and what the record speaks of
    app.release_c, app.release_reason = release(app.memory.commissioning(), board, app.signed)
    unfinished = app.release_c < RELEASES_C[-1] or app.release_reason  # else there is nothing left to witness
    if unfinished:  # while there is most room: a module made from its source takes a lot of it for a moment
        import tizzone.commissioning.witness  # noqa: F401 - made by load_witness() below

        gc.collect()
    heater = app.heater
    heater.window_ms = values["window_ms"]
    heater.min_ms = values["min_switch_ms"]
    heater.exclusive = values["exclusive"]
    buses = {}
    app.probes = {}
    for name in board.PROBES:
        app.probes[name] = chips.make(name, board.PROBES[name], buses)
    app.dome = _conditioner(app, "dome")
    app.stone = _conditioner(app, "stone") if "stone" in app.probes else None
    app.seen = Seen(app.dome, app.stone)
    app.contacts = Contacts(board, mains_hz=values["mains_hz"])
    app.supervisor = _supervisor(values, app.release_c, 1 if app.release_reason else 0)
    app.sequence = sequence_of(values, app.supervisor.ceiling_mc)
    app.learning = None  # loaded when somebody asks to learn
    app.pid = controller(values)
    app.top_share_pct = values["top_share_pct"]
    app.acts = Acts(app)
    app.witness = None
    if unfinished:
        app.acts.load_witness()
    app.evening = Evening(app)
    if not COMPILED:
        from tizzone.evening import advice  # noqa: F401 - see link/commands.py
        from tizzone.link import bread_commands, oven_commands, plan_commands, stone_commands  # noqa: F401
    if getattr(board, "PANEL", None):  # its modules cost memory only where it is wired
        from tizzone.panel.panel import Panel

        app.panel = Panel(app, board.PANEL, buses)


def _supervisor(values, release_c, release_reduced):
    return Supervisor(
        high_limit_mc=values["high_limit_c"] * 1000,
        release_mc=release_c * 1000,
        restart_mc=values["restart_c"] * 1000,
        attend_mc=values["attend_c"] * 1000,
        attend_min=values["attend_min"],
        session_min=values["session_max_min"],
        learned_rise_ms=values["learned_rise_s"] * 1000,
        hold_pm=int(values["hold_pct"] * 10),
        release_reduced=release_reduced,
    )


def controller(values):
    """A controller with the tuning that the settings hold; tuning that was never changed adapts itself."""
    return Pid(
        kc_pct_per_k=values["kc_pct_per_k"],
        ti_s=values["ti_s"],
        td_s=values["td_s"],
        lead_s=values["lead_s"],
        hold_pct=values["hold_pct"],
        rise_k_s_pct=values["rise_k_s_pct"],
        window_s=values["window_ms"] * 0.001,
        adapt=table.is_default(values, table.TUNED),
    )


def _conditioner(app, name):
    made = Conditioner(app.settings["calibration"].get(name))
    if made.calibration_fault:
        app.memory.faults.append(name + ": " + made.calibration_fault)
    return made


def self_test(app):
    """Heat pins follow, probe alive, contactor released, right chips. Any no: no heat. Returns True if all are well.

    What was wrong goes into the event log, with whatever else this start has found."""
    faults = app.memory.faults
    before = len(faults)
    if not app.heater.follows():
        faults.append("self-test: a heat pin does not follow")
    if app.seen.mirror_open == 0:
        faults.append("self-test: the contactor is not released")
    if not app.heater.survives_a_hang():
        faults.append("self-test: no hard timer here: newer firmware, or a pulsed contactor with its monostable")
    for name in app.probes:
        fault = app.probes[name].check()
        if fault:
            faults.append("self-test: " + name + " probe: " + FAULT_NAMES[fault])
    for text in faults:  # which pin, probe or setting it was: only the log has room to say so
        app.memory.log(text)
    return len(faults) == before
