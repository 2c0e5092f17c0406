"""The board's own memory of itself: settings, latch, session mark and counters, over power cuts and resets."""

import gc
import io

import machine

from tizzone.memory.store import Store, StoreError, exists
from tizzone.safety import limits as L

FLAG = "maintenance"  # a file of this name keeps the board at its prompt


class Memory:
    """Owns the store; writes only when app.py says that no heat is permitted."""

    def __init__(self):
        self.store = Store()
        self.faults = []  # plain sentences about what was found at start
        self.failed = 0  # writes that the medium refused
        self.session_open = 0
        self.latch_sure = 0  # the latch was read whole: its trip is an old one
        self.wrote = 0  # something has gone to the flash in this tick: one value a tick, and the next one may be late

    def settings(self):
        """(values, damaged): what is stored, checked one by one. A board that was never used lays its settings down; on
        one that was, what is gone may have held its circuit and its limit down."""
        from tizzone.memory import settings as S  # at the start and where one is changed: let go by app.py

        stored, status = self.store.load("settings")
        if status == "missing" and not self._used():
            self.keep_settings(S.defaults())
            return S.defaults(), False
        if status == "missing" or status == "damaged":
            self.faults.append("settings " + status + ": safe defaults are in force")
            return S.safe(), True
        self._mend("settings", stored, status)
        values, faults = S.taken_over(stored)
        self.faults.extend(faults)
        return values, bool(faults)

    def _used(self):
        """Has this board run before, or been commissioned?"""
        return self.store.load("session")[1] != "missing" or self.store.load("commission")[1] != "missing"

    def commissioning(self):
        """The stored commissioning record or None (damaged counts as none: the release falls back)."""
        stored, status = self.store.load("commission")
        self._mend("commission", stored, status)
        return stored

    def _mend(self, name, stored, status):
        """One copy of two is whole: it is used, written twice again, and told, since it may be the one before the
        last."""
        if status == "one_copy":
            self.faults.append(name + ": one of two copies was lost, the other one is in force")
            self._save(name, stored)

    def restore_latch(self, supervisor):
        """Give the supervisor its latch back; doubt counts as a trip."""
        stored, status = self.store.load("latch")
        if status == "missing":
            # A board that was never used lays its latch down now; on one that was, what is gone may have held a trip.
            if self._used():
                supervisor.raise_event(L.LATCH_DOUBT)
            self.keep_latch(supervisor)
            return
        supervisor.restore(stored)  # what is not understood is a doubt; so is None, of a latch that is damaged
        if status != "ok":
            supervisor.raise_event(L.LATCH_DOUBT)
        elif not supervisor.latch_changed:  # else it was not understood
            self.latch_sure = 1

    def tell_last_end(self, supervisor):
        """What ended the last run? A watchdog reset or a power cut in mid-session is a trip."""
        mark, status = self.store.load("session")
        if status == "missing":
            self.mark_session(0)  # so that from now on a watchdog reset is told from a first start
            return
        is_open = 1 if not isinstance(mark, dict) else mark.get("open", 1)
        planned = mark.get("planned", 0) if isinstance(mark, dict) else 0
        self.session_open = 1 if is_open else 0  # closed once the trip below is stored
        by_watchdog = machine.reset_cause() == getattr(machine, "WDT_RESET", -1)
        # rp2 gives WDT_RESET after machine.reset() too: our own mark tells a planned reset apart.
        if by_watchdog and not planned:
            supervisor.raise_event(L.WATCHDOG_RESET)
        elif is_open:
            supervisor.raise_event(L.POWER_CUT)
        if planned:
            self.mark_session(is_open)  # it spoke for one reset only: a hang after this one is seen again

    def _save(self, name, value):
        gc.collect()  # a 2 kB value makes tens of kB of garbage on its way to the flash
        self.wrote = 1
        try:
            self.store.save(name, value)
        except (StoreError, ValueError, MemoryError) as error:
            # No room to write is no reason to end an evening; the caller keeps it due and tries again.
            self.failed += 1
            if self.failed < 10:  # a medium that refuses for ever must not fill the memory with complaints
                self.faults.append("cannot store " + name + ": " + str(error))
            return False
        return True

    def keep(self, name, value):
        """Store a named value; only while no heat is permitted. False if the medium refused."""
        return self._save(name, value)

    def keep_latch(self, supervisor):
        """Store the latch."""
        done = self._save("latch", supervisor.latch())
        if done:
            supervisor.latch_kept()
        return done

    def mark_session(self, is_open, planned=0):
        """Remember that an evening is on (1) or over (0); a mark that cannot be written is refused heat."""
        done = self._save("session", {"open": is_open, "planned": planned})
        if done:
            self.session_open = is_open
        return done

    def keep_settings(self, values):
        """Store what differs from the defaults."""
        from tizzone.memory.settings import defaults

        plain = defaults()
        return self._save("settings", {n: values[n] for n in values if values[n] != plain[n]})

    def keep_commission(self, record):
        """Store the commissioning record."""
        return self._save("commission", record)

    def maintenance(self):
        """Is the flag set that asks to stay at the prompt?"""
        return exists(FLAG)

    def flag_maintenance(self):
        """Set the flag and mark the coming reset as planned; the loading tool removes it again."""
        try:
            with io.open(FLAG, "wb") as file:
                file.write(b"1")
        except OSError:
            self.failed += 1
            return False
        return self.mark_session(0, 1)

    def expect_reset(self):
        """Mark the coming reset as planned, for the loading tool; not while an evening is marked as open."""
        mark, status = self.store.load("session")
        if status == "missing":
            return True
        if not isinstance(mark, dict) or mark.get("open", 1):
            return False
        return self.mark_session(0, 1)

    def log_line(self, number):
        """Line `number` (0 = oldest) of the event log, or None past its end."""
        for line in self.store.read_log():
            if number == 0:
                return line
            number -= 1
        return None

    def log(self, text):
        """One line for the event log; a refused write is counted, never raised."""
        self.wrote = 1
        if not self.store.log(text):
            self.failed += 1
