"""The link's words for an idle board: settings, corrections, learning. Loaded for one answer, see commands.py."""

import gc

from tizzone.evening import sequence as S
from tizzone.link.acts import NO_ROOM
from tizzone.memory import settings
from tizzone.probes.conditioning import calibration_fault


def start_learning(app):
    """Begin the experiment that learns the oven, if nothing stands against it; returns the reply."""
    missing = app.missing_permissives()
    if missing:
        return "no missing: " + ",".join(missing)
    if app.sequence.session:
        return "no learning starts from idle (" + S.STATES[app.sequence.state] + ")"
    gc.collect()
    try:  # nothing runs: loading may take its time
        from tizzone.learning import experiment  # noqa: F401 - what learning.begin() will ask for
        from tizzone.learning.learning import CEILING_MC, Learning
    except MemoryError:
        return NO_ROOM
    if app.learning is None:
        app.learning = Learning()
    refusal = app.learning.refusal(app)
    if refusal:
        return "no " + refusal
    if not app.memory.mark_session(1):
        return "no the board cannot store its session mark"
    app.learning.begin(app)
    app.supervisor.attendance.confirm()
    app.sequence.start(app.seen.top_sense >= 0 or app.seen.deck_sense >= 0, CEILING_MC)
    return "ok"


def store_setting(app, name, value):
    """Store one checked setting; only while idle. Takes effect at the next start of the board."""
    if app.sequence.state != S.IDLE or app.supervisor.permit.granted:
        return "no settings change only while idle"
    values = dict(app.settings)
    values[name] = value
    if not app.memory.keep_settings(values):
        return "no the board cannot store it"
    app.settings = values  # only now: what was refused must not go to the flash with the next one
    return "ok stored; in force after the next reset of the board"


def keep_tuning(app, tuning):
    """Check every learned value as a typed one would be, then store all of them or none; returns what was done."""
    for name in tuning:
        fault = settings.fault_of(name, tuning[name])
        if fault:
            return "failed: " + fault
    values = dict(app.settings)
    values.update(tuning)
    controller = app.controller(values)  # no room for it: nothing is stored
    if not app.memory.keep_settings(values):
        return "failed: the board cannot store it"
    app.settings = values
    app.pid = controller
    return "done: " + " ".join(["%s=%.4g" % (name, tuning[name]) for name in sorted(tuning)])


def store_correction(app, place, points):
    """Store a probe's correction curve [[reading_mc, correction_mc], ...]; only while idle."""
    from tizzone.commissioning.release import sign_again

    if place not in app.probes:
        return "no probe is called " + place
    fault = calibration_fault(points)
    if fault:
        return "no " + fault
    curves = dict(app.settings["calibration"])
    curves[place] = points
    reply = store_setting(app, "calibration", curves)
    if reply.startswith("ok") and not sign_again(app, curves):
        return "no stored, but the record could not be signed: commission again"
    return reply


def setting(app, words):
    """setting NAME [VALUE]: show, or store while no heat is on."""
    if len(words) == 1 and words[0] in app.settings:
        return "ok {}={} ({})".format(words[0], app.settings[words[0]], settings.TABLE[words[0]][3])
    if len(words) != 2:
        return "no say: setting NAME VALUE; names: " + " ".join(sorted(settings.TABLE))
    value, fault = settings.parsed(words[0], words[1])
    if fault:
        return "no " + fault
    return store_setting(app, words[0], value)


def correction(app, words):
    """correction PLACE R:C R:C ...: a probe's correction curve in 0.001 degrees; no points = none."""
    try:
        points = [[int(part) for part in word.split(":")] for word in words[1:]]
    except ValueError:
        points = None
    if not words or points is None:
        return "no say: correction dome 0:150 100000:-200"
    return store_correction(app, words[0], points)


def learn(app, words):
    """learn start: begin learning on a cold oven."""
    return start_learning(app)


HANDLERS = {"setting": setting, "correction": correction, "learn": learn}
