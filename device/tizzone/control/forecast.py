"""Looks ahead with a copy of the stone's model, a step a tick: when it will be ready, how many breads an hour.

What it assumes: the dome goes on rising as now until the setpoint and stays there, the output as lately; after a bread
the dome needs as long to come back as it did lately. The figure is as good as the model: `Stone.basis` says whether
that is a guess.
"""

from micropython import const

from tizzone.control.stone import Stone

_STEP_S = const(6.0)  # of a look ahead: three of the model's own, still a third of its quickest time; house
FAR_S = 5400.0  # 'not within 90 minutes'; house
HANDLING_S = 10.0  # from the word to the closed door; house
BACK_S = 140.0  # until the dome is back after a bread, before it was seen; house: chosen on simulated ovens
_CYCLES = const(4)  # breads looked ahead: by the fourth the stone's cycle repeats; house
_NEAR_K = const(5.0)  # a dome within this of its setpoint is taken to be there: the sequence's own band
_IDLE = const(0)
_READY = const(1)
_PACE = const(2)


class Forecast:
    """`ready_s`: seconds until ready (-1 unknown, FAR_S or more: not in sight); `cycle_s`: from bread to bread."""

    def __init__(self):
        self.model = Stone()
        self.model.learns = 0
        self.job = _IDLE
        self.ready_s = -1.0
        self.cycle_s = -1.0
        self.age_s = 0.0
        self._pace_next = False

    def forget(self):
        """What was foretold no longer holds."""
        self.ready_s = -1.0
        self.job = _IDLE

    def tick(self, stone, dome_c, setpoint_c, rise_k_s, deck, wanted_c, sag_k, bake_s, between_s, dt_s):
        """One tick: begin, go on with, or finish a look ahead. `deck`: its share of output as lately;
        `between_s`: least time from a bread's end to the next load, as far as dome and hands go."""
        self.age_s += dt_s
        if 0.0 < self.ready_s < FAR_S:  # what was foretold comes nearer until it is foretold anew
            self.ready_s = max(0.0, self.ready_s - dt_s)
        if self.job == _IDLE:
            self._copy(stone, dome_c)
            self.deck, self.rise_k_s, self.setpoint_c = deck, rise_k_s, setpoint_c
            self.goal_c = stone.ready_at_c(wanted_c)
            self.sag_k, self.bake_s, self.between_s = sag_k, bake_s, between_s
            self.job = _PACE if self._pace_next else _READY
            self._pace_next = not self._pace_next
            self.age_s = 0.0
            if self.job == _PACE:
                self._begin_pace()
        if self.job == _READY:
            self._ready_step()
        elif self.job == _PACE:
            self._pace_step()

    def _copy(self, stone, dome_c):
        model = self.model
        model.factor, model.rates = list(stone.factor), list(stone.rates)
        model.image_c, model.upper_c, model.core_c = stone.image_c, stone.upper_c, stone.core_c
        model.skin_k, model.bread_c, model.thick = stone.skin_k, stone.bread_c, stone.thick
        self.dome_c = dome_c
        self.time_s = 0.0

    def _move(self, bread):
        self.model.step(self.dome_c, self.deck, _STEP_S, bread)
        self.time_s += _STEP_S

    def _ready_step(self):
        if self.model.surface_c >= self.goal_c or self.time_s >= FAR_S:
            self.ready_s = max(0.0, self.time_s - self.age_s)
            self.job = _IDLE
            return
        rising = self.dome_c < self.setpoint_c - _NEAR_K and self.rise_k_s > 0.0
        if rising:
            self.dome_c = min(self.setpoint_c, self.dome_c + self.rise_k_s * _STEP_S)
        else:
            self.dome_c = self.setpoint_c
        self._move(0)

    def _begin_pace(self):
        """From the moment of the first bread at the wanted stone, dome at its setpoint."""
        model = self.model
        off_k = self.goal_c - model.surface_c
        model.upper_c += off_k
        model.core_c += off_k
        self.dome_c = model.image_c = self.setpoint_c
        self.cycle = 0
        self.begun_s = 0.0

    def _pace_step(self):
        since_s = self.time_s - self.begun_s
        if since_s < self.bake_s:
            self._move(1)
            return
        if since_s < self.bake_s + self.between_s or self.model.surface_c < self.goal_c - self.sag_k:
            if since_s >= FAR_S:
                self.cycle_s = FAR_S
                self.job = _IDLE
                return
            self._move(0)
            return
        self.cycle += 1
        self.begun_s = self.time_s
        if self.cycle >= _CYCLES:
            self.cycle_s = since_s
            self.job = _IDLE
