"""Output from setpoint and process value: pure arithmetic, floats, time passed in. Never part of the safety path.

Far below the setpoint the output is full. Saturation is left by prediction: when reading + rate x lead meets the
setpoint. The integral then starts at the balance, the output that would keep the oven where it is: at full output it
rises by `rate`, each per cent less takes `rise_k_s_pct` off that rate, so the balance is 100 - rate / rise_k_s_pct.
Near the setpoint: PI on the deviation, derivative on the filtered process value (a setpoint change makes no kick).
The integral rests in saturation and beyond 25 K, so it cannot wind up; every hand-over sets it to match (bumpless).
Nothing is summed but the integral, which is bounded by 0..100 %: single precision is enough.
"""

_ROOM_C = 20.0
_GAIN_WINDOW = 60.0  # % per K x s: 3 at 20 s, 2 at 30 s (simulated ovens: 5 at 30 s swings by 9 K)
_GAIN_TIME_WINDOW = 1250.0  # the same for gain x derivative time


def _steady(setpoint_c):
    """Steady output relative to that at 450 degrees: half of it linear, half quadratic (radiation)."""
    rise = (setpoint_c - _ROOM_C) / (450.0 - _ROOM_C)
    rise = 0.1 if rise < 0.1 else rise
    return rise * (0.5 + 0.5 * rise)


class Pid:
    """One loop. Units: degrees Celsius, seconds, per cent."""

    def __init__(self, kc_pct_per_k=5.0, ti_s=150.0, td_s=25.0, lead_s=24.0, hold_pct=45.0, rise_k_s_pct=0.0045,
                 window_s=10.0):  # fmt: skip
        # A long window swings the reading; answered too eagerly within the window, that swing feeds itself.
        self.kc_pct_per_k = min(kc_pct_per_k, _GAIN_WINDOW / window_s)
        self.ti_s = ti_s
        self.td_s = min(td_s, _GAIN_TIME_WINDOW / window_s / self.kc_pct_per_k)
        self.lead_s = lead_s  # how far ahead the approach looks
        self.hold_pct = hold_pct  # expected steady output at 450 degrees: scaled, the least the balance may come to
        self.rise_k_s_pct = rise_k_s_pct  # what one per cent of output adds to the rate near the setpoint
        self.filter_s = 4.0
        self.slow_s = 20.0
        self.band_k = 25.0  # the integral moves only within this deviation
        self.again_k = 15.0  # a door or a bread: approach anew
        self.rate_max_k_s = 0.4  # a closed oven rises no faster; more is a door that has been shut
        self.sheath_s = 9.0  # how long the probe needs to show what the air has already
        self.fade_pct = 24.0  # after a first arrival the stone still drinks: so much less is needed later at most,
        self.fade_s = 500.0  # with this time constant
        self.reset()

    def reset(self):
        """Forget everything; the next update starts an approach."""
        self.approaching = True
        self.held = False  # the integral is one that has held a setpoint
        self.extra_pct = 0.0  # what is still to be faded out of the integral
        self.integral_pct = self.hold_pct
        self.filtered_c = None
        self.setpoint_c = None
        self.quick_k_s = 0.0  # not clamped
        self.rate_k_s = 0.0  # for the derivative
        self.slow_k_s = 0.0  # for the prediction
        self.out_pct = 0.0
        self.p_pct = 0.0
        self.d_pct = 0.0

    def match(self, out_pct, setpoint_c, pv_c):
        """Bumpless hand-over: continue from `out_pct` at this setpoint and process value."""
        self.approaching = False
        self.held = True
        self.integral_pct = out_pct - self.kc_pct_per_k * (setpoint_c - pv_c)

    def retarget(self, setpoint_c, pv_c):
        """The setpoint has changed: approach anew if it is far above; else scale the integral to the new one."""
        self.approaching = setpoint_c - pv_c > self.again_k
        if not self.approaching and self.setpoint_c is not None:
            self.integral_pct *= _steady(setpoint_c) / _steady(self.setpoint_c)
        self.extra_pct = 0.0
        self.held = False
        self.setpoint_c = setpoint_c

    def _filter(self, pv_c, dt_s):
        if self.filtered_c is None:
            self.filtered_c = pv_c
            return
        share = dt_s / (self.filter_s + dt_s)
        step_k = share * (pv_c - self.filtered_c)
        self.filtered_c += step_k
        most = self.rate_max_k_s
        rate = step_k / dt_s
        self.quick_k_s += share * (rate - self.quick_k_s)
        rate = most if rate > most else -most if rate < -most else rate
        self.rate_k_s += share * (rate - self.rate_k_s)
        self.slow_k_s += dt_s / (self.slow_s + dt_s) * (rate - self.slow_k_s)

    def _arrive(self, setpoint_c):
        """Leave saturation: start the integral at the balance."""
        hold_pct = self.hold_pct * _steady(setpoint_c)
        self.approaching = False
        balance_pct = 100.0 - self.slow_k_s / self.rise_k_s_pct
        least_pct = self.integral_pct if self.held else hold_pct
        balance_pct = least_pct if balance_pct < least_pct else 100.0 if balance_pct > 100.0 else balance_pct
        if not self.held:
            extra_pct = balance_pct - hold_pct
            self.extra_pct = self.fade_pct if extra_pct > self.fade_pct else extra_pct
        self.integral_pct = balance_pct
        self.held = True

    def update(self, setpoint_c, pv_c, dt_s, heating=True):
        """One step of `dt_s` (> 0); returns output 0..100 %. The integral rests while `heating` is false."""
        self._filter(pv_c, dt_s)
        self.setpoint_c = setpoint_c
        deviation_k = setpoint_c - self.filtered_c
        if self.quick_k_s > self.rate_max_k_s:  # the door has been shut: the walls bring the reading back, not the heat
            deviation_k -= (self.quick_k_s - self.rate_max_k_s) * self.sheath_s
        if deviation_k > self.again_k:
            self.approaching = True
        if self.approaching:
            if deviation_k > self.slow_k_s * self.lead_s and deviation_k > 0.5:
                self.out_pct = 100.0
                return self.out_pct
            self._arrive(setpoint_c)
        self.p_pct = self.kc_pct_per_k * deviation_k
        self.d_pct = -self.kc_pct_per_k * self.td_s * self.rate_k_s
        out_pct = self.integral_pct + self.p_pct + self.d_pct
        step_pct = self.kc_pct_per_k * deviation_k * dt_s / self.ti_s
        winding = (out_pct >= 100.0 and step_pct > 0.0) or (out_pct <= 0.0 and step_pct < 0.0)
        if heating and not winding and -self.band_k < deviation_k < self.band_k:
            faded_pct = self.extra_pct * dt_s / self.fade_s
            self.extra_pct -= faded_pct
            self.integral_pct += step_pct - faded_pct
        self.out_pct = 0.0 if out_pct < 0.0 else 100.0 if out_pct > 100.0 else out_pct
        return self.out_pct
