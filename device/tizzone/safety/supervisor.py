"""The only module that may permit heat. Read this first.

Once a tick `judge()` takes everything known, decides for each condition of limits.py whether it is present and
issues one Permit; alarms.py debounces, latches and remembers. Heat needs every permissive in one expression; whatever
is unknown, missing or late means no. Nothing here starts heat: a person's acknowledge only clears a latch.

Integers only, nothing allocated in `judge()`, no `machine`: proven under a locked heap.
"""

from tizzone.integers import CAP_MS, aged, bounded
from tizzone.probes.reading import JUMP, NONE, OPEN, RANGE, SHORT_GROUND, SHORT_SUPPLY
from tizzone.safety import limits as L

# commands.py and panels take the answers from here
from tizzone.safety.alarms import (  # noqa: F401
    ABSENT,
    ACCEPTED,
    CAUSE_PRESENT,
    LOCKED_OUT,
    NOTHING,
    PRESENT,
    TOO_HOT,
    UNSEEN,
    Alarms,
)  # fmt: skip
from tizzone.safety.attendance import Attendance
from tizzone.safety.oven_rules import Fell, NoRise, Ripple, Runaway, Unsteady, WeakElement, apart
from tizzone.safety.own_writes import OwnWrites
from tizzone.safety.permit import Permit
from tizzone.safety.slipped import Slipped
from tizzone.safety.warmth import Warmth
from tizzone.safety.wiring_rules import WiringRules

UNTESTED, PASSED, FAILED = range(3)


