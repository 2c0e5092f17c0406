"""What safety owes the flash: the latch, the end of an evening, the line in the event log. One value a tick, the latch
first, and only while everything is off: a write stalls the loop.
"""

from tizzone.evening import sequence as S
from tizzone.safety import limits as L


class Due:
    """Looked after once a tick, after the pins are set."""

    def __init__(self):
        self.logged = L.NONE  # the trip that the event log has, or is about to get ...
        self._line = ""  # ... in this line
        self._refused = 0  # the medium would not take the latch just now

    def write(self, app):
        """Write the next value, if one is due and this tick may be stalled."""
        sup = app.supervisor
        if sup.first_out != self.logged:
            self.logged = sup.first_out
            what = "trip " + L.CONDITION_NAMES[sup.first_out] if sup.first_out else "latch cleared"
            self._line = what + " pv_mc=" + str(app.dome.pv_mc)
        if not sup.armed or not app.quiet():
            return
        if sup.latch_changed and not self._refused:
            self._refused = 0 if app.memory.keep_latch(sup) else 1
            return
        self._refused = 0  # asked again in the next tick
        if self._line:
            app.memory.log(self._line)
            self._line = ""
        # Only once the latch is stored: an open mark is a second memory of a trip.
        elif app.memory.session_open and not app.sequence.session and not sup.latch_changed:
            app.memory.mark_session(0)
            # An evening that never came to its setpoint has shown nothing: it does not clear the count of trips.
            if app.sequence.arrived and app.sequence.state in (S.STOPPING, S.STOPPED, S.COMPLETE):
                sup.evening_done()
