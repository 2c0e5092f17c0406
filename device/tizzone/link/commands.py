"""What each line of the link does. A command answers `ok ...` or `no <reason>`; none can start heat
without `start`.

What is asked often, and every act on heat, is here. The others are loaded for one answer and let go: that takes some
50 ms, and where there is no room for it the answer says so and nothing has been done. On a board that runs from sources
it takes too long for an evening: parts.py loads those of an evening at the start, and they stay.
"""

import gc
import sys

from micropython import const

from tizzone.evening import sequence as S
from tizzone.evening.cue import cue, stone_now
from tizzone.link.acts import NO_ROOM
from tizzone.loading import COMPILED, let_go
from tizzone.safety import limits as L
from tizzone.safety.alarms import ACCEPTED, ALARM_STATES, ANSWERS
from tizzone.safety.permissives import permissives as every_permissive

_ON_DEMAND = {  # word of the link: where it is
    "plan": "plan", "spot": "stone", "stone": "stone", "pace": "stone", "verdict": "bread", "bread": "bread",
    "night": "bread", "counters": "oven", "handover": "oven", "setting": "idle", "correction": "idle",
}  # fmt: skip
_OF_AN_IDLE_BOARD = (
    "tizzone.memory.settings", "tizzone.commissioning.release", "tizzone.parts", "tizzone.probes.chips",
)  # fmt: skip
_OF_AN_EVENING = ("tizzone.evening.advice", "tizzone.evening.bake_plan")
_HANDOVER_MC = const(260_000)  # never above this, whatever the plan says


def answer(app, text):
    """Carry out one checked line and return the reply's text."""
    words = text.split()
    if not words:
        return "no empty line"
    command = HANDLERS.get(words[0])
    if command is not None:
        return command(app, words[1:])
    if words[0] in _ON_DEMAND:
        return _on_demand(app, _ON_DEMAND[words[0]], words)
    return "no unknown command; known: " + " ".join(sorted(list(HANDLERS) + list(_ON_DEMAND)))


def _on_demand(app, where, words):
    """The reply of a command whose module is loaded for it."""
    name = "tizzone.link." + where + "_commands"
    try:
        try:
            __import__(name)
        except MemoryError:
            let_go(name)  # what has come of it
            gc.collect()
            __import__(name)
        reply = sys.modules[name].HANDLERS[words[0]](app, words[1:])
    except MemoryError:
        reply = NO_ROOM
    let_go(*_OF_AN_IDLE_BOARD)
    if where in ("idle", "learn"):
        let_go(name)
    elif COMPILED:
        let_go(name, *_OF_AN_EVENING)
    return reply


def _plain(app, done, refused):
    return "ok" if done else "no " + refused + " (" + S.STATES[app.sequence.state] + ")"


def status(app, words):
    """Everything a person needs in one line."""
    sup = app.supervisor
    seq = app.sequence
    return (
        "ok pv_mc={} stone_mc={} setpoint_mc={} out_pm={} top={} deck={} contactor={} permit={} state={} stage={} "
        "left_s={} breads={} trip={} limit_mc={} release_mc={} box_mc={} handover={} pull_plug={} missing={}"
    ).format(
        app.dome.pv_mc, app.stone.pv_mc if app.stone else "none", seq.setpoint_mc, app.out_pm,
        app.heater.top.on,
        app.heater.deck.on, app.heater.contactor_on, sup.permit.granted, S.STATES[seq.state],
        S.STAGES[seq.stage],
        seq.seconds_left, seq.breads_done, L.CONDITION_NAMES[sup.first_out], sup.limit_mc, sup.release_mc,
        app.seen.box_mc, handover_state(app)[0],
        1 if sup.pull_the_plug else 0, ",".join(app.missing_permissives()) or "none",
    )  # fmt: skip


def alarms(app, words):
    """Every condition that is not normal, with its state; `alarms NAME` gives its sentence and what to do."""
    if words:
        if words[0] not in L.CONDITION_NAMES:
            return "no such condition"
        return "ok " + " ".join(app.told.of(L.CONDITION_NAMES.index(words[0])))
    sup = app.supervisor
    found = [L.CONDITION_NAMES[i] + "=" + ALARM_STATES[sup.states[i]] for i in range(1, L.COUNT) if sup.states[i]]
    return "ok first_out=" + L.CONDITION_NAMES[sup.first_out] + " " + " ".join(found)


def version(app, words):
    """Version, board and reset cause."""
    return "ok version={} link=2 board={} release={}".format(app.version, app.board.NAME, app.release_reason or "full")


