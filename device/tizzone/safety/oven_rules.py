"""What a healthy oven cannot do: slow rules that see faults which no single reading shows.

Integers only, nothing allocated. Each rule judges once a tick and keeps 0 or 1 for its condition; the supervisor
debounces and latches. Figures and their sources are in limits.py.
"""

from tizzone.integers import aged
from tizzone.safety import limits as L


class Unsteady:
    """Readings that are not usable, three in a row or too often: a loose screw never shows three in a row.

    A bad tick counts four times what a good one takes back, so one bad tick in five is borne: each inhibits by itself.
    """

    def __init__(self):
        self.level_ms = 0
        self.unsteady = 0

    def judge(self, usable, dt_ms):
        """Judge one tick."""
        if usable:
            self.level_ms = self.level_ms - dt_ms if self.level_ms > dt_ms else 0
        else:
            self.level_ms += L.UNSTEADY_WEIGHT * dt_ms
            if self.level_ms > L.UNSTEADY_MS:
                self.level_ms = L.UNSTEADY_MS
        self.unsteady = 1 if self.level_ms >= L.UNSTEADY_MS else 0


class NoRise:
    """Cold oven at full output that does not warm: element open, mains off, probe outside. Also a reversed couple."""

    def __init__(self):
        self.full_ms = 0
        self.window_ms = 0
        self.window_start_mc = 0
        self.window_high_mc = 0
        self.no_rise = 0
        self.reversed = 0

    def judge(self, pv_mc, full, dt_ms, first_mc, high_mc):
        """Judge one tick; `full` = the output in force is at least L.FULL_PM; `first_mc` and `high_mc` = first and
        highest reading of this evening: a couple that was seen to rise is not reversed (a door was opened, or it fell
        out)."""
        if not full:
            self.full_ms = 0
            self.no_rise = 0
            self.reversed = 0
            return
        if self.full_ms == 0:
            self._open_window(pv_mc)
        self.full_ms = aged(self.full_ms, dt_ms)
        self.window_ms += dt_ms
        if pv_mc > self.window_high_mc:
            self.window_high_mc = pv_mc
        if pv_mc < self.window_high_mc - L.NO_RISE_DROP_MK:
            self._open_window(pv_mc)
        if self.window_ms >= L.NO_RISE_MS:
            risen = pv_mc - self.window_start_mc >= L.NO_RISE_MK
            if self.window_start_mc < L.COLD_MC and not risen:
                self.no_rise = 1
            self._open_window(pv_mc)
        never_rose = first_mc < L.REVERSED_START_MC and high_mc < first_mc + L.REVERSED_ROSE_MK
        self.reversed = 1 if never_rose and pv_mc < first_mc - L.REVERSED_MK else 0

    def _open_window(self, pv_mc):
        self.window_ms = 0
        self.window_start_mc = pv_mc
        self.window_high_mc = pv_mc


