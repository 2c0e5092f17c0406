"""Output from setpoint and process value: pure arithmetic, floats, time passed in. Never part of the safety path.

Far below the setpoint the output is full. Saturation is left by prediction: when reading + rate x lead meets the
setpoint. The integral then starts at the balance, the output that would keep the oven where it is: at full output it
rises by `rate`, each per cent less takes `rise_k_s_pct` off that rate, so the balance is 100 - rate / rise_k_s_pct.
Near the setpoint: PI on the deviation, derivative on the filtered process value (a setpoint change makes no kick).
The integral rests in saturation and beyond 25 K, so it cannot wind up; every hand-over sets it to match (bumpless).
Nothing is summed but the integral, which is bounded by 0..100 %: single precision is enough.

`adapt`: how soon a cold oven answers full output tells how late it is, and the defaults follow (simulated ovens with
heavy elements, or with a transport delay, need 44-114 s for the first 4 K, others 15-53 s). Lead and derivative time
grow together: what the prediction has counted as on its way must not be asked for again by the gain. The integral time
grows with them, since what a slow return adds to the integral is too much once the stone has drunk its fill. Learned or
typed values stand as they are.
A door makes the reading fall and jump back, which the heat did not do: rates that no closed oven has are left out of
the prediction, and below 400 degrees the output is limited for a minute, lest the elements store what shows only
when the door is shut.
"""

from micropython import const

_ROOM_C = const(20.0)  # a kitchen; house
_HOT_C = const(450.0)  # hold_pct is told at this dome, the usual one; house
_STEADY_MIN = const(0.1)  # share of the way from room to _HOT_C that counts at least: a setpoint near the room; house
_RADIATED = const(0.5)  # of the steady loss grows with its square; house: chosen on simulated ovens, as what follows
_GAIN_WINDOW = const(60.0)  # % per K x s: 3 at 20 s, 2 at 30 s (simulated ovens: 5 at 30 s swings by 9 K)
_GAIN_TIME_WINDOW = const(1250.0)  # the same for gain x derivative time; simulated ovens
# When a cold oven has answered, and what a door does; house, chosen on simulated ovens where no line says else.
_ANSWER_K = const(4.0)  # a cold oven has answered when it is so much warmer ...
_ANSWER_S = const(25.0)  # ... at the latest after this if it has no delay worth speaking of
_ANSWER_MAX_S = const(90.0)  # longer is a door that stood open
_LATE_S = const(55.0)  # so late answers only a late oven (simulated: others by 53 s, behind 4.5 mm too)
_COLD_C = const(60.0)  # an answer counts from below this: a warm oven cools on at first
_FALL_K_S = const(-0.5)  # no closed oven falls so fast: a door
_LIMIT_TO_C = const(300.0)  # up to this setpoint the whole limit after a door; then it rises by ...
_LIMIT_PCT_K = const(0.5)  # % per K: none is left from 400 degrees upwards; house
_LIMIT_RATIO = const(1.5)  # after a door at most so much of the integral ...
_LIMIT_MORE_PCT = const(12.0)  # ... or so much above it, whichever is more; house
_FASTEST_RATIO = const(1.5)  # half as much again as full output should give: gains differ from place to place; house
_FASTEST_LATE_RATIO = const(1.1)  # of a late oven, whose rise is less underrated; house: chosen as what follows
_FASTEST_K_S = const(0.05)  # what the walls give back beside that; house
_LEAD_SHARE = const(0.9)  # s of lead for each s of late answer; house: chosen on simulated ovens that answer late
_BRAKE_SHARE = const(0.3)  # s of derivative time for each; the same
_RISE_POWER = const(0.45)  # the rise a per cent is taken for falls with this power of the slowness; the same
_RISE_LATE_POWER = const(0.2)  # less so in a late oven: an integral that starts too low winds up on the way; the same
_ARRIVED_K = const(0.5)  # within this of the setpoint an approach is over whatever the rate; house
# Times and bounds of every loop; house: chosen on simulated ovens (tests/bench/README.md) for overshoot, sag after a
# bread and relay switchings.
_FILTER_S = const(4.0)  # of the process value
_SLOW_S = const(20.0)  # of the rate that predicts: two windows of 10 s
_BAND_K = const(25.0)  # the integral moves only within this deviation
_AGAIN_K = const(15.0)  # a door or a bread: approach anew
_RATE_MAX_K_S = const(0.4)  # a closed oven rises no faster on its first approach
_BRAKE_MAX_K_S = const(0.25)  # the derivative brakes for no more
_SHEATH_S = const(4.0)  # how long the probe needs to show what the air has already
_FADE_PCT = const(24.0)  # after a first arrival the stone still drinks: so much less is needed later at most,
_FADE_S = const(500.0)  # with this time constant
_AGAIN_PCT = const(4.0)  # after a bread the integral starts higher by this at most
_LIMITED_S = const(45.0)  # so long after the reading has ceased to fall the output is limited


