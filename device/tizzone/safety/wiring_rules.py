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


def leaking(level_ms, bad, dt_ms, most_ms):
    """A level that one bad tick raises by LEAK_WEIGHT times what a good one takes off: what comes and goes is seen too,
    where an age would begin anew at each good tick. Held within 0..most_ms."""
    if bad:
        level_ms += L.LEAK_WEIGHT * dt_ms
        return level_ms if level_ms < most_ms else most_ms
    return level_ms - dt_ms if level_ms > dt_ms else 0


class ZoneCurrent:
    """What one zone's current sensor contradicts. Each age or level stands still in the phase that shows nothing."""

    def __init__(self):
        self.stuck_ms = 0  # full current although commanded off
        self.missing_ms = 0  # none although commanded on: a level, since a loose wire conducts now and then
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
            self.missing_ms = leaking(self.missing_ms, sense == _NONE, dt_ms, L.LEAK_WEIGHT * L.SENSE_OFF_MS)
        else:
            self.stuck_ms = aged(self.stuck_ms, dt_ms) if sense == _FULL else 0


class Chatter:
    """A contactor that does not stay where it is told: its mirror contact disagrees again and again."""

    def __init__(self):
        self.level_ms = 0
        self.was_on = 0
        self.since_ms = 0  # since it was told otherwise

    def judge(self, seen, dt_ms):
        """Judge one tick; 1 if it chatters."""
        if seen.contactor_on != self.was_on:
            self.was_on = seen.contactor_on
            self.since_ms = 0
        self.since_ms = aged(self.since_ms, dt_ms)
        if self.since_ms < L.MIRROR_MS:
            return 0  # on its way, monostable included
        bad = seen.mirror_bounced or seen.mirror_open == seen.contactor_on
        self.level_ms = leaking(self.level_ms, bad, dt_ms, L.CHATTER_MS)
        return 1 if self.level_ms >= L.CHATTER_MS else 0


class WiringRules:
    """Writes the raw flags of every wiring condition."""

    def __init__(self):
        self.top = ZoneCurrent()
        self.deck = ZoneCurrent()
        self.chatter = Chatter()

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
        self._judge_contactor(flags, seen, dt_ms)
        live = seen.contactor_on
        self.top.judge(seen.top_sense, seen.top_on, live, dt_ms)
        self.deck.judge(seen.deck_sense, seen.deck_on, live, dt_ms)
        top = self.top
        deck = self.deck
        stuck = top.stuck_ms >= L.SENSE_ON_MS or deck.stuck_ms >= L.SENSE_ON_MS
        flags[L.RELAY_WELDED] = 1 if stuck else 0
        most_ms = L.LEAK_WEIGHT * L.SENSE_OFF_MS
        flags[L.NO_CURRENT] = 1 if top.missing_ms >= most_ms or deck.missing_ms >= most_ms else 0
        half = top.half_ms >= L.HALF_WAVE_MS or deck.half_ms >= L.HALF_WAVE_MS
        flags[L.HALF_WAVE] = 1 if half else 0

    def _judge_contactor(self, flags, seen, dt_ms):
        # With the oven in other hands a current is not ours to judge; the mirror contact always is.
        current = seen.selector_ours and (seen.top_sense > _NONE or seen.deck_sense > _NONE)
        flags[L.START_TEST] = 1 if seen.proving and current else 0
        held_closed = not seen.contactor_on and (seen.mirror_open == 0 or current)
        flags[L.CONTACTOR_WELDED] = 1 if held_closed else 0
        flags[L.CONTACTOR_OPEN] = 1 if seen.contactor_on and seen.mirror_open == 1 else 0
        flags[L.CONTACTOR_CHATTER] = self.chatter.judge(seen, dt_ms) if seen.mirror_open >= 0 else 0
