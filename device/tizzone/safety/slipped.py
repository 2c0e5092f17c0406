"""A probe that slips slowly out of the heat, seen by the output that the oven then needs.

Integers only, nothing allocated; the supervisor debounces and latches. Figures and their sources are in limits.py.
"""

from tizzone.integers import aged, bounded
from tizzone.safety import limits as L


class Slipped:
    """An oven that needs far more output than it did: the probe has slipped out of the heat (it shows nowhere else,
    since control keeps the reading where it should be), a door stands ajar, an element is gone.

    Judged only while the reading has lain near one setpoint for minutes: doors and breads are left out. The output is
    smoothed; its least value since the oven has settled is what this oven needs. From arrival on a healthy oven only
    ever needs less. What it needs before it has settled is no measure: three times the later output and more.
    Outputs in 1/64 per mille.
    """

    def __init__(self, hold_pm):
        self.hold_pm = hold_pm  # expected output that holds 450 degrees, per mille
        self.setpoint_mc = 0
        self.calm_ms = 0
        self.out_64 = 0  # smoothed
        self.least_64 = -1  # that the settled oven has needed at this setpoint; -1: not known yet
        self.over_ms = 0
        self.came = 0  # to this setpoint, and has not rested since
        self.low_mc = self.high_mc = 0  # of the reading below it
        self.sag_ms = self.away_ms = 0  # at full output without a rise; and without being back
        self.slipped = 0

    def judge(self, pv_mc, setpoint_mc, session, out_pm, dt_ms, rest_ms):
        """Judge one tick of a session at the output in force; outside a session everything is forgotten. `rest_ms`:
        for how long there has been no output."""
        far_mk = setpoint_mc - self.setpoint_mc
        if not session or far_mk > L.SLIP_SAME_MK or far_mk < -L.SLIP_SAME_MK:
            self.setpoint_mc = setpoint_mc
            self.calm_ms = 0
            self.least_64 = -1
            self.over_ms = self.came = 0
            self.slipped = 0
            return
        off_mk = pv_mc - setpoint_mc
        if setpoint_mc < L.SLIP_FROM_MC:
            return  # a bread or a door takes more there than the oven itself
        if off_mk > L.CALM_MK or off_mk < -L.CALM_MK:
            self.calm_ms = 0
            self.over_ms = 0
            if rest_ms >= L.FELL_REST_MS:
                self.came = 0
            self._sag(pv_mc, off_mk, out_pm, dt_ms)
            return
        self.sag_ms = self.away_ms = 0
        if self.calm_ms == 0:
            self.out_64 = out_pm * 64
        self.calm_ms = aged(self.calm_ms, dt_ms)
        if self.calm_ms >= L.CALM_MS:
            self.came = 1
        # at most 64,000 x 500 ms = 3.2e7
        self.out_64 += (out_pm * 64 - self.out_64) * dt_ms // L.SLIP_SMOOTH_MS
        if self.calm_ms < L.SLIP_SETTLE_MS:
            return
        if self.least_64 < 0 or self.out_64 < self.least_64:
            self.least_64 = self.out_64
        self.over_ms = aged(self.over_ms, dt_ms) if self.out_64 >= self.most_64() else 0
        if self.over_ms >= L.SLIP_MS:
            self.slipped = 1

    def _sag(self, pv_mc, off_mk, out_pm, dt_ms):
        """Below the setpoint: does full output still bring it back?"""
        spare = 0 <= self.least_64 < L.SLIP_SPARE_PM * 64
        if not self.came or off_mk > (-L.SAG_MK if spare else -L.SAG_FAR_MK):
            self.sag_ms = 0
            self.low_mc = self.high_mc = pv_mc
            return
        if pv_mc > self.high_mc:
            self.high_mc = pv_mc
        elif pv_mc <= self.high_mc - L.AWAY_FALL_MK:  # a door or a bread: it has to come back from there anew
            self.high_mc = pv_mc
            self.away_ms = 0
        if pv_mc >= self.low_mc + L.FELL_PROGRESS_MK:
            self.low_mc = pv_mc
            self.sag_ms = 0
        elif pv_mc < self.low_mc:
            self.low_mc = pv_mc
        if out_pm >= L.FULL_PM:
            self.sag_ms = aged(self.sag_ms, dt_ms)
            self.away_ms = aged(self.away_ms, dt_ms)
        if self.sag_ms >= L.SAG_MS or (spare and self.away_ms >= L.AWAY_MS):
            self.slipped = 1

    def most_64(self):
        """The smoothed output from which on it is too much."""
        rise_pm = bounded((self.setpoint_mc - L.SLIP_ROOM_MC) // L.SLIP_SPAN_K, 100, 1300)
        # half of the loss is linear, half quadratic in the rise: at most 1000 x 1495 x 64 = 9.6e7
        expected_64 = self.hold_pm * (rise_pm * (500 + rise_pm // 2) // 1000) * 64 // 1000
        least_64 = expected_64 * L.SLIP_LEAST_PCT // 100  # after an overshoot the output rests for a while
        need_64 = self.least_64 if self.least_64 > least_64 else least_64
        most_64 = need_64 * L.SLIP_RATIO_PCT // 100 + L.SLIP_MORE_PM * 64
        full_64 = L.SLIP_FULL_PM * 64
        return full_64 if most_64 > full_64 and need_64 < L.SLIP_SPARE_PM * 64 else most_64
