"""Learning the oven on the board: runs the experiment of experiment.py as a stage of its own, keeps its tuning if good.

The experiment only asks for an output; supervisor, permit and heater stay in charge. Whatever ends the stage early
(stop, hold, trip, a reading that is not believed) leaves the tuning in force as it is. What it found is
stored by link/acts.py. The modules of the experiment are loaded when somebody asks to learn, not before.
"""

from micropython import const

from tizzone.evening import sequence as S
from tizzone.loading import let_go

_LEVELS_C = const((150.0, 220.0))
CEILING_MC = 250_000  # setpoint of the stage: the experiment stays below it
_START_MAX_MC = const(100_000)  # a warm oven would be learned wrong
_OF_THE_EXPERIMENT = tuple(
    "tizzone.learning." + name for name in ("experiment", "judgement", "model_fit", "tuning", "swings", "sunk")
)


class Learning:
    """One board's learning; `experiment` is None while nobody learns."""

    def __init__(self):
        self.experiment = None
        self.text = "never"  # how the last one ended, for the `learn` command

    def refusal(self, app):
        """Why it cannot begin now, or ""."""
        if app.supervisor.ceiling_mc < CEILING_MC:
            return "learning needs a release of 260: witness the steps before"
        if app.sequence.state != S.IDLE:
            return "learning starts from idle (" + S.STATES[app.sequence.state] + ")"
        if app.dome.usable and app.dome.pv_mc >= _START_MAX_MC:
            return "learning starts from a cold oven, below 100"
        return ""

    def begin(self, app):
        """Load the experiment; called before the sequence starts its stage."""
        from tizzone.learning.experiment import Experiment

        pv_c = app.dome.pv_mc * 0.001
        room_c = pv_c if pv_c < 35.0 else 20.0
        self.experiment = Experiment(
            levels_c=_LEVELS_C, ambient_c=room_c, pid_filter_s=app.pid.filter_s, wait_s=app.heater.window_ms * 0.0005
        )
        self._stone = app.stone  # a conditioner, or None
        self.text = "running"

    def output(self, pv_c, dt_s):
        """The output asked for in this tick, per cent."""
        stone = self._stone
        return self.experiment.step(pv_c, dt_s, stone.pv_mc * 0.001 if stone is not None and stone.usable else None)

    def tick(self, app):
        """Once a tick, after the pins are set: end the stage when the experiment is over, or the other way round."""
        made = self.experiment
        if made is None:
            return
        if not made.done and (app.sequence.state != S.RUNNING or not app.dome.usable):
            made.stop("ended before it was through")
        if not made.done and not app.seen.door_shut:
            made.stop("the door was opened: leave it shut, lay no bread")
        if not made.done:
            return
        app.sequence.stop()
        if app.supervisor.permit.granted or app.heater.contactor_on:
            return  # flash is written only when nothing may heat
        tuning, reason = made.tuning, made.reason
        self.experiment = made = None
        let_go(*_OF_THE_EXPERIMENT)  # what stores the tuning needs their room
        app.sequence.set_setpoint(min(app.settings["setpoint_c"] * 1000, app.supervisor.ceiling_mc))
        self.text = "failed: " + reason if tuning is None else app.acts.keep_tuning(tuning)
        app.memory.log("learning " + self.text)