def _steady(setpoint_c):
    """Steady output relative to that at 450 degrees: half of it linear, half quadratic (radiation)."""
    rise = (setpoint_c - _ROOM_C) / (_HOT_C - _ROOM_C)
    rise = _STEADY_MIN if rise < _STEADY_MIN else rise
    return rise * (1.0 - _RADIATED + _RADIATED * rise)


def _within(value, most):
    return most if value > most else -most if value < -most else value


class Pid:
    """One loop. Units: degrees Celsius, seconds, per cent."""

    def __init__(self, kc_pct_per_k=5.0, ti_s=260.0, td_s=25.0, lead_s=20.0, hold_pct=34.0, rise_k_s_pct=0.0032,
                 window_s=10.0, adapt=False):  # fmt: skip
        # A long window swings the reading; answered too eagerly within the window, that swing feeds itself.
        self.kc_pct_per_k = min(kc_pct_per_k, _GAIN_WINDOW / window_s)
        self.ti_s = ti_s
        self.td_s = min(td_s, _GAIN_TIME_WINDOW / window_s / self.kc_pct_per_k)
        self.lead_s = lead_s  # how far ahead the approach looks
        self.hold_pct = hold_pct  # expected steady output at 450 degrees: scaled, the least the balance may come to
        self.rise_k_s_pct = rise_k_s_pct  # what one per cent of output adds to the rate near the setpoint
        self.adapt = adapt
        self.filter_s = _FILTER_S  # told to whoever tunes
        self.late = False  # the oven has answered late: it shows long after a door what full output has stored
        self.reset()

    def reset(self):
        """Forget everything but what the oven's answer told; the next update starts an approach."""
        self.approaching = True
        self.held = False  # the integral is one that has held a setpoint
        self.extra_pct = 0.0  # what is still to be faded out of the integral
        self.integral_pct = self.hold_pct
        self.filtered_c = None
        self.setpoint_c = None
        self.start_c = None  # reading at the start of the answer, None: not waiting for one
        self.answer_s = 0.0
        self.calm_s = _LIMITED_S  # since the reading last fell as no closed oven's does
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
        self.approaching = setpoint_c - pv_c > _AGAIN_K
        if not self.approaching and self.setpoint_c is not None:
            self.integral_pct *= _steady(setpoint_c) / _steady(self.setpoint_c)
        self.extra_pct = 0.0
        self.held = False
        self.setpoint_c = setpoint_c

    def _filter(self, pv_c, dt_s):
        if self.filtered_c is None:
            self.filtered_c = pv_c
            self.start_c = pv_c if pv_c < _COLD_C else None
            return
        share = dt_s / (self.filter_s + dt_s)
        step_k = share * (pv_c - self.filtered_c)
        self.filtered_c += step_k
        rate = step_k / dt_s
        self.quick_k_s += share * (rate - self.quick_k_s)
        self.rate_k_s += share * (_within(rate, _BRAKE_MAX_K_S) - self.rate_k_s)
        fastest = self._fastest()
        rate = fastest if rate > fastest else _within(rate, _RATE_MAX_K_S)
        self.slow_k_s += dt_s / (_SLOW_S + dt_s) * (rate - self.slow_k_s)

    def _fastest(self):
        """The fastest rise of the closed oven, K/s: what is above it is a door that has been shut."""
        if not self.held:
            return _RATE_MAX_K_S
        ratio = _FASTEST_LATE_RATIO if self.late else _FASTEST_RATIO
        fastest = ratio * (100.0 - self.integral_pct) * self.rise_k_s_pct + _FASTEST_K_S
        return min(_RATE_MAX_K_S, fastest)

    def _listen(self, dt_s):
        """Wait for a cold oven's answer to full output; then make the defaults as calm as its lateness asks for."""
        self.answer_s += dt_s
        if self.filtered_c < self.start_c + _ANSWER_K:
            return
        self.start_c = None
        self.late = self.answer_s > _LATE_S
        late_s = min(self.answer_s, _ANSWER_MAX_S) - _ANSWER_S
        if late_s > 0.0 and self.adapt:
            self.adapt = False  # once: the tuning of this oven
            slowness = 1.0 + late_s / _ANSWER_S
            self.lead_s += _LEAD_SHARE * late_s
            self.td_s += _BRAKE_SHARE * late_s
            self.ti_s *= slowness
            self.rise_k_s_pct /= slowness ** (_RISE_LATE_POWER if self.late else _RISE_POWER)

    def _arrive(self, setpoint_c):
        """Leave saturation: start the integral at the balance, or near what has held the setpoint before."""
        self.approaching = False
        balance_pct = 100.0 - self.slow_k_s / self.rise_k_s_pct
        if self.held:
            if not self.late:  # there the heat that full output has stored comes after the arrival
                most_pct = self.integral_pct + _AGAIN_PCT
                self.integral_pct = max(self.integral_pct, min(balance_pct, most_pct))
            return
        hold_pct = self.hold_pct * _steady(setpoint_c)
        self.integral_pct = max(hold_pct, min(balance_pct, 100.0))
        self.extra_pct = min(self.integral_pct - hold_pct, _FADE_PCT)
        self.held = True

    def _limit(self, setpoint_c):
        """The most output for now, %: all of it in a first approach, a minute after a door, and above 400 degrees
        where the oven answers soon."""
        if not self.held or self.calm_s >= _LIMITED_S:
            return 100.0
        most_pct = max(_LIMIT_RATIO * self.integral_pct, self.integral_pct + _LIMIT_MORE_PCT)
        if setpoint_c > _LIMIT_TO_C and not self.late:
            most_pct += (setpoint_c - _LIMIT_TO_C) * _LIMIT_PCT_K
        return min(most_pct, 100.0)

    def update(self, setpoint_c, pv_c, dt_s, heating=True):
        """One step of `dt_s` (> 0); returns output 0..100 %. The integral rests while `heating` is false."""
        self._filter(pv_c, dt_s)
        if self.start_c is not None and heating:
            self._listen(dt_s)
        self.setpoint_c = setpoint_c
        deviation_k = setpoint_c - self.filtered_c
        jump_k_s = self.quick_k_s - self._fastest()
        if jump_k_s > 0.0:  # the door has been shut: the walls bring the reading back, not the heat
            deviation_k -= jump_k_s * _SHEATH_S
        if deviation_k > _AGAIN_K:
            self.approaching = True
        # of a late oven the limit counts from the door on: full output must come in time for 'probe-fell'
        falls = self.quick_k_s < _FALL_K_S and not (self.late and self.approaching)
        self.calm_s = 0.0 if falls else min(self.calm_s + dt_s, _LIMITED_S)
        limit_pct = self._limit(setpoint_c)
        asked_pct = 100.0
        if self.approaching and not (deviation_k > self.slow_k_s * self.lead_s and deviation_k > _ARRIVED_K):
            self._arrive(setpoint_c)
        if not self.approaching:
            asked_pct = self._regulate(deviation_k, limit_pct, dt_s, heating)
        self.out_pct = 0.0 if asked_pct < 0.0 else limit_pct if asked_pct > limit_pct else asked_pct
        return self.out_pct

    def _regulate(self, deviation_k, limit_pct, dt_s, heating):
        """PI on the deviation, derivative on the rate; returns the output asked for, unlimited."""
        self.p_pct = self.kc_pct_per_k * deviation_k
        self.d_pct = -self.kc_pct_per_k * self.td_s * self.rate_k_s
        asked_pct = self.integral_pct + self.p_pct + self.d_pct
        step_pct = self.kc_pct_per_k * deviation_k * dt_s / self.ti_s
        winding = (asked_pct >= limit_pct and step_pct > 0.0) or (asked_pct <= 0.0 and step_pct < 0.0)
        if heating and not winding and -_BAND_K < deviation_k < _BAND_K:
            faded_pct = self.extra_pct * dt_s / _FADE_S
            self.extra_pct -= faded_pct
            self.integral_pct += step_pct - faded_pct
        return asked_pct
