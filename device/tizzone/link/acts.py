"""What a person may do to the running board; called by commands.py and the panel, never within the judgement.

The base of app.App: everything here acts on its parts and returns a reply's text, or whether it was done.
"""

from tizzone.evening import sequence as S
from tizzone.learning.learning import CEILING_MC
from tizzone.probes.conditioning import calibration_fault

MAINTENANCE_MC = 80_000  # above this the fan has to run on: the board is not taken out of service


class Acts:
    """Acts on an App's supervisor, sequence, pid, heater, memory and settings."""

    def start_session(self):
        """Begin an evening if nothing stands against it; returns the reply."""
        missing = self.missing_permissives()
        if missing:
            return "no missing: " + ",".join(missing)
        if self.sequence.state not in (S.IDLE, S.STOPPED, S.COMPLETE):
            return "no an evening is on (" + S.STATES[self.sequence.state] + ")"
        refusal = self.night.refusal(self)
        if refusal:
            return "no " + refusal
        if not self.memory.mark_session(1):
            return "no the board cannot store its session mark"
        sensed = self.seen.top_sense >= 0 or self.seen.deck_sense >= 0
        self.pid.reset()
        self.supervisor.attendance.confirm()
        self.night.start(self, sensed)
        return "ok"

    def start_learning(self):
        """Begin the experiment that learns the oven, if nothing stands against it; returns the reply."""
        missing = self.missing_permissives()
        refusal = "missing: " + ",".join(missing) if missing else self.learning.refusal(self)
        if refusal:
            return "no " + refusal
        if not self.memory.mark_session(1):
            return "no the board cannot store its session mark"
        self.learning.begin(self)
        self.supervisor.attendance.confirm()
        self.sequence.start(self.seen.top_sense >= 0 or self.seen.deck_sense >= 0, CEILING_MC)
        return "ok"

    def stop_now(self):
        """End the evening; the pins are off before this returns."""
        done = self.sequence.stop()
        self.heater.heat_off()  # the contactor follows in the next tick, when no current flows any more
        self.out_pm = 0
        return done

    def enter_maintenance(self):
        """Flag, then reset into a board that arms nothing. Refused while heat is on or the dome is hot or unknown."""
        if self.sequence.session or self.heater.contactor_on:
            return "no an evening is on: stop it first"
        if not self.dome.usable or self.dome.pv_mc >= MAINTENANCE_MC:
            return "no the dome is not known to be below 80: the fan must run on"
        if not self.memory.flag_maintenance():
            return "no the board cannot store the flag"
        self.reset_due = True
        return "ok resetting into maintenance"

    def change_setpoint(self, value_mc):
        """A checked setpoint for this evening."""
        self.sequence.set_setpoint(value_mc)
        if self.dome.usable:
            self.pid.retarget(value_mc * 0.001, self.dome.pv_mc * 0.001)

    def store_setting(self, name, value):
        """Store one checked setting; only while idle. Takes effect at the next start of the board."""
        if self.sequence.state != S.IDLE or self.supervisor.permit.granted:
            return "no settings change only while idle"
        self.settings[name] = value
        if not self.memory.keep_settings(self.settings):
            return "no the board cannot store it"
        return "ok stored; in force after the next reset of the board"

    def store_correction(self, place, points):
        """Store a probe's correction curve [[reading_mc, correction_mc], ...]; only while idle."""
        if place not in self.probes:
            return "no probe is called " + place
        fault = calibration_fault(points)
        if fault:
            return "no " + fault
        curves = dict(self.settings["calibration"])
        curves[place] = points
        return self.store_setting("calibration", curves)
