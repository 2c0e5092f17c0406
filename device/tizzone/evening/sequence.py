"""The evening: states as ANSI/ISA-88 names them, stages as a baker does. Decides what heat is asked for, never
whether it may flow.

    idle -start-> running -stop-> stopping -(cooled)-> stopped      running -(last bread done)-> complete
    running -hold, or a HOLD condition-> held -resume-> running     stopped, complete -reset-> idle
    any of these -trip-> aborted -acknowledge-> idle

Stages within running: prove (start test), preheat, soak, lift (extra top heat), load, bake, recover; `rest` (a lower
setpoint until guests come); `learn` (the oven's experiment, no evening); `cool` after the heat has ended. A bake plan
is a row of legs, each with setpoint, soak and breads of its own; without one the settings make the only leg.
"""

from micropython import const

from tizzone.evening import leg as B
from tizzone.evening.ramp import Ramp
from tizzone.integers import CAP_MS

IDLE, RUNNING, HELD, STOPPING, STOPPED, COMPLETE, ABORTED = range(7)
STATES = ("idle", "running", "held", "stopping", "stopped", "complete", "aborted")
NO_STAGE, PROVE, PREHEAT, SOAK, LOAD, BAKE, RECOVER, COOL, LIFT, REST, LEARN = range(11)
STAGES = ("none", "prove", "preheat", "soak", "load", "bake", "recover", "cool", "lift", "rest", "learn")

COOLED_MS = 60_000  # cooled means below for this long: an open door makes a hot oven read cold for a while
READY_MK = 5_000  # within this of the setpoint counts as reached
EARLY_MK = 40_000  # by heat a bread may be due from so far below on: with a door of 8 s about FELL_MK; simulated
_FALLEN_MK = const(10_000)  # a leg below the one before begins within this above its setpoint


