"""Alarm bookkeeping of the supervisor: debounce, alarm states, first-out, latch, lockout, acknowledge.

Knows nothing about ovens. A condition is a row of conditions.py; each tick the supervisor writes its raw flag and
`settle()` does the rest. Integers only, nothing allocated in `settle()`.
"""

from array import array

from tizzone.integers import aged, bounded
from tizzone.safety import limits as L

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


class Alarms:
    """State of every condition of one board."""

    def __init__(self):
        self.flags = bytearray(L.COUNT)  # raw, this tick
        self.present = bytearray(L.COUNT)  # debounced
        self.states = bytearray(L.COUNT)
        from tizzone.safety.conditions import CONDITIONS  # for a moment: 2 kB, see parts.START_ALONE

        self.kinds = bytearray([row[1] for row in CONDITIONS])
        self._debounce_ms = array("i", [row[2] for row in CONDITIONS])
        self._ages_ms = array("i", [0] * L.COUNT)
        self.first_out = L.NONE  # the trip that came first; NONE = nothing is latched
        self.trips_in_a_row = 0
        self.locked_out = 0
        self.latch_changed = 0  # app.py stores the latch once the pins are off
        self.pull_the_plug = 0  # neither relay nor contactor can be relied on: told on every output there is
        self.holding = 0  # some HOLD is present
        self.stopping = 0  # some STOP is present

    # --- once a tick -----------------------------------------------------------------------------

    def settle(self, dt_ms):
        """Debounce every raw flag of this tick; latch the trips that appear."""
        flags = self.flags
        ages = self._ages_ms
        self.holding = 0
        self.stopping = 0
        for i in range(1, L.COUNT):
            flag = flags[i]
            if flag == PRESENT:
                ages[i] = aged(ages[i], dt_ms)
                if ages[i] >= self._debounce_ms[i] and not self.present[i]:
                    self._appear(i)
            elif flag == ABSENT:
                ages[i] = 0
                if self.present[i]:
                    self._return(i)
            if self.present[i]:
                if self.kinds[i] == L.HOLD:
                    self.holding = 1
                elif self.kinds[i] == L.STOP:
                    self.stopping = 1

    def _appear(self, i):
        self.present[i] = 1
        self.states[i] = UNACKNOWLEDGED
        if self.kinds[i] != L.TRIP:
            return
        self.latch_changed = 1
        if i in L.PULL_THE_PLUG:
            self.pull_the_plug = 1
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

    def any_of(self, conditions):
        """1 where one of these conditions is present, or latched and not yet acknowledged away."""
        for i in conditions:
            if self.states[i] != NORMAL:
                return 1
        return 0

    # --- people (never in the tick) ----------------------------------------------------------------

    def raise_event(self, i):
        """Latch condition `i` at once: something that has happened, not something that lasts (a reset)."""
        if not self.present[i]:
            self._appear(i)
            self._return(i)

    def note_person(self):
        """A person has seen every alarm; latched ones stay latched. Returns True if there was any."""
        anything = False
        states = self.states
        for i in range(1, L.COUNT):
            state = states[i]
            if state != NORMAL:
                anything = True
            if state == UNACKNOWLEDGED:
                states[i] = ACKNOWLEDGED
            elif state == RETURNED:
                states[i] = NORMAL
            elif state == LATCHED_UNACKNOWLEDGED:
                states[i] = LATCHED_ACKNOWLEDGED
        return anything

    def any_cause(self):
        """Is the cause of some trip still present?"""
        return any([self.present[i] and self.kinds[i] == L.TRIP for i in range(1, L.COUNT)])

    def clear_latch(self):
        """Every cause is gone and a person has acknowledged: nothing is latched any more."""
        for i in range(1, L.COUNT):
            if self.kinds[i] == L.TRIP:
                self.states[i] = NORMAL
        self.first_out = L.NONE
        self.pull_the_plug = 0
        self.latch_changed = 1

    def lift_lockout(self):
        """The count of trips in a row starts anew. Returns 1 if that changed anything."""
        if not self.locked_out and not self.trips_in_a_row:
            return 0
        self.locked_out = 0
        self.trips_in_a_row = 0
        self.latch_changed = 1
        return 1

    # --- over power cuts ------------------------------------------------------------------------------

    def latch(self):
        """What has to outlive a power cut, as a dict for the store."""
        tripped = [
            L.CONDITION_NAMES[i]
            for i in range(1, L.COUNT)
            if self.kinds[i] == L.TRIP and self.states[i] != NORMAL
        ]  # fmt: skip
        return {
            "first_out": L.CONDITION_NAMES[self.first_out],
            "tripped": tripped,
            "in_a_row": self.trips_in_a_row,
            "locked_out": self.locked_out,
        }

    def latch_kept(self):
        """The store has the latch as it is now."""
        self.latch_changed = 0

    def restore(self, latch):
        """Take over a stored latch; anything in it that is not understood counts as a trip (LATCH_DOUBT)."""
        if not self._understood(latch):
            self.raise_event(L.LATCH_DOUBT)
            return
        self.trips_in_a_row = bounded(latch["in_a_row"], 0, L.LOCKOUT_TRIPS)
        self.locked_out = latch["locked_out"]
        self.first_out = L.CONDITION_NAMES.index(latch["first_out"])
        for name in latch["tripped"]:
            i = L.CONDITION_NAMES.index(name)
            self.states[i] = LATCHED_UNACKNOWLEDGED
            if i in L.PULL_THE_PLUG:
                self.pull_the_plug = 1

    def _understood(self, latch):
        if not isinstance(latch, dict):
            return False
        names = latch.get("tripped")
        if not isinstance(names, list) or not isinstance(latch.get("in_a_row"), int):
            return False
        for name in names:
            if name not in L.CONDITION_NAMES or self.kinds[L.CONDITION_NAMES.index(name)] != L.TRIP:
                return False
        # Nothing latched has no first; what is latched has one of its own.
        first = latch.get("first_out")
        named = first in names if names else first == L.CONDITION_NAMES[L.NONE]
        return named and latch.get("locked_out") in (0, 1)
