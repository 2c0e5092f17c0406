"""Time-proportioned output: the only writer of the heat pins, the contactor and the fan.

Two zones share one window. The top zone is on from the window's start, the deck zone up to its end, so that one fills
the other's gap and the mains sees fewer and smaller steps. What a window could not deliver exactly (minimum times,
whole ticks) is carried to the next. Integers only, nothing allocated in `drive()`.

Dead-man: a hardware timer ticks by itself and switches everything off when a few of its ticks pass without a drive().
It can only switch off; that it still ticks is seen in each drive(). Where it is no hard interrupt it cannot cut in on a
hung interpreter: then only a pulsed contactor may heat. Every drive() also needs a Permit that it has not seen before.
"""

from machine import Timer
from micropython import const

from tizzone.board_io.zone import Zone, output
from tizzone.integers import aged
from tizzone.safety import limits as L

FULL = const(1000)  # per mille
_HALF_TICK_MS = const(125)
# The start test, in ticks: the top relay alone, the deck relay alone, all off, then the contactor alone.
_PROOF_TOP = const(2)
_PROOF_DECK = const(4)
_PROOF_REST = const(5)
_PROOF_TICKS = const(8)


def _plausible(dt_ms):
    """A tick's length as the ages may count it."""
    return L.LATE_MS if dt_ms < 0 or dt_ms > L.LATE_MS else dt_ms