class Sequence:
    """State of one evening. Temperatures in milli-degrees Celsius, times in ms."""

    def __init__(self, setpoint_mc, soak_ms=900_000, bake_ms=90_000, breads=0, cool_mc=250_000, wait_ms=0, again_ms=0):
        self.state = IDLE
        self.stage = NO_STAGE
        self.stage_ms = 0
        self.first_stage = PREHEAT  # after the start test
        self.soak_ms = soak_ms
        self.bake_ms = bake_ms
        self.breads = breads  # of this leg; 0 = until stopped
        self.cool_mc = cool_mc
        self.breads_done = self.arrived = 0  # of the evening; `arrived` 1 once it has come to its setpoint
        self.cooled = 1  # told each tick: every probe that is believed reads below `cool_mc`
        self.leg_done = 0  # of this leg
        self.legs = ()
        self.leg = 0
        self.bakes = 1  # 0: a leg that only heats
        self.stone_rule = 1 if wait_ms else 0  # 1: soak and recovery end when `stone_ready` says so
        self.stone_ready = self.by_heat = 0  # told each tick by whoever judges the stone; by heat: for the dome as well
        self.unready = 0  # the last load was released by time, not by the stone
        self.wait_ms = wait_ms  # after the soak, and in recovery: released by then anyhow
        self.recover_ms = again_ms
        self.lift_ms = self.rest_mc = 0
        self.ramp = Ramp()
        self._target_mc = 0
        self._below_ms = 0
        self.setpoint_mc = 0
        self.setpoint_inverted = -1
        self.set_setpoint(setpoint_mc)

    def set_setpoint(self, setpoint_mc):
        """A setpoint of a person: any ramp and rest ends here."""
        self.ramp.on = 0
        self._target_mc = setpoint_mc
        self._set(setpoint_mc)

    def _set(self, setpoint_mc):
        """Keep the setpoint twice, once inverted; the supervisor compares."""
        self.setpoint_mc = setpoint_mc
        self.setpoint_inverted = ~setpoint_mc

    def use_plan(self, legs, cool_mc):
        """Take the legs of a checked plan; only while nothing runs."""
        self.legs = legs
        self.cool_mc = cool_mc
        self._take_leg(0)

    def _take_leg(self, number):
        leg = self.legs[number]
        self.leg = number
        self.leg_done = 0
        self.ramp.k_h = leg[B.RAMP]
        self.soak_ms = leg[B.SOAK] * 60_000
        self.stone_rule = 1 if leg[B.STONE] and leg[B.BREADS] else 0
        self.wait_ms = leg[B.WAIT] * 60_000
        self.bakes = 1 if leg[B.BREADS] else 0
        self.breads = leg[B.BREADS]
        self.bake_ms = leg[B.BAKE] * 1000
        self.recover_ms = leg[B.RECOVER] * 1000
        self.lift_ms = leg[B.LIFT_S] * 1000 if leg[B.LIFT] else 0
        self.rest_mc = leg[B.REST] * 1000
        self.set_setpoint(leg[B.DOME] * 1000)

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
        """Of soak, lift or bake; 0 elsewhere."""
        stage = self.stage
        span_ms = self.soak_ms if stage == SOAK else self.lift_ms if stage == LIFT else 0
        left_ms = (self.bake_ms if stage == BAKE else span_ms) - self.stage_ms
        return left_ms // 1000 if left_ms > 0 else 0

    # --- a person's commands: each returns True if it was taken -------------------------------------

    def start(self, prove, learn_mc=0):
        """Begin an evening; `prove` = the start test runs first; `learn_mc` > 0: begin to learn below that instead."""
        if self.state not in (IDLE, STOPPED, COMPLETE):
            return False
        self.first_stage = LEARN if learn_mc else PREHEAT
        self.state = RUNNING
        self.breads_done = self.arrived = self.leg_done = 0
        if learn_mc:
            self.set_setpoint(learn_mc)
        elif self.legs:
            self._take_leg(0)
        self._begin(PROVE if prove else self.first_stage)
        return True

    def continue_from(self, leg, leg_done, breads_done):
        """Right after start(): count on from where a power cut ended the evening."""
        if self.legs and 0 <= leg < len(self.legs):
            self._take_leg(leg)
            self._begin(self.stage)
        self.leg_done = leg_done
        self.breads_done = breads_done

    def _begin(self, stage):
        self.ramp.begin()
        self._enter(stage)

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
        """Go on after a hold or a rest: back to preheat or recovery, since the oven has cooled meanwhile."""
        if self.state != HELD and (self.state != RUNNING or self.stage != REST):
            return False
        self.state = RUNNING
        if self.stage == REST or self._counted():
            self._set(self._target_mc)
            self._after_bread()
        elif self.stage != SOAK and self.stage != PROVE:
            self._begin(RECOVER if self.leg_done else PREHEAT)
        return True

    def rest(self):
        """A lower setpoint until guests come; the plan must allow it."""
        if self.state != RUNNING or not self.rest_mc or self.stage not in (SOAK, LIFT, LOAD, RECOVER):
            return False
        self._set(min(self.rest_mc, self._target_mc))
        self._enter(REST)
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
        if self.state != RUNNING or self.stage not in (LOAD, RECOVER, LIFT):
            return False
        if self.stage != LOAD:
            self.unready = 1  # a person's choice
        self._enter(BAKE)
        return True

    def proved(self):
        """The start test is through: heat may be asked for."""
        if self.state == RUNNING and self.stage == PROVE:
            self._enter(self.first_stage)

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
        # A held oven does not soak; a bread that lies on its stone bakes on.
        if self.stage_ms < CAP_MS and (self.state != HELD or self.stage == BAKE):
            self.stage_ms += dt_ms
        if self.state == RUNNING and usable:
            self._advance(pv_mc, dt_ms)
        elif self.state == HELD and self.stage == BAKE and self.stage_ms >= self.bake_ms:
            self._count_bread()
        elif self.stage == COOL:
            self._cool(usable and self.cooled and pv_mc < self.cool_mc, dt_ms)

    def _cool(self, below, dt_ms):
        self._below_ms = self._below_ms + dt_ms if below else 0
        if self._below_ms < COOLED_MS:
            return
        if self.state == STOPPING:
            self.state = STOPPED
        if self.state != ABORTED:
            self._enter(NO_STAGE)

    def _advance(self, pv_mc, dt_ms):
        stage = self.stage
        if stage == BAKE:
            if self.stage_ms >= self.bake_ms:
                self._count_bread()
                self._after_bread()
        reached = pv_mc >= self.setpoint_mc - READY_MK
        if stage == PREHEAT:
            if reached and not self.ramp.on and (not self.leg or pv_mc <= self.setpoint_mc + _FALLEN_MK):
                self.arrived = 1
                self._enter(SOAK)
        elif stage == SOAK:
            if self.stage_ms >= self.soak_ms and self._stone(self.soak_ms + self.wait_ms if self.wait_ms else 0):
                self._due()
        elif stage == LIFT:
            if self.stage_ms >= self.lift_ms:
                self._enter(LOAD)
        elif stage == RECOVER and pv_mc >= self.setpoint_mc - (EARLY_MK if self.by_heat else READY_MK):
            if self._stone(self.recover_ms if reached else 0):
                self._due()
        # Last, and in the start test as well: the leg's own setpoint, for one tick, would be answered by full output.
        if self.ramp.on and (self.stage == PREHEAT or (self.stage == PROVE and self.first_stage == PREHEAT)):
            self._set(self.ramp.moved_mc(self.setpoint_mc, self._target_mc, pv_mc, dt_ms))

    def _stone(self, limit_ms):
        """May a bread go in as far as the stone is concerned? `limit_ms`: released by then anyhow; 0 = never."""
        self.unready = 0
        if not self.stone_rule or self.stone_ready:
            return True
        self.unready = 1 if limit_ms and self.stage_ms >= limit_ms else 0
        return self.unready

    def _due(self):
        if self._counted() or not self.bakes:
            self._after_leg()
        else:
            self._enter(LIFT if self.lift_ms else LOAD)

    def _counted(self):
        return self.bakes and self.breads and self.leg_done >= self.breads

    def _count_bread(self):
        self.breads_done += 1
        self.leg_done += 1
        self._enter(RECOVER)

    def _after_bread(self):
        if self._counted():
            self._after_leg()
        else:
            self._enter(RECOVER if self.leg_done else PREHEAT)

    def _after_leg(self):
        if self.leg + 1 < len(self.legs):
            self._take_leg(self.leg + 1)
            self._begin(PREHEAT)
        else:
            self.state = COMPLETE
            self._enter(COOL)

    def _enter(self, stage):
        self.stage = stage
        self.stage_ms = 0
        self._below_ms = self.by_heat = 0
