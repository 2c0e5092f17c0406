"""The only module that may permit heat. Read this first.

Once a tick `judge()` looks at everything known, decides for each condition of limits.py whether it is
present, debounces
it, latches the trips, and issues one Permit. Heat needs every permissive in one expression; whatever is
unknown, missing or
late means no. Nothing here starts heat: a person's acknowledge only clears a latch.

Integers only, nothing allocated, no `machine`: proven under a locked heap.
"""

from array import array

from tizzone import limits as L
from tizzone.people import Attendance, bounded
from tizzone.probes import JUMP, NONE, OPEN, RANGE, SHORT_GROUND, SHORT_SUPPLY
from tizzone.rules import Fell, NoRise, Runaway, WeakElement, aged

# Alarm states as ISA-18.2 names them; the last two are its latched pair.
NORMAL, UNACKNOWLEDGED, ACKNOWLEDGED, RETURNED, LATCHED_UNACKNOWLEDGED, LATCHED_ACKNOWLEDGED = range(6)
ALARM_STATES = (
    "normal", "unacknowledged", "acknowledged", "returned", "latched-unacknowledged", "latched-acknowledged",
)  # fmt: skip
# Answers to a person's acknowledge.
ACCEPTED, NOTHING, CAUSE_PRESENT, TOO_HOT, LOCKED_OUT = range(5)
ANSWERS = ("accepted", "nothing-to-acknowledge", "cause-still-present", "too-hot", "locked-out")
# What a raw flag says: absent, present, or nothing to be learned this tick (the age stays as it is).
ABSENT, PRESENT, UNSEEN = range(3)
UNTESTED, PASSED, FAILED = range(3)


class Permit:
    """What the heater may do until the next one: `serial` changes with each judgement, so that an old one
    is seen to be old."""

    def __init__(self):
        self.granted = 0  # heat pins may be on
        self.contactor = 0  # the contactor may be closed
        self.serial = 0


