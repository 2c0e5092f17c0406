"""A setpoint that rises at a leg's rate, from the first reading on, and waits for an oven that lags. Integers only."""

from micropython import const

from tizzone.safety import limits as L

_LAG_MK = const(8_000)  # it waits for an oven that is this far behind; nearer than where full output begins again


class Ramp:
    """`k_h`: kelvin an hour, 0 = none; `on`: the setpoint moves."""

    def __init__(self):
        self.k_h = 0
        self.on = 0
        self._rest = -1  # of a division, in 1/3600 mK; -1: not begun

    def begin(self):
        """A leg with this rate begins."""
        self.on = 1 if self.k_h else 0
        self._rest = -1

    def moved_mc(self, setpoint_mc, target_mc, pv_mc, dt_ms):
        """The setpoint after one tick; `on` falls to 0 when it is at its target."""
        if self._rest < 0:
            self._rest = 0
            setpoint_mc = min(max(pv_mc, L.SETPOINT_MIN_MC), target_mc)
        if pv_mc >= setpoint_mc - _LAG_MK:
            # at most 500 ms x 2000 K/h: far below 2^30; 1 K/h is 1/3600 mK a ms
            self._rest += min(dt_ms, L.LATE_MS) * self.k_h
            setpoint_mc = min(setpoint_mc + self._rest // 3600, target_mc)
            self._rest %= 3600
        if setpoint_mc >= target_mc:
            self.on = 0
        return setpoint_mc
