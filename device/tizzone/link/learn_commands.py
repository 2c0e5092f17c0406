"""Learning's own words on an idle board: its start, and its tuning stored. Loaded for one answer, see commands.py."""

import gc

from tizzone.evening import sequence as S
from tizzone.link.acts import NO_ROOM
from tizzone.memory import settings


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


def learn(app, words):
    """learn start: begin learning on a cold oven."""
    return start_learning(app)


HANDLERS = {"learn": learn}
