"""From a Reading to what may be used: plausible, median of 3, calibrated, integer.

Integers in 0.001 °C and ms, no allocation after construction, every intermediate below 2**30.

Relay noise: the loop reads a probe before it moves a pin, so that the newest switching lies a whole tick
back and a conversion of 100 ms has begun in the quiet after it; one spoiled reading in three is
out-voted by the median, a large one is refused as a jump, and the high limit sees both all the same.
"""

from array import array

from micropython import const

from tizzone.probes.reading import JUMP, NO_VALUE_MC, NONE_YET, SILENT

# A jump is a change that no oven makes. A door opened on simulated ovens costs up to 280 K in 10
# s, 7 K a tick; a thin probe pulled out into the room perhaps 25 K a tick; a tip near an element
# rises below 5 K a tick (estimates, no source).
_RISE_MC_PER_TICK = const(25000)  # 25 K per 250 ms
_FALL_MC_PER_TICK = const(40000)  # 40 K per 250 ms
_JUNCTION_MC_PER_TICK = const(4000)  # the electronics' own temperature: 4 K per 250 ms, up or down
_TICK_MS = const(250)
_ELAPSED_MAX_MS = const(500)  # a longer silence does not excuse a larger change: agreement must
_CONSISTENT_READINGS = const(8)  # a new level is believed after so many rejected readings that agree
_STALE_MS = const(600)  # a probe that gives no new answer for two ticks has failed
_SATURATED_MS = const(100000000)  # age counters stop here (27 h), below 2**30

_CALIBRATION_POINTS = const(7)
_CORRECTION_MAX_MC = const(15000)  # more than 15 K is a wrong probe type or a mistake, not a correction
_CALIBRATION_LOW_MC = const(-50000)
_CALIBRATION_HIGH_MC = const(1000000)


def calibration_fault(points):
    """None when `points` [[reading_mc, correction_mc], ...] serve, else why not (one line).

    Rules: at most 7 points, readings rising, corrections within +-15 K, and the corrected reading
    rises from point to point (a curve that folds back would give one value for two temperatures).
    """
    if not isinstance(points, (list, tuple)) or len(points) > _CALIBRATION_POINTS:
        return "calibration: a list of at most %d points is needed" % _CALIBRATION_POINTS
    last = None
    for point in points:
        if not isinstance(point, (list, tuple)) or len(point) != 2:
            return "calibration: a point is [reading_mc, correction_mc]"
        reading, correction = point
        if type(reading) is not int or type(correction) is not int:
            return "calibration: whole numbers of 0.001 C are needed"
        if not _CALIBRATION_LOW_MC <= reading <= _CALIBRATION_HIGH_MC:
            return "calibration: a point lies outside -50..1000 C"
        if not -_CORRECTION_MAX_MC <= correction <= _CORRECTION_MAX_MC:
            return "calibration: a correction of more than 15 K is refused"
        if last is not None and (reading <= last[0] or reading + correction <= last[0] + last[1]):
            return "calibration: points must rise, before and after correction"
        last = point
    return None


def _add_ms(age_ms, dt_ms):
    age_ms += dt_ms
    return age_ms if age_ms < _SATURATED_MS else _SATURATED_MS


def _exceeds(change_mc, rise_mc_per_tick, fall_mc_per_tick, elapsed_ms):
    """True when a change is faster than allowed; time counts from _TICK_MS to _ELAPSED_MAX_MS."""
    if elapsed_ms < _TICK_MS:
        elapsed_ms = _TICK_MS
    elif elapsed_ms > _ELAPSED_MAX_MS:
        elapsed_ms = _ELAPSED_MAX_MS
    if change_mc >= 0:
        return change_mc > rise_mc_per_tick * elapsed_ms // _TICK_MS
    return -change_mc > fall_mc_per_tick * elapsed_ms // _TICK_MS