class Fell:
    """The reading fell far below where it was and stays there with all heat on: the probe lies outside.

    After a rest without any output the elements are cold: the reading of an oven that is heated again goes on falling
    for a while, so the stall counts from later.
    """

    def __init__(self):
        self.first_mc = L.READING_MIN_MC
        self.high_mc = L.READING_MIN_MC
        self.progress_mc = 0
        self.rest_ms = 0  # without output
        self.wake_ms = 0  # full output that is still to pass before a stall counts
        self.stall_ms = 0
        self.fell = 0

    def judge(self, pv_mc, setpoint_mc, session, out_pm, dt_ms):
        """Judge one tick of a session at the output in force; outside a session everything is forgotten."""
        if not session:
            self.first_mc = pv_mc
            self.high_mc = pv_mc
            self.rest_ms = 0
            self.wake_ms = 0
            self.stall_ms = 0
            self.fell = 0
            return
        self._wake(out_pm, dt_ms)
        if pv_mc > self.high_mc:
            self.high_mc = pv_mc
        reference_mc = self.high_mc if self.high_mc < setpoint_mc else setpoint_mc
        if pv_mc >= reference_mc - L.FELL_MK:
            self.stall_ms = 0
            self.progress_mc = pv_mc
            return
        if pv_mc >= self.progress_mc + L.FELL_PROGRESS_MK:
            self.progress_mc = pv_mc
            self.stall_ms = 0
        elif pv_mc < self.progress_mc:
            self.progress_mc = pv_mc
        if out_pm >= L.FULL_PM and self.wake_ms <= 0:
            self.stall_ms = aged(self.stall_ms, dt_ms)
        if self.stall_ms >= L.FELL_MS:
            self.fell = 1

    def _wake(self, out_pm, dt_ms):
        """Count the rest without output, then the full output that is still to pass."""
        if out_pm == 0:
            self.rest_ms = aged(self.rest_ms, dt_ms)
            return
        if self.rest_ms >= L.FELL_REST_MS:
            self.wake_ms = L.FELL_WAKE_MS
        self.rest_ms = 0
        if out_pm >= L.FULL_PM and self.wake_ms > 0:
            self.wake_ms -= dt_ms


class Runaway:
    """More heat than was asked for: a stuck relay, seen by the reading alone.

    `peak_mc` is the recent peak, forgotten more slowly than any oven cools; the reference of 'above setpoint' follows
    it down after the setpoint was lowered, so that an oven which merely cools is not accused.
    """

    def __init__(self):
        self.peak_mc = L.READING_MIN_MC
        self.reference_mc = 0
        self.undriven_ms = 0
        self.span_ms = 0
        self.span_start_mc = 0
        self.calm_ms = 0
        self.over = 0
        self.rising = 0

    def judge(self, pv_mc, setpoint_mc, session, driven, dt_ms):
        """Judge one tick; `driven` = some output was in force or a foreign thermostat has the oven."""
        previous_peak_mc = self._forget(self.peak_mc, dt_ms)
        self._calm(pv_mc, previous_peak_mc, dt_ms)
        self._above_setpoint(pv_mc, setpoint_mc, session, previous_peak_mc, dt_ms)
        self._undriven(pv_mc, previous_peak_mc, driven, dt_ms)
        self.peak_mc = pv_mc if pv_mc > previous_peak_mc else previous_peak_mc

    def _forget(self, value_mc, dt_ms):
        if value_mc <= L.PEAK_FLOOR_MC:
            return value_mc
        # at most 510 K * 1000 ms = 5.1e8, below 2^30
        return value_mc - (value_mc - L.PEAK_FLOOR_MC) * dt_ms // L.PEAK_FORGET_MS

    def _calm(self, pv_mc, peak_mc, dt_ms):
        if pv_mc < peak_mc - L.CALM_MK:
            self.calm_ms = 0
        else:
            self.calm_ms = aged(self.calm_ms, dt_ms)

    def _above_setpoint(self, pv_mc, setpoint_mc, session, peak_mc, dt_ms):
        if not session:
            self.reference_mc = setpoint_mc if setpoint_mc > pv_mc else pv_mc
            self.over = 0
            return
        reference_mc = self._forget(self.reference_mc, dt_ms)
        if peak_mc < reference_mc:
            reference_mc = peak_mc
        self.reference_mc = setpoint_mc if setpoint_mc > reference_mc else reference_mc
        # The lower the setpoint, the more power is to spare and the further a slow oven overshoots.
        over_mk = L.OVER_MK
        if self.reference_mc < L.OVER_FROM_MC:
            over_mk += (L.OVER_FROM_MC - self.reference_mc) // L.OVER_SHARE
            if over_mk > L.OVER_LOW_MK:
                over_mk = L.OVER_LOW_MK
        self.over = 1 if pv_mc > self.reference_mc + over_mk else 0

    def _undriven(self, pv_mc, peak_mc, driven, dt_ms):
        if driven:
            self.undriven_ms = 0
            self.span_ms = 0
            self.rising = 0
            return
        self.undriven_ms = aged(self.undriven_ms, dt_ms)
        # Elements that glowed go on warming a moderate oven for minutes; a stuck relay soon leaves that behind.
        wait_ms = L.UNDRIVEN_MS if pv_mc >= L.UNDRIVEN_SOON_MC else L.UNDRIVEN_COLD_MS
        if pv_mc < L.UNDRIVEN_FROM_MC or self.undriven_ms < wait_ms:
            self.rising = 0
            self.span_ms = 0
            self.span_start_mc = pv_mc
            return
        self.span_ms += dt_ms
        if self.span_ms >= L.UNDRIVEN_SPAN_MS:
            rose = pv_mc - self.span_start_mc >= L.UNDRIVEN_RISE_MK and self.calm_ms >= L.UNDRIVEN_CALM_MS
            self.rising = 1 if rose and pv_mc > peak_mc - L.UNDRIVEN_RISE_MK else 0
            self.span_ms = 0
            self.span_start_mc = pv_mc


