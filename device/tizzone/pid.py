"""Output from setpoint and process value: pure arithmetic, floats, time passed in. Never part of the
safety path.

PI on the deviation, derivative on the filtered process value (a setpoint change makes no kick), integral
held while the
output is saturated (no windup), integral set to match on every hand-over (bumpless). Far below the
setpoint it gives full output and leaves
saturation by prediction: when reading + rate x lead meets the setpoint.
"""


class Pid:
    """One loop. Units: °C, seconds, per cent."""

    def __init__(self, kc_pct_per_k=4.0, ti_s=240.0, td_s=20.0, lead_s=45.0, hold_pct=40.0):
        self.kc_pct_per_k = kc_pct_per_k
        self.ti_s = ti_s
        self.td_s = td_s
        self.lead_s = lead_s  # how far ahead the approach looks
        self.hold_pct = hold_pct  # expected steady output at the setpoint, the integral's start
        self.filter_s = 4.0
        self.band_k = 25.0  # the integral moves only within this deviation
        self.reset()

    def reset(self):
        """Forget everything; the next update starts an approach."""
        self.approaching = True
        self.integral_pct = 0.0
        self.filtered_c = None
        self.rate_k_s = 0.0
        self.out_pct = 0.0
        self.p_pct = 0.0
        self.d_pct = 0.0

    def match(self, out_pct, setpoint_c, pv_c):
        """Bumpless hand-over: continue from `out_pct` at this setpoint and process value."""
        self.approaching = False
        self.integral_pct = out_pct - self.kc_pct_per_k * (setpoint_c - pv_c)

    def retarget(self, setpoint_c, pv_c):
        """The setpoint has changed: approach anew if it is far above."""
        self.approaching = setpoint_c - pv_c > self.band_k

    def _filter(self, pv_c, dt_s):
        if self.filtered_c is None:
            self.filtered_c = pv_c
            self.rate_k_s = 0.0
            return
        share = dt_s / (self.filter_s + dt_s)
        before_c = self.filtered_c
        self.filtered_c += share * (pv_c - self.filtered_c)
        self.rate_k_s += share * ((self.filtered_c - before_c) / dt_s - self.rate_k_s)

    def update(self, setpoint_c, pv_c, dt_s, heating=True):
        """One step of `dt_s` (> 0); returns output 0..100 %. The integral rests while `heating` is false."""
        self._filter(pv_c, dt_s)
        deviation_k = setpoint_c - self.filtered_c
        if self.approaching:
            if deviation_k > self.rate_k_s * self.lead_s and deviation_k > 1.0:
                self.out_pct = 100.0
                return self.out_pct
            self.approaching = False
            self.integral_pct = self.hold_pct
        elif deviation_k > 2.0 * self.band_k and self.rate_k_s * self.lead_s < deviation_k:
            self.approaching = True  # a door or a bread: all heat, then leave by prediction again
            self.out_pct = 100.0
            return self.out_pct
        self.p_pct = self.kc_pct_per_k * deviation_k
        self.d_pct = -self.kc_pct_per_k * self.td_s * self.rate_k_s
        out_pct = self.integral_pct + self.p_pct + self.d_pct
        step_pct = self.kc_pct_per_k * deviation_k * dt_s / self.ti_s
        winding = (out_pct >= 100.0 and step_pct > 0.0) or (out_pct <= 0.0 and step_pct < 0.0)
        if heating and not winding and -self.band_k < deviation_k < self.band_k:
            self.integral_pct += step_pct
        self.out_pct = 0.0 if out_pct < 0.0 else 100.0 if out_pct > 100.0 else out_pct
        return self.out_pct
