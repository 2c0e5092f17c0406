"""What each line of the link does. A command answers `ok ...` or `no <reason>`; none can start heat
without `start`."""

from tizzone.evening import sequence as S
from tizzone.link import evening_commands
from tizzone.link.acts import NO_ROOM
from tizzone.memory import settings
from tizzone.safety import limits as L
from tizzone.safety.alarms import ACCEPTED, ALARM_STATES, ANSWERS
from tizzone.safety.permissives import permissives as every_permissive


def answer(app, text):
    """Carry out one checked line and return the reply's text."""
    words = text.split()
    if not words:
        return "no empty line"
    command = HANDLERS.get(words[0]) or evening_commands.HANDLERS.get(words[0])
    if command is None:
        return "no unknown command; known: " + " ".join(sorted(list(HANDLERS) + list(evening_commands.HANDLERS)))
    return command(app, words[1:])


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
        app.seen.box_mc, evening_commands.handover_state(app)[0],
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


def setting(app, words):
    """setting NAME [VALUE]: show, or store while no heat is on."""
    if len(words) == 1 and words[0] in app.settings:
        return "ok {}={} ({})".format(words[0], app.settings[words[0]], settings.TABLE[words[0]][3])
    if len(words) != 2:
        return "no say: setting NAME VALUE; names: " + " ".join(sorted(settings.TABLE))
    value, fault = settings.parsed(words[0], words[1])
    if fault:
        return "no " + fault
    return app.acts.store_setting(words[0], value)


def learn(app, words):
    """learn: how the last learning ended; learn start: begin one on a cold oven."""
    if words == ["start"]:
        return app.acts.start_learning()
    if app.learning is None:
        return "ok learning never"
    made = app.learning.experiment
    phase = "" if made is None else " phase=" + str(made.phase)
    return "ok learning " + app.learning.text + phase


def correction(app, words):
    """correction PLACE R:C R:C ...: a probe's correction curve in 0.001 degrees; no points = none."""
    try:
        points = [[int(part) for part in word.split(":")] for word in words[1:]]
    except ValueError:
        points = None
    if not words or points is None:
        return "no say: correction dome 0:150 100000:-200"
    return app.acts.store_correction(words[0], points)


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
    "setting": setting,
    "correction": correction,
    "learn": learn,
    "maintenance": maintenance,
    "log": log,
    "permissives": permissives,
    "witness": witness,
}