class WeakElement:
    """Time from 100 to 200 °C at full output against the learned one; a warning, since mains and load differ."""

    def __init__(self, learned_ms):
        self.learned_ms = learned_ms  # 0 = not learned
        # First divided: 7,200,000 ms x 160 would pass 2^30.
        self.limit_ms = learned_ms // 100 * L.WEAK_RATIO_PCT
        self.rise_ms = 0
        self.timing = 0
        self.weak = 0

    def judge(self, pv_mc, full, dt_ms):
        """Judge one tick."""
        if pv_mc < L.WEAK_FROM_MC:
            self.timing = 1 if full else 0
            self.rise_ms = 0
            return
        if not self.timing:
            return
        if not full:
            self.timing = 0
            return
        self.rise_ms = aged(self.rise_ms, dt_ms)
        if pv_mc >= L.WEAK_TO_MC:
            self.timing = 0
        self.weak = 1 if self.learned_ms > 0 and self.rise_ms > self.limit_ms else 0


class Ripple:
    """Fast swings of a calm reading in step with the relays: the probe sits too near an element. A warning.

    Turning points with a hysteresis are counted over one span; doors and breads are not calm. Only a bare tip shows
    them: a sheath of 1.5 mm and more leaves 0.1-3 K in step with the relays. Single turns do not tell that from the
    air's unrest, ten minutes of them laid over each other do: `tizzone report` has them, in the record of an evening.
    """

    def __init__(self):
        self.span_ms = 0
        self.turns = 0
        self.going_up = 0
        self.extreme_mc = 0
        self.near = 0

    def judge(self, pv_mc, calm, dt_ms):
        """Judge one tick; `calm` = in a session, held near the recent peak."""
        if not calm:
            self.span_ms = 0
            self.turns = 0
            self.extreme_mc = pv_mc
            return
        if self.going_up:
            if pv_mc > self.extreme_mc:
                self.extreme_mc = pv_mc
            elif pv_mc <= self.extreme_mc - L.RIPPLE_MK:
                self._turn(pv_mc)
        elif pv_mc < self.extreme_mc:
            self.extreme_mc = pv_mc
        elif pv_mc >= self.extreme_mc + L.RIPPLE_MK:
            self._turn(pv_mc)
        self.span_ms += dt_ms
        if self.span_ms >= L.RIPPLE_SPAN_MS:
            self.near = 1 if self.turns >= L.RIPPLE_TURNS else 0
            self.span_ms = 0
            self.turns = 0

    def _turn(self, pv_mc):
        self.going_up = 1 - self.going_up
        self.extreme_mc = pv_mc
        self.turns += 1


def apart(dome, stone):
    """Is the stone far above a calm dome? Then the dome probe no longer tells the dome."""
    if stone is None or not stone.usable or dome.pv_mc < L.DISAGREE_FROM_MC:
        return 0
    return 1 if stone.pv_mc > dome.pv_mc + L.DISAGREE_MK else 0
