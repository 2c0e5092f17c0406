"""The evening: states as ISA-88 names them, stages as a baker does. Decides what heat is asked for, never
whether it may flow.

    idle -start-> running -stop-> stopping -(cooled)-> stopped      running -(last bread done)-> complete
    running -hold, or a HOLD condition-> held -resume-> running     any of these -trip-> aborted
    -acknowledge-> idle
    stopped, complete -reset-> idle

Stages within running: prove (start test), preheat, soak, load, bake, recover; `cool` after the heat has ended.
"""

from tizzone import limits as L

IDLE, RUNNING, HELD, STOPPING, STOPPED, COMPLETE, ABORTED = range(7)
STATES = ("idle", "running", "held", "stopping", "stopped", "complete", "aborted")
NO_STAGE, PROVE, PREHEAT, SOAK, LOAD, BAKE, RECOVER, COOL = range(8)
STAGES = ("none", "prove", "preheat", "soak", "load", "bake", "recover", "cool")

COOLED_MS = 60_000  # cooled means below for this long: an open door makes a hot oven read cold for a while
READY_MK = 5_000  # within this of the setpoint counts as reached


class Sequence:
    """State of one evening. Temperatures in milli-degrees Celsius, times in ms."""

    def __init__(self, setpoint_mc, soak_ms=900_000, bake_ms=90_000, breads=0, cool_mc=250_000):
        self.state = IDLE
        self.stage = NO_STAGE
        self.stage_ms = 0
        self.soak_ms = soak_ms
        self.bake_ms = bake_ms
        self.breads = breads  # 0 = until stopped
        self.cool_mc = cool_mc
        self.breads_done = 0
        self._below_ms = 0
        self.setpoint_mc = 0
        self.setpoint_inverted = -1
        self.set_setpoint(setpoint_mc)

    def set_setpoint(self, setpoint_mc):
        """Keep the setpoint twice, once inverted; the supervisor compares."""
        self.setpoint_mc = setpoint_mc
        self.setpoint_inverted = ~setpoint_mc

    @property
    def active(self):
        """1 while heat is asked for."""
        return 1 if self.state == RUNNING else 0

    @property
    def session(self):
        """1 while an evening is on, held or not."""
        return 1 if self.state == RUNNING or self.state == HELD else 0

    @property
    def seconds_left(self):
        """Of soak or bake; 0 elsewhere."""
        span_ms = self.soak_ms if self.stage == SOAK else self.bake_ms if self.stage == BAKE else 0
        left_ms = span_ms - self.stage_ms
        return left_ms // 1000 if left_ms > 0 else 0

    # --- a person's commands: each returns True if it was taken -------------------------------------

    def start(self, prove):
        """Begin an evening; `prove` = the start test runs first."""
        if self.state not in (IDLE, STOPPED, COMPLETE):
            return False
        self.state = RUNNING
        self.breads_done = 0
        self._enter(PROVE if prove else PREHEAT)
        return True

    def stop(self):
        """End the heat from any state that has some; the oven cools."""
        if not self.session:
            return False
        self.state = STOPPING
        self._enter(COOL)
        return True

    def hold(self):
        """Heat off, evening kept."""
        if self.state != RUNNING:
            return False
        self.state = HELD
        return True

    def resume(self):
        """Go on after a hold: back to preheat, since the oven has cooled meanwhile."""
        if self.state != HELD:
            return False
        self.state = RUNNING
        if self.stage != SOAK and self.stage != PROVE:
            self._enter(RECOVER if self.breads_done else PREHEAT)
        return True

    def reset(self):
        """Back to idle from stopped or complete."""
        if self.state not in (STOPPED, COMPLETE):
            return False
        self.state = IDLE
        self._enter(NO_STAGE)
        return True

    def loaded(self):
        """A bread lies on the stone."""
        if self.state != RUNNING or self.stage not in (LOAD, RECOVER):
            return False
        self._enter(BAKE)
        return True

    def proved(self):
        """The start test is through: heat may be asked for."""
        if self.state == RUNNING and self.stage == PROVE:
            self._enter(PREHEAT)

    def acknowledged(self):
        """The latch is clear: an aborted evening is over."""
        if self.state == ABORTED:
            self.state = IDLE
            self._enter(NO_STAGE)

    # --- once a tick ------------------------------------------------------------------------------

    def step(self, pv_mc, usable, tripped, holding, stopping, dt_ms):
        """Move on by one tick."""
        if tripped:
            if self.state != ABORTED:
                self.state = ABORTED
                self._enter(COOL)
        elif stopping and self.session:
            self.stop()
        elif holding:
            self.hold()
        if self.stage_ms < L.CAP_MS:
            self.stage_ms += dt_ms
        if self.state == RUNNING and usable:
            self._advance(pv_mc)
        elif self.stage == COOL:
            self._cool(usable and pv_mc < self.cool_mc, dt_ms)

    def _cool(self, below, dt_ms):
        self._below_ms = self._below_ms + dt_ms if below else 0
        if self._below_ms < COOLED_MS:
            return
        if self.state == STOPPING:
            self.state = STOPPED
        if self.state != ABORTED:
            self._enter(NO_STAGE)

    def _advance(self, pv_mc):
        reached = pv_mc >= self.setpoint_mc - READY_MK
        if self.stage == PREHEAT:
            if reached:
                self._enter(SOAK)
        elif self.stage == SOAK:
            if self.stage_ms >= self.soak_ms:
                self._enter(LOAD)
        elif self.stage == BAKE:
            if self.stage_ms >= self.bake_ms:
                self._baked()
        elif self.stage == RECOVER and reached:
            self._enter(LOAD)

    def _baked(self):
        self.breads_done += 1
        if self.breads and self.breads_done >= self.breads:
            self.state = COMPLETE
            self._enter(COOL)
        else:
            self._enter(RECOVER)

    def _enter(self, stage):
        self.stage = stage
        self.stage_ms = 0
        self._below_ms = 0
