"""What the device's controller is measured against."""

from simple_pid import PID

from host.learning.loop import Loop


class OnOff:
    """A thermostat: on below setpoint - half the differential, off above setpoint + half of it."""

    def __init__(self, differential_k=12.0):
        self.half_k = differential_k / 2.0
        self.out_pct = 100.0

    def update(self, setpoint_c, pv_c, dt_s):
        """0 or 100 %."""
        if pv_c >= setpoint_c + self.half_k:
            self.out_pct = 0.0
        elif pv_c <= setpoint_c - self.half_k:
            self.out_pct = 100.0
        return self.out_pct


class Library:
    """The PyPI library simple-pid, output limited to 0..100 % (its way against windup), textbook tuning.

    `every_s`: a new output only so often; None every tick, which switches the relay several times a window.
    """

    def __init__(self, kc, ti_s, td_s, every_s=None):
        self.pid = PID(kc, kc / ti_s, kc * td_s, sample_time=None, output_limits=(0, 100), starting_output=0)
        self.every_s = every_s
        self._waited_s = 0.0
        self._out_pct = 0.0

    def update(self, setpoint_c, pv_c, dt_s):
        """Output in %."""
        self.pid.setpoint = setpoint_c
        if self.every_s is None:
            return self.pid(pv_c, dt=dt_s)
        if self._waited_s <= 0.0:
            self._out_pct = self.pid(pv_c, dt=self.every_s)
            self._waited_s = self.every_s
        self._waited_s -= dt_s
        return self._out_pct


class FullPower:
    """The bound of a recovery: as `controller`, but full output from laying a bread until `near_k` below setpoint."""

    def __init__(self, controller, near_k=5.0):
        self.controller = controller
        self.near_k = near_k
        self.bread = False

    def update(self, setpoint_c, pv_c, dt_s):
        """Output in %."""
        out_pct = self.controller.update(setpoint_c, pv_c, dt_s)
        return 100.0 if self.bread else out_pct

    def laid(self):
        """A bread is laid."""
        self.bread = True

    def look(self, sheath_c, setpoint_c, is_out):
        """After a bread was taken out: enough once the sheath is back."""
        if is_out and sheath_c >= setpoint_c - self.near_k:
            self.bread = False


def step_tuned(plant, seed=0, level_c=240.0, every_s=None):
    """simple-pid after a reaction curve by hand: full output from cold to `level_c`, tangent, then the rule of Ziegler
    and Nichols (1942) for an integrating start: kc = 1.2 / (slope x delay), ti = 2 delay, td = delay / 2.

    The slope is the steepest per 30 s; the delay is where that tangent meets the start.
    """
    run = Loop(plant, OnOff(), level_c, seed=seed)
    readings = []
    while run.time_s < 3600.0 and (not readings or readings[-1] < level_c):
        readings.append(run.tick()[2])
    span = 120
    slopes = [readings[i + span] - readings[i] for i in range(len(readings) - span)]
    at = max(range(len(slopes)), key=slopes.__getitem__)
    slope_k_s = slopes[at] / 30.0
    delay_s = (at + span / 2) * 0.25 - (readings[at + span // 2] - readings[0]) / slope_k_s
    delay_s = max(delay_s, 5.0)
    return Library(1.2 / (slope_k_s / 100.0 * delay_s), 2.0 * delay_s, 0.5 * delay_s, every_s)