def setpoint(app, words):
    """setpoint C: a new setpoint for this evening."""
    try:
        value_mc = int(float(words[0]) * 1000) if len(words) == 1 else None
    except (ValueError, OverflowError):
        value_mc = None
    if value_mc is None:
        return "no say: setpoint 450"
    ceiling_mc = app.supervisor.ceiling_mc
    if not L.SETPOINT_MIN_MC <= value_mc <= ceiling_mc:
        why = " (" + app.release_reason + ")" if app.release_reason else ""
        return "no setpoint must lie within {}..{}{}".format(L.SETPOINT_MIN_MC // 1000, ceiling_mc // 1000, why)
    app.acts.change_setpoint(value_mc)
    return "ok setpoint_c={}".format(value_mc // 1000)


def start(app, words):
    """Begin the evening."""
    return app.acts.start_evening()


def stop(app, words):
    """Heat off now."""
    return _plain(app, app.acts.stop_now(), "nothing runs")


def hold(app, words):
    """Heat off, evening kept."""
    done = app.sequence.hold()
    if done:
        app.heater.heat_off()
    return _plain(app, done, "nothing to hold")


def resume(app, words):
    """Go on after a hold."""
    if app.supervisor.holding:
        return "no the cause of the hold is still present"
    return _plain(app, app.sequence.resume(), "nothing is held")


def reset(app, words):
    """Stopped or complete -> idle."""
    return _plain(app, app.sequence.reset(), "not finished")


def acknowledge(app, words):
    """A person has seen the alarms; never restarts heat."""
    result = app.supervisor.acknowledge(app.seen)
    if result == ACCEPTED and app.supervisor.first_out == L.NONE:
        app.sequence.acknowledged()
    return ("ok " if result == ACCEPTED else "no ") + ANSWERS[result]


def unlock(app, words):
    """Lift a lockout on a cold oven."""
    return "ok" if app.supervisor.unlock(app.seen) else "no nothing locked, or the oven is not below 60 C"


def present(app, words):
    """A person is there."""
    app.supervisor.attendance.confirm()
    return "ok"


def loaded(app, words):
    """A bread lies on the stone."""
    return _plain(app, app.sequence.loaded(), "no bread is due")


def rest(app, words):
    """A lower setpoint until guests come; `resume` ends it."""
    if app.sequence.rest():
        return "ok rest at {} C; resume goes on".format(app.sequence.setpoint_mc // 1000)
    return "no the plan has no rest, or not in this stage (" + S.STAGES[app.sequence.stage] + ")"


def handover_state(app):
    """(word, below_c): may the oven's own thermostat have the oven?

    ours: an evening is on; wait: too hot or not known; may: turn the selector through OFF; theirs: it has it; back:
    it has an oven that is too hot for it."""
    below_mc = min(app.sequence.cool_mc, _HANDOVER_MC)
    cool = app.supervisor.warmth.below(below_mc)
    if not app.seen.selector_ours:
        word = "theirs" if cool else "back"
    elif app.sequence.session:
        word = "ours"
    else:
        word = "may" if cool else "wait"
    return word, below_mc // 1000


def glance(app, words):
    """The cook's cue: doing|do|when|urgent|stone|its uncertainty|unit; `none` where the stone is not known."""
    value, off = stone_now(app)
    row = cue(app) + ("none" if value is None else value, off, "F" if app.settings["fahrenheit"] else "C")
    return "ok " + "|".join([str(item) for item in row])


def learn(app, words):
    """learn: how the last learning ended; learn start: begin one on a cold oven."""
    if words == ["start"]:
        return _on_demand(app, "learn", ["learn"])
    if app.learning is None:
        return "ok learning never"
    made = app.learning.experiment
    phase = "" if made is None else " phase=" + str(made.phase)
    return "ok learning " + app.learning.text + phase


def maintenance(app, words):
    """Reset into a board that arms nothing, to be loaded."""
    return app.acts.enter_maintenance()


def log(app, words):
    """log N: line N of the event log, oldest first."""
    if len(words) != 1 or not words[0].isdigit():
        return "no say: log 0"
    line = app.memory.log_line(int(words[0]))
    return "no end of the log" if line is None else "ok " + line


def permissives(app, words):
    """Every permissive with 1 or 0."""
    return "ok " + " ".join([name + ("=1" if good else "=0") for name, good in every_permissive(app)])


def witness(app, words):
    """witness ...: commissioning, see commissioning/witness.py."""
    if app.witness is None:
        if app.sequence.session:  # loading it would hold the loop
            return "no an evening is on: ask when it has ended"
        if not app.acts.load_witness():
            return NO_ROOM
    from tizzone.commissioning.witness import command

    return command(app, words)


HANDLERS = {
    "status": status,
    "alarms": alarms,
    "version": version,
    "setpoint": setpoint,
    "start": start,
    "stop": stop,
    "hold": hold,
    "resume": resume,
    "reset": reset,
    "acknowledge": acknowledge,
    "unlock": unlock,
    "present": present,
    "loaded": loaded,
    "rest": rest,
    "glance": glance,
    "learn": learn,
    "maintenance": maintenance,
    "log": log,
    "permissives": permissives,
    "witness": witness,
}
