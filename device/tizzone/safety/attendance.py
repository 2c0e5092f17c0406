"""Presence and session length: somebody stays with a hot oven. Integers only, nothing allocated."""

from tizzone.integers import aged, bounded
from tizzone.safety import limits as L


class Attendance:
    """Counts the time since a person last confirmed presence, and the length of the evening.

    Neither can be switched off above 300 °C: the thresholds are bounded here, whatever the settings say.
    """

    def __init__(self, attend_mc, attend_min, session_min):
        self.attend_mc = bounded(attend_mc, L.SETPOINT_MIN_MC, L.ATTEND_MAX_MC)
        self.attend_ms = bounded(attend_min, 1, L.ATTEND_MAX_MIN) * 60_000
        self.soon_ms = self.attend_ms - min(L.ATTEND_WARN_MS, self.attend_ms // 2)
        self.session_max_ms = bounded(session_min, 1, L.SESSION_CEILING_MIN) * 60_000
        self.alone_ms = 0
        self.session_ms = 0
        self.soon = 0
        self.missed = 0
        self.too_long = 0

    def confirm(self):
        """A person is there."""
        self.alone_ms = 0

    def judge(self, pv_mc, setpoint_mc, session, dt_ms):
        """Judge one tick; the clocks run only during a session."""
        if not session:
            self.alone_ms = 0
            self.session_ms = 0
        else:
            self.session_ms = aged(self.session_ms, dt_ms)
            hot = pv_mc >= self.attend_mc or setpoint_mc >= self.attend_mc
            self.alone_ms = aged(self.alone_ms, dt_ms) if hot else 0
        self.missed = 1 if self.alone_ms >= self.attend_ms else 0
        self.soon = 1 if self.alone_ms >= self.soon_ms else 0
        self.too_long = 1 if self.session_ms >= self.session_max_ms else 0
