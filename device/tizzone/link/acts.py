"""What a person may do to the running board; called by commands.py and the panel, never within the judgement.

`App.acts`: everything here acts on the board's parts and returns a reply's text, or whether it was done. What is stored
on an idle board stands in idle_commands.py and learn_commands.py.
"""

import gc

from micropython import const

from tizzone.evening import sequence as S
from tizzone.loading import let_go

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
        if app.supervisor.latch_changed and not app.memory.keep_latch(app.supervisor):
            return "no the board cannot store its latch"  # in its first seconds a trip is in memory alone
        if not app.memory.flag_maintenance():
            return "no the board cannot store the flag"
        app.reset_due = True
        return "ok resetting into maintenance"

    def keep_tuning(self, tuning):
        """Store what was learned, checked as typed values would be; returns what was done."""
        gc.collect()
        try:
            from tizzone.link.learn_commands import keep_tuning

            done = keep_tuning(self.app, tuning)
        except MemoryError:
            done = "failed: no room to store it: reset the board, then learn before anything else"
        let_go("tizzone.link.learn_commands", "tizzone.memory.settings", "tizzone.parts")
        return done

    def change_setpoint(self, value_mc):
        """A checked setpoint for this evening."""
        app = self.app
        app.sequence.set_setpoint(value_mc)
        if app.dome.usable:
            app.pid.retarget(value_mc * 0.001, app.dome.pv_mc * 0.001)
