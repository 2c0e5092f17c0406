"""What contacts and currents say about the wiring: contactor, relays, fan, limiter, switches.

Each zone's current is judged by itself and only while the contactor is closed, in the phase that shows the fault: a
welded relay while it is commanded off, a dead element while it is on. Integers only, nothing allocated in `judge()`.
"""

from micropython import const

from tizzone.integers import aged
from tizzone.safety import limits as L

_NONE = const(0)  # of seen.top_sense and seen.deck_sense; -1 = not wired
_HALF = const(1)
_FULL = const(2)


class ZoneCurrent:
    """Ages of what one zone's current sensor contradicts. An age stands still in the phase that shows nothing."""

    def __init__(self):
        self.stuck_ms = 0  # full current although commanded off
        self.missing_ms = 0  # none although commanded on
        self.half_ms = 0  # half waves, on or off

    def judge(self, sense, on, live, dt_ms):
        """Judge one tick: `sense` as in seen.py, `on` = the relay's pin during that tick, `live` = contactor closed."""
        if not live:
            self.stuck_ms = 0
            self.missing_ms = 0
            self.half_ms = 0
            return
        if sense == _HALF:
            self.half_ms = aged(self.half_ms, dt_ms)
        elif on:
            self.half_ms = 0
        if on:
            self.missing_ms = aged(self.missing_ms, dt_ms) if sense == _NONE else 0
        else:
            self.stuck_ms = aged(self.stuck_ms, dt_ms) if sense == _FULL else 0


class WiringRules:
    """Writes the raw flags of every wiring condition."""

    def __init__(self):
        self.top = ZoneCurrent()
        self.deck = ZoneCurrent()

    def judge(self, flags, seen, dt_ms):
        """Judge one tick; flags become 1 (present) or 0."""
        flags[L.LIMITER_OPEN] = 0 if seen.limit_ok else 1
        flags[L.ENABLE_OPEN] = 1 if seen.session and not seen.enable else 0
        flags[L.SELECTOR_ORIGINAL] = 1 if seen.session and not seen.selector_ours else 0
        # In ORIGINAL and OFF the fan has no supply from us.
        flags[L.FAN_STOPPED] = 1 if seen.fan_on and seen.selector_ours and not seen.fan_ok else 0
        flags[L.DOOR_OPEN] = 0 if seen.door_shut else 1
        flags[L.DEADMAN] = 1 if seen.deadman_fired else 0
        flags[L.PIN_READBACK] = 0 if seen.readback_ok else 1
        self._judge_contactor(flags, seen)
        live = seen.contactor_on
        self.top.judge(seen.top_sense, seen.top_on, live, dt_ms)
        self.deck.judge(seen.deck_sense, seen.deck_on, live, dt_ms)
        top = self.top
        deck = self.deck
        stuck = top.stuck_ms >= L.SENSE_ON_MS or deck.stuck_ms >= L.SENSE_ON_MS
        flags[L.RELAY_WELDED] = 1 if stuck else 0
        missing = top.missing_ms >= L.SENSE_OFF_MS or deck.missing_ms >= L.SENSE_OFF_MS
        flags[L.NO_CURRENT] = 1 if missing else 0
        half = top.half_ms >= L.HALF_WAVE_MS or deck.half_ms >= L.HALF_WAVE_MS
        flags[L.HALF_WAVE] = 1 if half else 0

    def _judge_contactor(self, flags, seen):
        # With the oven in other hands a current is not ours to judge; the mirror contact always is.
        current = seen.selector_ours and (seen.top_sense > _NONE or seen.deck_sense > _NONE)
        flags[L.START_TEST] = 1 if seen.proving and current else 0
        held_closed = not seen.contactor_on and (seen.mirror_open == 0 or current)
        flags[L.CONTACTOR_WELDED] = 1 if held_closed else 0
        flags[L.CONTACTOR_OPEN] = 1 if seen.contactor_on and seen.mirror_open == 1 else 0
