"""What a person may do to the running board; called by commands.py and the panel, never within the judgement.

`App.acts`: everything here acts on the board's parts and returns a reply's text, or whether it was done.
"""

import gc

from micropython import const

from tizzone.commissioning.release import sign_again
from tizzone.evening import sequence as S
from tizzone.memory import settings
from tizzone.probes.conditioning import calibration_fault

NO_ROOM = "no the board has no room for it just now: reset it, then ask before anything else"
_MAINTENANCE_MC = const(80_000)  # above this the fan has to run on: the board is not taken out of service


class Acts:
    """Acts on an App's supervisor, sequence, pid, heater, memory and settings."""

    def __init__(self, app):
        self.app = app

    def load_witness(self):
        """The witness of commissioning: costs memory only on a board that has steps to do, or is asked about them.

        False, and nothing has changed, where there is no room: making it from its source takes much for a moment."""
        gc.collect()
        try:
            from tizzone.commissioning.witness import Witness
        except MemoryError:
            return False
        self.app.witness = Witness(self.app)
        return True

    def start_evening(self):
        """Begin an evening if nothing stands against it; returns the reply."""
        app = self.app
        missing = app.missing_permissives()
        if missing:
            return "no missing: " + ",".join(missing)
        if app.sequence.state not in (S.IDLE, S.STOPPED, S.COMPLETE):
            return "no an evening is on (" + S.STATES[app.sequence.state] + ")"
        refusal = app.evening.plan.refusal(app)
        if refusal:
            return "no " + refusal
        if not app.memory.mark_session(1):
            return "no the board cannot store its session mark"
        sensed = app.seen.top_sense >= 0 or app.seen.deck_sense >= 0
        app.pid.reset()
        app.supervisor.attendance.confirm()
        app.evening.start(app, sensed)
        return "ok"

    def start_learning(self):
        """Begin the experiment that learns the oven, if nothing stands against it; returns the reply."""
        app = self.app
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

    def stop_now(self):
        """End the evening; the pins are off before this returns."""
        app = self.app
        done = app.sequence.stop()
        app.heater.heat_off()  # the contactor follows in the next tick, when no current flows any more
        app.out_pm = 0
        return done

    def enter_maintenance(self):
        """Flag, then reset into a board that arms nothing. Refused while heat is on or the dome is hot or unknown."""
        app = self.app
        if app.sequence.session or app.heater.contactor_on:
            return "no an evening is on: stop it first"
        if not app.supervisor.warmth.below(_MAINTENANCE_MC):
            return "no the oven is not known to be below 80: the fan must run on"
        if not app.memory.flag_maintenance():
            return "no the board cannot store the flag"
        app.reset_due = True
        return "ok resetting into maintenance"

    def change_setpoint(self, value_mc):
        """A checked setpoint for this evening."""
        app = self.app
        app.sequence.set_setpoint(value_mc)
        if app.dome.usable:
            app.pid.retarget(value_mc * 0.001, app.dome.pv_mc * 0.001)

    def store_setting(self, name, value):
        """Store one checked setting; only while idle. Takes effect at the next start of the board."""
        app = self.app
        if app.sequence.state != S.IDLE or app.supervisor.permit.granted:
            return "no settings change only while idle"
        app.settings[name] = value
        if not app.memory.keep_settings(app.settings):
            return "no the board cannot store it"
        return "ok stored; in force after the next reset of the board"

    def keep_tuning(self, tuning):
        """Check every learned value as a typed one would be, then store all of them or none; returns what was done."""
        app = self.app
        for name in tuning:
            fault = settings.fault_of(name, tuning[name])
            if fault:
                return "failed: " + fault
        values = dict(app.settings)
        values.update(tuning)
        if not app.memory.keep_settings(values):
            return "failed: the board cannot store it"
        app.settings = values
        app.use_tuning()
        return "done: " + " ".join(["%s=%.4g" % (name, tuning[name]) for name in sorted(tuning)])

    def store_correction(self, place, points):
        """Store a probe's correction curve [[reading_mc, correction_mc], ...]; only while idle."""
        app = self.app
        if place not in app.probes:
            return "no probe is called " + place
        fault = calibration_fault(points)
        if fault:
            return "no " + fault
        curves = dict(app.settings["calibration"])
        curves[place] = points
        reply = self.store_setting("calibration", curves)
        if reply.startswith("ok") and not sign_again(app, curves):
            return "no stored, but the record could not be signed: commission again"
        return reply