class Supervisor:
    """Judge of one board. All temperatures in milli-degrees Celsius."""

    def __init__(self, high_limit_mc, release_mc, restart_mc=L.RESTART_MC, attend_mc=L.ATTEND_MC,
                 attend_min=L.ATTEND_MIN, session_min=L.SESSION_MAX_MIN, learned_rise_ms=0):  # fmt: skip
        self.permit = Permit()
        self.attendance = Attendance(attend_mc, attend_min, session_min)
        self.no_rise = NoRise()
        self.fell = Fell()
        self.runaway = Runaway()
        self.weak = WeakElement(learned_rise_ms)
        self.armed = 0  # set once, after the self-test, when the watchdog runs
        self.self_test = UNTESTED
        self.release_reduced = 0  # commissioning fell back
        self.restart_mc = bounded(restart_mc, L.SETPOINT_MIN_MC, L.RESTART_MAX_MC)
        self.flags = bytearray(L.COUNT)
        self.present = bytearray(L.COUNT)  # debounced
        self.states = bytearray(L.COUNT)
        self.kinds = bytearray([row[1] for row in L.CONDITIONS])
        self._debounce_ms = array("i", [row[2] for row in L.CONDITIONS])
        self._ages_ms = array("i", [0] * L.COUNT)
        self.first_out = L.NONE  # the trip that came first; NONE = nothing is latched
        self.trips_in_a_row = 0
        self.locked_out = 0
        self.latch_changed = 0  # app.py stores the latch once the pins are off
        self.holding = 0  # some HOLD is present
        self.stopping = 0  # some STOP is present
        self._serial_seen = -1
        self._stale_ms = L.STALE_MS  # no reading yet = stale
        self._since_session_ms = L.CAP_MS
        self.release_mc = 0
        self._limit_mc = self._limit_inverted = 0
        self.set_limits(high_limit_mc, release_mc)

    def set_limits(self, high_limit_mc, release_mc):
        """High limit = the asked one, at most release + 40 K and the compiled maximum; kept twice, once
        inverted."""
        self.release_mc = bounded(release_mc, L.SETPOINT_MIN_MC, L.HIGH_LIMIT_MAX_MC - L.SETPOINT_MARGIN_MK)
        limit_mc = bounded(high_limit_mc, L.HIGH_LIMIT_MIN_MC, L.HIGH_LIMIT_MAX_MC)
        self._limit_mc = min(limit_mc, self.release_mc + L.RELEASE_MARGIN_MK)
        self._limit_inverted = ~self._limit_mc

    @property
    def limit_mc(self):
        """The high limit in force."""
        return self._limit_mc

    @property
    def ceiling_mc(self):
        """Highest setpoint in force: release, and at least 20 K below the high limit."""
        return min(self.release_mc, self._limit_mc - L.SETPOINT_MARGIN_MK)

    # --- once a tick -----------------------------------------------------------------------------

    def judge(self, seen, dt_ms):
        """Judge one tick of `dt_ms` and return the Permit."""
        late = dt_ms > L.LATE_MS or dt_ms <= 0  # a clock that stands still is as bad as one that jumps
        if late:
            dt_ms = L.LATE_MS
        self._look_at_reading(seen, dt_ms)
        self._look_at_oven(seen, dt_ms)
        self._look_at_wiring(seen, dt_ms)
        memory_ok = self._limit_mc == ~self._limit_inverted and seen.setpoint_mc == ~seen.setpoint_inverted
        flags = self.flags
        flags[L.MEMORY_FAULT] = ABSENT if memory_ok else PRESENT
        flags[L.TICK_LATE] = PRESENT if late else ABSENT
        gap_ms = seen.clock_error_ms
        flags[L.CLOCK_WRONG] = PRESENT if gap_ms > L.CLOCK_ERROR_MS or gap_ms < -L.CLOCK_ERROR_MS else ABSENT
        flags[L.SELF_TEST] = PRESENT if self.self_test == FAILED else ABSENT
        flags[L.NOT_COMMISSIONED] = PRESENT if self.release_reduced else ABSENT
        self._debounce(dt_ms)
        # An enabled contactor is not heat: it may stay closed through a door opening or one bad reading.
        self.permit.contactor = 1 if (
            self.armed
            and self.self_test == PASSED
            and self.first_out == L.NONE
            and not self.holding
            and not self.stopping
            and seen.active
            and seen.enable
            and seen.limit_ok
            and seen.selector_ours
        ) else 0  # fmt: skip
        # Every permissive, in one expression.
        self.permit.granted = 1 if (
            self.permit.contactor
            and not late
            and memory_ok
            and self._stale_ms <= L.STALE_OK_MS
            and seen.dome.usable
            and seen.dome.pv_mc > L.READING_MIN_MC
            and seen.dome.limit_mc < self._limit_mc
            and seen.setpoint_mc <= self.ceiling_mc
            and seen.fan_ok
            and seen.door_shut
            and seen.readback_ok
            and not seen.deadman_fired
        ) else 0  # fmt: skip
        self.permit.serial = (self.permit.serial + 1) & 0xFFFF
        return self.permit

    def _look_at_reading(self, seen, dt_ms):
        dome = seen.dome
        flags = self.flags
        if seen.dome_serial == self._serial_seen:
            self._stale_ms = aged(self._stale_ms, dt_ms)
        else:
            self._stale_ms = 0
            self._serial_seen = seen.dome_serial
        fault = dome.fault
        broken = fault == OPEN or fault == SHORT_GROUND or fault == SHORT_SUPPLY
        wrong = fault == RANGE or fault == JUMP
        silent = fault != NONE and not broken and not wrong  # whatever else: no usable answer
        flags[L.PROBE_OPEN] = PRESENT if fault == OPEN else ABSENT
        flags[L.PROBE_SHORT_GROUND] = PRESENT if fault == SHORT_GROUND else ABSENT
        flags[L.PROBE_SHORT_SUPPLY] = PRESENT if fault == SHORT_SUPPLY else ABSENT
        flags[L.PROBE_SILENT] = PRESENT if silent else ABSENT
        out_of_range = dome.usable and dome.pv_mc <= L.READING_MIN_MC
        flags[L.READING_WRONG] = PRESENT if wrong or out_of_range else ABSENT
        flags[L.READING_STALE] = PRESENT if self._stale_ms > 0 else ABSENT
        frozen = seen.session and seen.out_pm > 0 and dome.same_ms >= L.FROZEN_MS
        flags[L.READING_FROZEN] = PRESENT if frozen else ABSENT
        flags[L.HIGH_LIMIT] = PRESENT if dome.limit_mc >= self._limit_mc else ABSENT
        box_mc = seen.box_mc
        flags[L.BOX_HOT] = PRESENT if box_mc >= L.BOX_TRIP_MC or box_mc <= L.BOX_MIN_MC else ABSENT
        flags[L.BOX_WARM] = PRESENT if box_mc >= L.BOX_WARN_MC else ABSENT
        stone = seen.stone
        if stone is not None:
            flags[L.STONE_PROBE] = ABSENT if stone.usable else PRESENT
            flags[L.STONE_LIMIT] = PRESENT if stone.limit_mc >= self._limit_mc + L.STONE_MARGIN_MK else ABSENT

    def _look_at_oven(self, seen, dt_ms):
        flags = self.flags
        if not seen.dome.usable:  # a reading that is not believed teaches nothing; its own conditions speak
            flags[L.NO_RISE] = flags[L.PROBE_REVERSED] = flags[L.PROBE_FELL] = UNSEEN
            flags[L.OVER_SETPOINT] = flags[L.UNDRIVEN_RISE] = flags[L.PROBES_DISAGREE] = UNSEEN
            return
        pv_mc = seen.dome.pv_mc
        setpoint_mc = seen.setpoint_mc
        session = seen.session
        full = 1 if seen.out_pm >= L.FULL_PM else 0
        self._since_session_ms = 0 if session else aged(self._since_session_ms, dt_ms)
        self.no_rise.look(pv_mc, full, dt_ms)
        flags[L.NO_RISE] = self.no_rise.no_rise
        flags[L.PROBE_REVERSED] = self.no_rise.reversed
        self.fell.look(pv_mc, setpoint_mc, session, full, dt_ms)
        flags[L.PROBE_FELL] = self.fell.fell
        # Long after an evening the oven's own thermostat may heat it: then a rise accuses nobody.
        foreign = not seen.selector_ours or self._since_session_ms >= L.AFTER_SESSION_MS
        driven = 1 if seen.top_on or seen.deck_on or foreign else 0
        self.runaway.look(pv_mc, setpoint_mc, session, driven, dt_ms)
        flags[L.OVER_SETPOINT] = self.runaway.over
        rising = self.runaway.rising
        flags[L.UNDRIVEN_RISE] = rising
        cut_off = seen.contactor_on == 0 and self.first_out != L.NONE
        cut_off = cut_off and self.runaway.undriven_ms >= L.ESCALATE_MS
        flags[L.HEAT_UNCONTROLLED] = PRESENT if rising and cut_off else ABSENT
        self.weak.look(pv_mc, full, dt_ms)
        flags[L.ELEMENT_WEAK] = self.weak.weak
        apart = ABSENT
        if seen.stone is not None and session and pv_mc >= L.DISAGREE_FROM_MC:
            if seen.stone.usable and self.runaway.calm_ms >= L.CALM_MS:
                apart = PRESENT if seen.stone.pv_mc > pv_mc + L.DISAGREE_MK else ABSENT
        flags[L.PROBES_DISAGREE] = apart
        self.attendance.look(pv_mc, setpoint_mc, session, dt_ms)
        flags[L.ATTENDANCE] = self.attendance.missed
        flags[L.ATTEND_SOON] = self.attendance.soon
        flags[L.SESSION_LONG] = self.attendance.too_long

    def _look_at_wiring(self, seen, dt_ms):
        flags = self.flags
        flags[L.LIMITER_OPEN] = ABSENT if seen.limit_ok else PRESENT
        flags[L.ENABLE_OPEN] = PRESENT if seen.session and not seen.enable else ABSENT
        flags[L.SELECTOR_ORIGINAL] = PRESENT if seen.session and not seen.selector_ours else ABSENT
        flags[L.FAN_STOPPED] = PRESENT if seen.fan_on and not seen.fan_ok else ABSENT
        flags[L.DEADMAN] = PRESENT if seen.deadman_fired else ABSENT
        flags[L.PIN_READBACK] = ABSENT if seen.readback_ok else PRESENT
        current = seen.top_sense > 0 or seen.deck_sense > 0
        flags[L.START_TEST] = PRESENT if seen.proving and current else ABSENT
        held_closed = not seen.contactor_on and (seen.mirror_open == 0 or current)
        flags[L.CONTACTOR_WELDED] = PRESENT if held_closed else ABSENT
        flags[L.CONTACTOR_OPEN] = PRESENT if seen.contactor_on and seen.mirror_open == 1 else ABSENT
        self._look_at_current(seen)

    def _look_at_current(self, seen):
        """Welded, open or half-wave relay; only a closed contactor tells, and only in the phase that shows
        the fault."""
        welded = missing = half = UNSEEN
        if seen.contactor_on:
            off_full = (seen.top_sense == 2 and not seen.top_on) or (seen.deck_sense == 2 and not seen.deck_on)
            any_off = (seen.top_sense >= 0 and not seen.top_on) or (seen.deck_sense >= 0 and not seen.deck_on)
            any_on = (seen.top_sense >= 0 and seen.top_on) or (seen.deck_sense >= 0 and seen.deck_on)
            on_none = (seen.top_sense == 0 and seen.top_on) or (seen.deck_sense == 0 and seen.deck_on)
            if any_off:
                welded = PRESENT if off_full else ABSENT
            if any_on:
                missing = PRESENT if on_none else ABSENT
            half = PRESENT if seen.top_sense == 1 or seen.deck_sense == 1 else ABSENT
        self.flags[L.RELAY_WELDED] = welded
        self.flags[L.NO_CURRENT] = missing
        self.flags[L.HALF_WAVE] = half

    def _debounce(self, dt_ms):
        flags = self.flags
        ages = self._ages_ms
        self.holding = 0
        self.stopping = 0
        for i in range(1, L.COUNT):
            flag = flags[i]
            if flag == PRESENT:
                ages[i] = aged(ages[i], dt_ms)
                if ages[i] >= self._debounce_ms[i]:
                    self._appear(i)
            elif flag == ABSENT:
                ages[i] = 0
                if self.present[i]:
                    self._return(i)
            if self.present[i]:
                kind = self.kinds[i]
                if kind == L.HOLD:
                    self.holding = 1
                elif kind == L.STOP:
                    self.stopping = 1

    def _appear(self, i):
        if self.present[i]:
            return
        self.present[i] = 1
        self.states[i] = UNACKNOWLEDGED
        if self.kinds[i] != L.TRIP:
            return
        self.latch_changed = 1
        if self.first_out == L.NONE:
            self.first_out = i
            self.trips_in_a_row = bounded(self.trips_in_a_row + 1, 1, L.LOCKOUT_TRIPS)
            if self.trips_in_a_row >= L.LOCKOUT_TRIPS:
                self.locked_out = 1

    def _return(self, i):
        self.present[i] = 0
        seen_by_person = self.states[i] == ACKNOWLEDGED
        if self.kinds[i] == L.TRIP:
            self.states[i] = LATCHED_ACKNOWLEDGED if seen_by_person else LATCHED_UNACKNOWLEDGED
        else:
            self.states[i] = NORMAL if seen_by_person else RETURNED

    # --- people and start-up (never in the tick) -----------------------------------------------------

    def raise_event(self, i):
        """Latch condition `i` at once: something that has happened, not something that lasts (a reset, a
        damaged file)."""
        self._appear(i)
        self._return(i)

    def acknowledge(self, seen):
        """A person has seen the alarms. Clears the latch only if every cause is gone and the oven is cool
        enough; never
        restarts heat. Returns ACCEPTED, NOTHING, CAUSE_PRESENT, TOO_HOT or LOCKED_OUT."""
        anything = False
        cause = False
        for i in range(1, L.COUNT):
            if self.states[i] != NORMAL:
                anything = True
            if self.states[i] == UNACKNOWLEDGED:
                self.states[i] = ACKNOWLEDGED
            elif self.states[i] == RETURNED:
                self.states[i] = NORMAL
            if self.present[i] and self.kinds[i] == L.TRIP:
                cause = True
        if self.first_out == L.NONE:
            return ACCEPTED if anything else NOTHING
        if cause or not seen.dome.usable or self._stale_ms > L.STALE_OK_MS:
            return CAUSE_PRESENT
        if seen.dome.pv_mc >= self.restart_mc:
            return TOO_HOT
        if self.locked_out:
            return LOCKED_OUT
        self._clear()
        return ACCEPTED

    def _clear(self):
        for i in range(1, L.COUNT):
            if self.kinds[i] == L.TRIP and not self.present[i]:
                self.states[i] = NORMAL
        self.first_out = L.NONE
        self.latch_changed = 1
        self.no_rise = NoRise()
        self.fell = Fell()

    def unlock(self, seen):
        """Lift a lockout: only on a cold oven whose reading is believed. Returns 1 if it was lifted."""
        if seen.dome.usable and seen.dome.pv_mc < L.UNLOCK_MC and self.locked_out:
            self.locked_out = 0
            self.trips_in_a_row = 0
            self.latch_changed = 1
            return 1
        return 0

    def evening_done(self):
        """A finished evening: the count of trips in a row starts anew."""
        if self.first_out == L.NONE and self.trips_in_a_row:
            self.trips_in_a_row = 0
            self.latch_changed = 1

    def latch(self):
        """What has to outlive a power cut, as a dict for the store."""
        tripped = [L.CONDITION_NAMES[i] for i in range(1, L.COUNT) if self._is_latched(i)]
        return {
            "first_out": L.CONDITION_NAMES[self.first_out],
            "tripped": tripped,
            "in_a_row": self.trips_in_a_row,
            "locked_out": self.locked_out,
        }

    def _is_latched(self, i):
        return self.kinds[i] == L.TRIP and self.states[i] != NORMAL

    def restore(self, latch):
        """Take over a stored latch; anything in it that is not understood counts as a trip (LATCH_DOUBT)."""
        first = latch.get("first_out")
        names = latch.get("tripped")
        count = latch.get("in_a_row")
        locked = latch.get("locked_out")
        known = isinstance(first, str) and isinstance(names, list) and first in L.CONDITION_NAMES
        if not known or not isinstance(count, int) or locked not in (0, 1):
            self.raise_event(L.LATCH_DOUBT)
            return
        self.trips_in_a_row = bounded(count, 0, L.LOCKOUT_TRIPS)
        self.locked_out = locked
        if first == L.CONDITION_NAMES[L.NONE]:
            return
        self.first_out = L.CONDITION_NAMES.index(first)
        for name in names:
            if name in L.CONDITION_NAMES:
                self.states[L.CONDITION_NAMES.index(name)] = LATCHED_UNACKNOWLEDGED