class Conditioner:
    """Judges and smooths one probe. After each `update`:

    usable: this tick's reading is plausible; fault: its code (probes.FAULT_NAMES) when not;
    bad_ms: for how long it has not been usable; pv_mc: calibrated median of the last 3 plausible
    readings (held when not usable, NO_VALUE_MC before the first); limit_mc: highest of linearised
    and calibrated, unfiltered, of the newest reading without a fault bit, plausible or not;
    same_ms: age of the raw code.
    """

    def __init__(self, calibration=None):
        self.usable = False
        self.fault = NONE_YET
        self.bad_ms = 0
        self.pv_mc = NO_VALUE_MC
        self.limit_mc = NO_VALUE_MC
        self.same_ms = 0
        self.calibration_fault = None
        self._points = array("i", [0] * (2 * _CALIBRATION_POINTS))
        self._count = 0
        self._ring = array("i", [NO_VALUE_MC] * 3)
        self._serial = 0
        self._age_ms = 0  # since the last new answer
        self._code_hi = -1
        self._code_lo = -1
        self._ref_mc = NO_VALUE_MC  # last accepted reading
        self._ref_junction_mc = NO_VALUE_MC
        self._ref_ms = 0  # its age
        self._new_mc = NO_VALUE_MC  # last rejected reading
        self._new_junction_mc = NO_VALUE_MC
        self._new_count = 0
        if calibration is not None:
            self.set_calibration(calibration)

    def set_calibration(self, points):
        """Take a curve [[reading_mc, correction_mc], ...]; returns None, or why it was refused.

        A refused curve leaves no correction at all and stays readable in `calibration_fault`. Not
        per tick.
        """
        self.calibration_fault = calibration_fault(points)
        self._count = 0
        if self.calibration_fault is None:
            for i in range(len(points)):
                self._points[2 * i] = points[i][0]
                self._points[2 * i + 1] = points[i][1]
            self._count = len(points)
        return self.calibration_fault

    def calibrated_mc(self, reading_mc):
        """Reading plus its correction: piecewise linear, held beyond the end points."""
        n = self._count
        if n == 0:
            return reading_mc
        p = self._points
        if reading_mc <= p[0]:
            return reading_mc + p[1]
        i = 2
        while i < 2 * n:
            if reading_mc <= p[i]:
                # In steps of 0.032 K: 30 K x 1050 K / 0.032 K is just below 2**30.
                span = p[i] - p[i - 2] + 31 >> 5
                part = (p[i + 1] - p[i - 1]) * (reading_mc - p[i - 2] >> 5) // span
                return reading_mc + p[i - 1] + part
            i += 2
        return reading_mc + p[2 * n - 1]

    def update(self, reading, dt_ms):
        """Judge the newest Reading; dt_ms is the time since the last call."""
        if dt_ms < 0 or dt_ms > 60000:
            dt_ms = 60000
        self._ref_ms = _add_ms(self._ref_ms, dt_ms)
        fault = self._judge(reading, dt_ms)
        self.fault = fault
        self.usable = fault == 0
        self.bad_ms = 0 if fault == 0 else _add_ms(self.bad_ms, dt_ms)

    def _judge(self, reading, dt_ms):
        """Fault code of this tick; a plausible new reading is taken in."""
        if reading.serial == self._serial:
            self.same_ms = _add_ms(self.same_ms, dt_ms)
            self._age_ms = _add_ms(self._age_ms, dt_ms)
            if self._ref_mc == NO_VALUE_MC and self.fault == NONE_YET:
                return NONE_YET
            return SILENT if self._age_ms >= _STALE_MS else self.fault
        self._serial = reading.serial
        self._age_ms = 0
        if reading.code_hi == self._code_hi and reading.code_lo == self._code_lo:
            self.same_ms = _add_ms(self.same_ms, dt_ms)
        else:
            self.same_ms = 0
            self._code_hi = reading.code_hi
            self._code_lo = reading.code_lo
        if reading.fault:
            self._new_count = 0
            return reading.fault
        value_mc = reading.value_mc
        corrected_mc = self.calibrated_mc(value_mc)
        # A correction can raise what the high limit sees, never lower it.
        self.limit_mc = corrected_mc if corrected_mc > value_mc else value_mc
        if self._ref_mc != NO_VALUE_MC and self._is_jump(reading):
            return JUMP
        self._accept(reading, corrected_mc)
        return 0

    def _is_jump(self, reading):
        """True while a reading is too far from the last accepted and not yet confirmed."""
        value_mc = reading.value_mc
        junction_mc = reading.junction_mc
        if not _far(value_mc, junction_mc, self._ref_mc, self._ref_junction_mc, self._ref_ms):
            self._new_count = 0
            return False
        if self._new_count and _far(value_mc, junction_mc, self._new_mc, self._new_junction_mc, _TICK_MS):
            self._new_count = 0
        self._new_mc = value_mc
        self._new_junction_mc = junction_mc
        if self._new_count >= _CONSISTENT_READINGS:
            # The level is real (a probe put back, an oven found hot). Whoever had to trip has had
            # the time.
            self._new_count = 0
            return False
        self._new_count += 1
        return True

    def _accept(self, reading, corrected_mc):
        """Make this reading the reference and put it into the median."""
        ring = self._ring
        if self._ref_mc == NO_VALUE_MC or self._ref_ms > _ELAPSED_MAX_MS:
            # Readings from before a long gap have no vote.
            ring[0] = corrected_mc
            ring[1] = corrected_mc
        ring[2] = corrected_mc
        self._ref_mc = reading.value_mc
        self._ref_junction_mc = reading.junction_mc
        self._ref_ms = 0
        self.pv_mc = _median(ring[0], ring[1], ring[2])
        ring[0] = ring[1]
        ring[1] = ring[2]


def _far(value_mc, junction_mc, ref_mc, ref_junction_mc, elapsed_ms):
    """True when a value, or the chip's own temperature, moved faster than it can."""
    if _exceeds(value_mc - ref_mc, _RISE_MC_PER_TICK, _FALL_MC_PER_TICK, elapsed_ms):
        return True
    if junction_mc == NO_VALUE_MC or ref_junction_mc == NO_VALUE_MC:
        return False
    return _exceeds(junction_mc - ref_junction_mc, _JUNCTION_MC_PER_TICK, _JUNCTION_MC_PER_TICK, elapsed_ms)


def _median(a, b, c):
    if a > b:
        a, b = b, a
    if b > c:
        b = c
    return a if a > b else b