class Heater:
    """Heat pins, contactor and fan of one board."""

    def __init__(self, board, window_ms=10_000, min_ms=500, exclusive=0):
        self.top = Zone(output(getattr(board, "HEAT_TOP", None)), 1)
        self.deck = Zone(output(getattr(board, "HEAT_DECK", None)), 0)
        self.contactor = output(getattr(board, "CONTACTOR", None))
        self.pulse_drive = getattr(board, "CONTACTOR_DRIVE", "level") == "pulse"
        self.fan = output(getattr(board, "COOLING_FAN", None))
        self.window_ms = window_ms
        self.min_ms = min_ms
        self.exclusive = exclusive  # the circuit cannot carry both zones at once
        self.elapsed_ms = 0
        self.contactor_on = 0
        self.contactor_ms = 0  # since the contactor last moved
        self.contactor_switchings = 0
        self.fan_on = 1
        self.proof_step = 0
        self.deadman_fired = 0  # holds every output off until take_deadman()
        self.missed = 0
        self.deadman_hard = 0  # it cuts in on a hung interpreter too
        self._armed = 0
        self._silent = 0  # drives since the dead-man's last tick
        self._soft_only = getattr(board, "MCU", "").startswith(
            "esp32"
        )  # its callbacks are scheduled, whatever is asked
        self._serial = -1
        self._timer = None
        self._timer_id = getattr(board, "DEADMAN_TIMER", -1)
        self._callback = self._timer_ticked  # made once: a bound method is an allocation

    # --- dead-man ------------------------------------------------------------------------------------

    def arm_deadman(self):
        """Start the timer that can only switch off. Afterwards `deadman_hard` tells what it is worth."""
        self.missed = 0
        try:  # a hard interrupt where there is one: it also fires while one long call keeps the loop
            self._timer = Timer(
                self._timer_id, mode=Timer.PERIODIC, period=L.DEADMAN_MS, callback=self._callback, hard=True
            )
            self.deadman_hard = 0 if self._soft_only else 1
        except TypeError:  # ports and releases without `hard`
            self._timer = Timer(self._timer_id, mode=Timer.PERIODIC, period=L.DEADMAN_MS, callback=self._callback)
        self._silent = 0
        self._armed = 1

    def survives_a_hang(self):
        """Does heat end within two periods of a hang? By a hard interrupt, or by a monostable that falls off."""
        return self.deadman_hard or self.pulse_drive

    def _timer_ticked(self, _timer):
        try:
            self._silent = 0
            self.missed += 1
            if self.missed < L.DEADMAN_MISSES:
                return
            self.missed = L.DEADMAN_MISSES
            if self.top.on or self.deck.on or self.contactor_on:
                self.deadman_fired = 1
            self.all_off()
        except Exception:  # an error here would end the timer without a word: what it is for comes first
            self.deadman_fired = 1
            self._cut()

    def _cut(self):
        """Every pin low, whatever the records say."""
        for pin in (self.top.pin, self.deck.pin, self.contactor):
            if pin is not None:
                pin.value(0)

    def take_deadman(self):
        """1 once after the dead-man has cut something off; asked at the start of each tick, before the judgement."""
        fired = self.deadman_fired
        self.deadman_fired = 0
        return fired

    # --- off -------------------------------------------------------------------------------------------

    def all_off(self):
        """Every heat pin and the contactor off, now. The fan is left running."""
        self.heat_off()
        self._set_contactor(0)

    def heat_off(self):
        """Every heat pin off, now; the contactor follows in the next drive(), when no current flows any more."""
        self.top.set(0)
        self.deck.set(0)

    def follows(self):
        """1 if each heat pin and the contactor's pin read back what they were told."""
        contactor = self.contactor is None or self.contactor.value() == self.contactor_on
        return 1 if contactor and self.top.follows() and self.deck.follows() else 0

    def run_fan(self, on):
        """The fan's contact is normally closed: the pin is high only to stop it."""
        self.fan_on = 1 if on or self.fan is None else 0
        if self.fan is not None:
            self.fan.value(0 if on else 1)

    # --- once a tick -------------------------------------------------------------------------------------

    def drive(self, top_pm, deck_pm, permit, dt_ms):
        """One tick: asked shares per mille and this tick's Permit. A permit seen before drives nothing."""
        dt_ms = _plausible(dt_ms)
        fresh = self._begin(permit, dt_ms)
        self.proof_step = 0
        if not fresh or permit.tripped or self.deadman_fired:
            self.all_off()
            self._forget()
            return
        if not permit.contactor:
            current = self.top.on or self.deck.on
            self.heat_off()
            if not current:  # in good order: the contactor opens one tick after the relays
                self._set_contactor(0)
            self._forget()
            return
        settled = self.contactor_on and self.contactor_ms >= L.CONTACTOR_SETTLE_MS
        self._set_contactor(1)
        if not permit.granted or not settled or self._silent > 1:  # no heat beside a dead-man that may be dead
            self.heat_off()
            self._forget()
            if self.deadman_fired:
                self.all_off()
            return
        self._proportion(top_pm, deck_pm, dt_ms)

    def prove(self, permit, dt_ms):
        """One tick of the start test: each relay alone with the contactor open, then the contactor alone. No current
        may flow meanwhile (the supervisor looks). Begins anew if heat is not permitted. Returns 1 when through."""
        fresh = self._begin(permit, _plausible(dt_ms))
        if not fresh or not permit.granted or self.deadman_fired:
            self.proof_step = 0
            self.all_off()
            return 0
        step = self.proof_step
        if step == _PROOF_TICKS:
            return 1
        self.proof_step = step + 1
        self.top.set(1 if step < _PROOF_TOP else 0)
        self.deck.set(1 if _PROOF_TOP <= step < _PROOF_DECK else 0)
        self._set_contactor(1 if step >= _PROOF_REST else 0)
        if self.deadman_fired:
            self.all_off()
        return 0

    def _begin(self, permit, dt_ms):
        """What each tick begins with; returns whether this permit is a new one."""
        self.missed = 0
        if self._armed:
            self._silent += 1
            if self._silent > L.DEADMAN_SILENT:  # it ticks twice a drive: it has stopped
                self._silent = L.DEADMAN_SILENT
                self.deadman_fired = 1
        fresh = permit.serial != self._serial
        self._serial = permit.serial
        self.contactor_ms = aged(self.contactor_ms, dt_ms)
        self.top.since_ms = aged(self.top.since_ms, dt_ms)
        self.deck.since_ms = aged(self.deck.since_ms, dt_ms)
        return fresh

    def _set_contactor(self, on):
        if on != self.contactor_on:
            self.contactor_on = on
            self.contactor_ms = 0
            if on:
                self.contactor_switchings += 1
        if self.contactor is None:
            return
        if self.pulse_drive and on:
            self.contactor.value(0)  # one rising edge a tick; a hang makes no edges
        self.contactor.value(on)

    def _forget(self):
        """Heat is not permitted: nothing is owed, and the window starts when it is permitted again."""
        self.elapsed_ms = self.window_ms
        self.top.debt = self.top.want_pm = 0
        self.deck.debt = self.deck.want_pm = 0

    def _proportion(self, top_pm, deck_pm, dt_ms):
        if self.exclusive and top_pm + deck_pm > FULL:
            total_pm = top_pm + deck_pm
            top_pm = top_pm * FULL // total_pm
            deck_pm = FULL - top_pm
        self._account(self.top, top_pm, dt_ms)
        self._account(self.deck, deck_pm, dt_ms)
        self.elapsed_ms += dt_ms
        if self.elapsed_ms >= self.window_ms:
            self.elapsed_ms = 0
            self.top.closed = 0  # the deck zone needs no such mark: it ends with the window
        top_on = self._share(self.top)
        deck_on = self._share(self.deck)
        if self.exclusive and top_on:
            deck_on = 0
        # off first: both zones never overlap on a circuit that carries only one
        if not top_on:
            self.top.set(0)
        self.deck.set(deck_on)
        if top_on:
            self.top.set(1)
        if self.deadman_fired:  # within this very call: what it has cut must not rise again
            self.all_off()

    def _account(self, zone, want_pm, dt_ms):
        """Add what was asked during the past tick, take off what was delivered, within one window."""
        zone.debt += zone.want_pm * dt_ms - (FULL * dt_ms if zone.on else 0)
        most = FULL * self.window_ms // 2
        zone.debt = most if zone.debt > most else -most if zone.debt < -most else zone.debt
        zone.want_pm = 0 if want_pm < 0 else FULL if want_pm > FULL else want_pm

    def _share(self, zone):
        """Should this zone be on in the coming tick?"""
        left_ms = self.window_ms - self.elapsed_ms
        owed_ms = (zone.debt + zone.want_pm * left_ms) // FULL  # to deliver before the window ends
        if zone.want_pm == 0:
            return 0  # never held on for a minimum time against a demand for nothing
        if zone.want_pm == FULL:
            on = 1
        elif zone.from_start:
            on = self._from_start(zone, owed_ms, left_ms)
        else:
            on = self._to_end(zone, owed_ms, left_ms)
        return on if on == zone.on or zone.since_ms >= self.min_ms else zone.on

    def _from_start(self, zone, owed_ms, left_ms):
        """On until what is owed is delivered; then off for the rest of the window."""
        if zone.closed:
            return 0
        if left_ms - owed_ms < self.min_ms:
            return 1  # too short a gap: stay on, the surplus is taken off the next window
        if owed_ms >= (_HALF_TICK_MS if zone.on else self.min_ms):
            return 1
        zone.closed = 1
        return 0

    def _to_end(self, zone, owed_ms, left_ms):
        """On from the moment when what is owed fills the rest of the window."""
        if zone.on and self.elapsed_ms > 0:
            # up to the very end: a gap of a tick before the other zone takes over would be two steps on the mains more
            return 1 if owed_ms >= _HALF_TICK_MS or left_ms <= 2 * self.min_ms else 0
        return 1 if owed_ms >= left_ms - _HALF_TICK_MS and owed_ms >= self.min_ms else 0