class Supervisor(Alarms):
    """Judge of one board. All temperatures in milli-degrees Celsius."""

    def __init__(self, high_limit_mc, release_mc, restart_mc=L.RESTART_MC, attend_mc=L.ATTEND_MC,
                 attend_min=L.ATTEND_MIN, session_min=L.SESSION_MAX_MIN, learned_rise_ms=0,
                 release_reduced=0, hold_pm=450):  # fmt: skip
        super().__init__()
        self.permit = Permit()
        self.attendance = Attendance(attend_mc=attend_mc, attend_min=attend_min, session_min=session_min)
        self.wiring_rules = WiringRules()
        self.no_rise = NoRise()
        self.fell = Fell()
        self.unsteady = Unsteady()
        self.runaway = Runaway()
        self.weak = WeakElement(learned_rise_ms)
        self.ripple = Ripple()
        self.own_writes = OwnWrites()
        self.slipped = Slipped(hold_pm)
        self.warmth = Warmth()
        self.armed = 0  # set once, after the self-test, when the watchdog runs
        self.self_test = UNTESTED
        self.release_reduced = release_reduced  # commissioning fell back
        self.restart_mc = bounded(restart_mc, L.SETPOINT_MIN_MC, L.RESTART_MAX_MC)
        self._serial_seen = -1
        self._stale_ms = L.STALE_MS  # no reading yet = stale
        self._since_session_ms = CAP_MS
        self._high_limit_mc = high_limit_mc  # the setting
        self.release_mc = bounded(release_mc, L.SETPOINT_MIN_MC, L.HIGH_LIMIT_MAX_MC - L.SETPOINT_MARGIN_MK)
        self._put_limit(high_limit_mc)

    def _put_limit(self, asked_mc):
        """High limit = the asked one, at most release + 40 K and the compiled maximum. Limit and highest setpoint
        are kept twice, once inverted."""
        limit_mc = bounded(asked_mc, L.HIGH_LIMIT_MIN_MC, L.HIGH_LIMIT_MAX_MC)
        self._limit_mc = min(limit_mc, self.release_mc + L.RELEASE_MARGIN_MK)
        self._limit_inverted = ~self._limit_mc
        self._ceiling_mc = min(self.release_mc, self._limit_mc - L.SETPOINT_MARGIN_MK)
        self._ceiling_inverted = ~self._ceiling_mc

    @property
    def limit_mc(self):
        """The high limit in force."""
        return self._limit_mc

    @property
    def ceiling_mc(self):
        """Highest setpoint in force: release, and at least 20 K below the high limit."""
        return self._ceiling_mc

    # --- once a tick -----------------------------------------------------------------------------

    def judge(self, seen, dt_ms):
        """Judge one tick of `dt_ms` and return the Permit."""
        late = dt_ms > L.LATE_MS or dt_ms <= 0  # a clock that stands still is as bad as one that jumps
        stalled = late and self.own_writes.excuse(seen, dt_ms)
        if late:
            dt_ms = L.LATE_MS
        memory_ok = (
            self._limit_mc == ~self._limit_inverted
            and self._ceiling_mc == ~self._ceiling_inverted
            and seen.setpoint_mc == ~seen.setpoint_inverted
        )
        self._judge_board(seen, late and not stalled, memory_ok)
        self._judge_reading(seen, dt_ms)
        self._judge_oven(seen, dt_ms)
        self.wiring_rules.judge(self.flags, seen, dt_ms)
        self._judge_attendance(seen, dt_ms)
        self.settle(dt_ms)
        self.warmth.judge(seen, self, self._stale_ms <= L.STALE_OK_MS, dt_ms)
        self._decide(seen, late, memory_ok)
        return self.permit

    def _decide(self, seen, late, memory_ok):
        """The permit of this tick. Every permissive, in one expression each."""
        permit = self.permit
        permit.tripped = 1 if self.first_out != L.NONE else 0
        # An enabled contactor is not heat: it may stay closed through a door opening or one bad reading.
        permit.contactor = 1 if (
            self.armed
            and self.self_test == PASSED
            and self.first_out == L.NONE
            and not self.locked_out
            and not self.holding
            and not self.stopping
            and seen.active
            and seen.enable
            and seen.limit_ok
            and seen.selector_ours
        ) else 0  # fmt: skip
        permit.granted = 1 if (
            permit.contactor
            and not late
            and memory_ok
            and self._stale_ms <= L.STALE_OK_MS
            and seen.dome.usable
            and seen.dome.pv_mc > L.READING_MIN_MC
            and seen.dome.limit_mc < self._limit_mc
            and (seen.stone is None or seen.stone.usable)
            and seen.setpoint_mc <= self._ceiling_mc
            and seen.fan_ok
            and seen.door_shut
            and seen.readback_ok
            and not seen.deadman_fired
        ) else 0  # fmt: skip
        permit.serial = (permit.serial + 1) & 0xFFFF

    def _judge_board(self, seen, late, memory_ok):
        flags = self.flags
        flags[L.MEMORY_FAULT] = ABSENT if memory_ok else PRESENT
        # Outside an evening a flash write may stall a tick: no heat in that tick, and nothing to accuse.
        flags[L.TICK_LATE] = PRESENT if late and (seen.session or seen.contactor_on) else ABSENT
        gap_ms = seen.clock_error_ms
        flags[L.CLOCK_WRONG] = PRESENT if gap_ms > L.CLOCK_ERROR_MS or gap_ms < -L.CLOCK_ERROR_MS else ABSENT
        flags[L.SELF_TEST] = PRESENT if self.self_test == FAILED else ABSENT
        flags[L.NOT_COMMISSIONED] = PRESENT if self.release_reduced else ABSENT
        flags[L.REPEATED_TRIPS] = PRESENT if self.locked_out else ABSENT
        box_mc = seen.box_mc
        flags[L.BOX_HOT] = PRESENT if box_mc >= L.BOX_TRIP_MC or box_mc <= L.BOX_MIN_MC else ABSENT
        flags[L.BOX_WARM] = PRESENT if box_mc >= L.BOX_WARN_MC else ABSENT

    def _judge_reading(self, seen, dt_ms):
        dome = seen.dome
        flags = self.flags
        if seen.dome_serial == self._serial_seen:
            self._stale_ms = aged(self._stale_ms, dt_ms)
        else:
            self._stale_ms = 0
            self._serial_seen = seen.dome_serial
        fault = dome.fault
        broken = fault == OPEN or fault == SHORT_GROUND or fault == SHORT_SUPPLY
        wrong = fault == RANGE or fault == JUMP  # these are left to `unsteady`, as whatever is bad too often
        silent = fault != NONE and not broken and not wrong  # whatever else: no usable answer
        flags[L.PROBE_OPEN] = PRESENT if fault == OPEN else ABSENT
        flags[L.PROBE_SHORT_GROUND] = PRESENT if fault == SHORT_GROUND else ABSENT
        flags[L.PROBE_SHORT_SUPPLY] = PRESENT if fault == SHORT_SUPPLY else ABSENT
        flags[L.PROBE_SILENT] = PRESENT if silent else ABSENT
        out_of_range = dome.pv_mc <= L.READING_MIN_MC
        self.unsteady.judge(dome.usable and not out_of_range, dt_ms)
        flags[L.READING_WRONG] = self.unsteady.unsteady
        flags[L.READING_STALE] = PRESENT if self._stale_ms > 0 else ABSENT
        frozen = seen.session and seen.out_pm > 0 and dome.same_ms >= L.FROZEN_MS
        flags[L.READING_FROZEN] = PRESENT if frozen else ABSENT
        flags[L.HIGH_LIMIT] = PRESENT if dome.limit_mc >= self._limit_mc else ABSENT
        stone = seen.stone
        if stone is not None:
            flags[L.STONE_PROBE] = ABSENT if stone.usable else PRESENT
            flags[L.STONE_LIMIT] = PRESENT if stone.limit_mc >= self._limit_mc + L.STONE_MARGIN_MK else ABSENT

    def _judge_oven(self, seen, dt_ms):
        flags = self.flags
        session = seen.session
        self._since_session_ms = 0 if session else aged(self._since_session_ms, dt_ms)
        if not seen.dome.usable:  # a reading that is not believed teaches nothing; its own conditions speak
            flags[L.NO_RISE] = flags[L.PROBE_REVERSED] = flags[L.PROBE_FELL] = UNSEEN
            flags[L.OVER_SETPOINT] = flags[L.UNDRIVEN_RISE] = flags[L.PROBES_DISAGREE] = UNSEEN
            flags[L.PROBE_SLIPPED] = UNSEEN
            return
        pv_mc = seen.dome.pv_mc
        setpoint_mc = seen.setpoint_mc
        full = 1 if seen.out_pm >= L.FULL_PM else 0
        fell = self.fell
        fell.judge(pv_mc, setpoint_mc, session, seen.out_pm, dt_ms)
        self.no_rise.judge(pv_mc, full, dt_ms, fell.first_mc, fell.high_mc)
        flags[L.NO_RISE] = self.no_rise.no_rise
        flags[L.PROBE_REVERSED] = self.no_rise.reversed
        flags[L.PROBE_FELL] = fell.fell
        self.slipped.judge(pv_mc, setpoint_mc, session, seen.out_pm, dt_ms, fell.rest_ms)
        flags[L.PROBE_SLIPPED] = self.slipped.slipped
        # Long after an evening the oven's own thermostat may heat it: then a rise accuses nobody.
        foreign = not seen.selector_ours or self._since_session_ms >= L.AFTER_SESSION_MS
        driven = 1 if seen.top_on or seen.deck_on or foreign else 0
        runaway = self.runaway
        runaway.judge(pv_mc, setpoint_mc, session, driven, dt_ms)
        flags[L.OVER_SETPOINT] = runaway.over
        flags[L.UNDRIVEN_RISE] = runaway.rising
        cut_off = not seen.contactor_on and self.first_out != L.NONE and runaway.undriven_ms >= L.ESCALATE_MS
        flags[L.HEAT_UNCONTROLLED] = PRESENT if runaway.rising and cut_off else ABSENT
        self.weak.judge(pv_mc, full, dt_ms)
        flags[L.ELEMENT_WEAK] = self.weak.weak
        calm = 1 if session and runaway.calm_ms >= L.CALM_MS else 0
        self.ripple.judge(pv_mc, calm, dt_ms)
        flags[L.PROBE_NEAR_ELEMENT] = self.ripple.near
        flags[L.PROBES_DISAGREE] = PRESENT if calm and apart(seen.dome, seen.stone) else ABSENT

    def _judge_attendance(self, seen, dt_ms):
        """The clocks of presence and session run whatever the reading is worth."""
        attendance = self.attendance
        attendance.judge(seen.dome.pv_mc, seen.setpoint_mc, seen.session, dt_ms)
        self.flags[L.ATTENDANCE] = attendance.missed
        self.flags[L.ATTEND_SOON] = attendance.soon
        self.flags[L.SESSION_LONG] = attendance.too_long

    # --- what others may ask for: less, or what was earned ---------------------------------------------

    def withdraw_unless(self, active):
        """No active sequence, no permit: take back this tick's where the sequence has ended since it was judged. It can
        only take away; whatever is given is given by `judge()` alone."""
        if not active:
            self.permit.granted = 0
            self.permit.contactor = 0

    def lower_limit(self, limit_mc):
        """For the cutoff test: the high limit goes down to `limit_mc` (not below 30 °C), the highest setpoint with it.
        It never goes up: a limit above the one in force changes nothing."""
        self._put_limit(min(limit_mc, self._limit_mc))

    def restore_limit(self):
        """Back to the high limit that the setting asks for and the release allows, never above either."""
        self._put_limit(self._high_limit_mc)

    def take_release(self, release_c, reduced):
        """What the record has earned now, one of limits.RELEASES_C (anything else counts as the lowest); `reduced` 1:
        it fell back. The high limit follows: at most release + 40 K."""
        if release_c not in L.RELEASES_C:
            release_c = L.RELEASES_C[0]
        self.release_mc = release_c * 1000
        self.release_reduced = reduced
        self.restore_limit()

    def note_self_test(self, passed):
        """Outcome of the self-test at start: no heat before it is known, or where it failed."""
        self.self_test = PASSED if passed else FAILED

    def arm(self):
        """The watchdog runs: from now on heat may be permitted, but never before the self-test has said how it went."""
        self.armed = 1 if self.self_test != UNTESTED else 0

    # --- people and start-up (never in the tick) -----------------------------------------------------

    def acknowledge(self, seen):
        """A person has seen the alarms. Clears the latch only if every cause is gone and the oven is cool enough; never
        restarts heat. Returns ACCEPTED, NOTHING, CAUSE_PRESENT, TOO_HOT or LOCKED_OUT."""
        anything = self.note_person()
        if self.first_out == L.NONE:
            return ACCEPTED if anything else NOTHING
        if self.any_cause() or not seen.dome.usable or self._stale_ms > L.STALE_OK_MS:
            return CAUSE_PRESENT
        if not self.warmth.below(self.restart_mc):
            return TOO_HOT
        if self.locked_out:
            return LOCKED_OUT
        self.clear_latch()
        self.no_rise = NoRise()
        self.fell = Fell()
        self.slipped = Slipped(self.slipped.hold_pm)
        return ACCEPTED

    def latch(self):
        """As Alarms.latch(), and whether the oven was cold and stayed so."""
        return self.warmth.noted(super().latch())

    def restore(self, latch):
        """As Alarms.restore(), and the oven is as cold as it was."""
        super().restore(latch)
        self.warmth.remember(latch)

    def unlock(self, seen):
        """Lift a lockout: only on an oven that is known to be cold. Returns 1 if it was lifted."""
        return self.lift_lockout() if self.warmth.below(L.UNLOCK_MC) and self.locked_out else 0

    def evening_done(self):
        """A finished evening: the count of trips in a row starts anew. A lockout stays for a person."""
        if self.first_out == L.NONE and not self.locked_out:
            self.lift_lockout()
