"""The evening: plan, stone, breads, buzzer and counters of one board, looked after once a tick after the pins are set.

It asks (setpoint through the sequence, share of the top zone through app.py) and never permits. What must outlive a
power cut is stored only while no heat is permitted: at a hold, the end, a trip, and while the door stands open. After
a cut the board is tripped and cold of heat; `start` then goes on counting where the record ends, by a person's act.
"""

from micropython import const

from tizzone.board_io import buzzer
from tizzone.control.forecast import BACK_S, HANDLING_S, Forecast
from tizzone.control.stone import DEPTH_MM, LEARNED, STEP_S, Stone
from tizzone.evening import breads as R
from tizzone.evening import sequence as S
from tizzone.evening.book import BREADS, PLACE, TAUGHT, keep_next, recall
from tizzone.evening.breads import Breads
from tizzone.evening.counters import HOT_MC, Counters
from tizzone.evening.plan_in_force import PlanInForce, wanted_by
from tizzone.integers import CAP_MS
from tizzone.safety import limits as L

_KNOWN_MC = const(60_000)  # a dome below this at the start: the stone is as warm
_SAG_MS = const(120_000)  # the lowest stone and dome of a bread are looked for until so long after it
_KEEP_EVERY_MS = const(10_000)  # between two writes in a session
_SOON_MS = const(10_000)  # one beat this long before a bake ends
_LATELY_S = const(60.0)
_JUMP_MK = const(2_000)


class Evening:
    """One board's evenings, one after the other. Temperatures in milli-degrees unless the name says _c; times in ms."""

    def __init__(self, app):
        store = app.memory.store
        self.stone = Stone()
        self.stone.take(store.load("stone")[0])
        spec = app.board.PROBES.get("stone", {})
        self.stone.seat(spec.get("depth_mm", DEPTH_MM), spec.get("rim", 0))
        self.forecast = Forecast()
        self.breads = Breads()
        self.buzzer = buzzer.Buzzer(app.board)
        self.counters = Counters(store.load("counters")[0])
        self.plan = PlanInForce(app, *store.load("plan"))
        self.dirty = 0
        self.interrupted = 0  # 1 by a power cut, 2 by a trip: start goes on with it
        self.leg = self.leg_done = self.done = self.at_s = 0
        recall(self, store)
        self.session_ms = self.at_s * 1000
        self._stage = S.NO_STAGE
        self._session = 0
        self._tripped = -1
        self.flow = None  # time and pace by heat, where the plan wants that
        self.keeping = 0  # records are being written, or wait for the contactor to open
        self.opening = 0  # an evening has begun whose first record is not stored yet: no heat
        self._since_keep_ms = _KEEP_EVERY_MS
        self._setpoint_mc = app.sequence.setpoint_mc
        self._bake_ms = 0
        self.since_bread_ms = CAP_MS
        self._step_ms = self._deck_ms = 0
        self._known = self._judged = self._backing = 0
        self.back_s = BACK_S
        self._recover_ms = 0
        self._deck = self.rise_k_s = 0.0
        self._last_c = 20.0

    # --- the evening -----------------------------------------------------------------------------------

    def start(self, app, sensed):
        """Begin, or go on where a cut or trip ended it."""
        goes_on = self.interrupted in (1, 2)
        app.sequence.start(sensed)
        if goes_on:
            app.sequence.continue_from(self.leg, self.leg_done, self.done)
            self.session_ms = self.at_s * 1000
        else:
            self.breads.clear()
            self.session_ms = 0
            self.stone.spots_this_evening = 0
        self.interrupted = 0
        self.flow = self.plan.flow() if self.plan.flow else None
        self.counters.add("sessions")
        self.leg, self.leg_done, self.done = app.sequence.leg, app.sequence.leg_done, app.sequence.breads_done
        self.dirty = PLACE
        self.opening = 1  # so that after a cut it is known that an evening began

    def note_breads(self):
        """A record was changed: store it when that may be."""
        self.dirty |= BREADS | PLACE

    def forget_interrupted(self):
        """Forget an interrupted evening: the next start counts from nothing."""
        self.interrupted = 0
        self.breads.clear()
        self.leg = self.leg_done = self.done = self.at_s = 0
        self.dirty |= PLACE

    def tick(self, app, dt_ms):
        """One tick."""
        seq = app.sequence
        if dt_ms < 0 or dt_ms > L.LATE_MS:
            dt_ms = L.LATE_MS
        if seq.session and self.session_ms < CAP_MS:
            self.session_ms += dt_ms
        self._watch_stone(app, seq, dt_ms)
        if seq.stage != self._stage:
            self._turned(app, seq)
        if self.flow and seq.session:
            self.flow.tick(app, seq, dt_ms)
        self._follow_setpoint(app, seq)
        self._watch_bread(app, seq, dt_ms)
        self._share(app, seq)
        self._watch_end(app, seq)
        self.counters.tick(app.dome.usable and app.dome.pv_mc >= HOT_MC, app.heater, dt_ms)
        self.counters.stalled(app.supervisor.own_writes.stalls)
        self.buzzer.tick(app.supervisor.permit.granted, seq.stage == S.LOAD or self._tripped > 0)
        self._since_keep_ms = min(self._since_keep_ms + dt_ms, CAP_MS)
        self._store(app, seq)

    def _store(self, app, seq):
        """Begin to write, or write the next value, if now is the time: no heat, and the contactor open as well."""
        heat = app.supervisor.permit.granted or app.heater.top.on or app.heater.deck.on
        if heat or not app.supervisor.armed or not (self.dirty or self.counters.dirty):
            self.keeping = self.opening = 0
            return
        if seq.active and not self.keeping and not self.dirty:
            return  # counters alone are no reason to open the contactor at a door: that would be one more to count
        every_ms = _KEEP_EVERY_MS if (seq.session or app.memory.failed) and not self.opening else 0
        if not self.keeping and self._since_keep_ms < every_ms:
            return
        self.keeping = 1
        if not app.quiet():
            return  # the contactor opens in the coming tick, or something else was written in this one
        failed = app.memory.failed
        self._since_keep_ms = 0
        keep_next(self, app)
        if app.memory.failed != failed:
            self.keeping = self.opening = 0

    def _watch_stone(self, app, seq, dt_ms):
        """The stone's model goes on, and what follows from it: is it ready, and when will it be?"""
        if not app.dome.usable:
            return
        dome_c = app.dome.pv_mc * 0.001
        if not self._known:
            self._known = 1
            self.stone.begin(dome_c, app.dome.pv_mc < _KNOWN_MC)
        self._step_ms += dt_ms
        self._deck_ms += dt_ms * app.heater.deck.on
        if self._step_ms >= STEP_S * 1000:
            self._step_stone(app, seq, dome_c)
        wanted_c, sag_k, bake_s, _, _ = self.plan.leg_values(app)
        if seq.stage == S.RECOVER:
            wanted_c -= sag_k
        if self.flow and seq.session and self.flow.rules(seq):  # in the words of the stone's rule, which it stands for
            wanted_c = self.flow.wanted_c
        if not self._judged:  # anew after each step of the model and each turn of the stage
            self._judged = 1
            seq.stone_ready = 1 if self.stone.ready(wanted_c) else 0
        if seq.stage == S.RECOVER and self._backing:
            self._recover_ms = seq.stage_ms
            if app.dome.pv_mc >= seq.setpoint_mc - S.READY_MK:
                self._dome_back()
        if seq.active and wanted_c:
            self.forecast.tick(
                self.stone, dome_c=dome_c, setpoint_c=seq.setpoint_mc * 0.001, rise_k_s=self.rise_k_s,
                deck=self._deck, wanted_c=wanted_c, sag_k=0.0 if seq.stage == S.RECOVER else sag_k, bake_s=bake_s,
                between_s=self.back_s + HANDLING_S + seq.lift_ms * 0.001, dt_s=dt_ms * 0.001,
            )  # fmt: skip

    def _step_stone(self, app, seq, dome_c):
        """One step of the model over the ticks since the last, and what output and rise were lately."""
        stone = self.stone
        dt_s = self._step_ms * 0.001
        deck = self._deck_ms / self._step_ms
        stone.step(dome_c, deck, dt_s, 1 if seq.stage == S.BAKE else 0)
        share = dt_s / _LATELY_S
        self._deck += (deck - self._deck) * share
        self.rise_k_s += ((dome_c - self._last_c) / dt_s - self.rise_k_s) * share
        self._last_c = dome_c
        self._step_ms = self._deck_ms = 0
        if self.flow and seq.session:
            self.flow.step(app, seq)
        stone.probed = 0
        if app.stone and app.stone.usable:
            stone.probe(app.stone.pv_mc * 0.001, dt_s)
        self._judged = 0

    def _follow_setpoint(self, app, seq):
        """Tell the controller of a setpoint that the sequence has moved: a jump is a new approach, a ramp is none."""
        jump_mk = seq.setpoint_mc - self._setpoint_mc
        self._setpoint_mc = seq.setpoint_mc
        if -_JUMP_MK <= jump_mk <= _JUMP_MK or not app.dome.usable:
            return
        if seq.ramp.on:
            app.pid.match(0.0, seq.setpoint_mc * 0.001, app.dome.pv_mc * 0.001)
        else:
            app.pid.retarget(seq.setpoint_mc * 0.001, app.dome.pv_mc * 0.001)

    def _turned(self, app, seq):
        """The stage has changed since the last tick."""
        before, self._stage = self._stage, seq.stage
        self.forecast.forget()
        self._judged = seq.stone_ready = 0
        if before == S.RECOVER and self._backing and seq.stage in (S.LIFT, S.LOAD):
            self._dome_back()
        self._backing = 1 if before == S.BAKE and seq.active else 0
        if before == S.BAKE and self.breads.open:
            self._close_bread(seq)
        if seq.stage == S.BAKE:
            self._open_bread(app, seq)
        elif seq.stage == S.LOAD:
            self.buzzer.play(buzzer.DUE)
        if seq.session or self._session:  # an evening under way, or just ended: a trip at the start is neither
            self.leg, self.leg_done, self.done = seq.leg, seq.leg_done, seq.breads_done
            self.dirty |= PLACE

    def _dome_back(self):
        self._backing = 0
        self.back_s = 0.5 * (self.back_s + self._recover_ms * 0.001)

    def _surface_c(self, app):
        return int(self.stone.surface_c + 0.5)

    def _open_bread(self, app, seq):
        stone = self.stone
        guess = stone.basis <= LEARNED or (app.stone is not None and not stone.sees_breads)  # the sag is the model's
        flags = (R.GUESS if guess else 0) | (R.UNREADY if seq.unready else 0)
        self.breads.begin(
            self.session_ms // 1000, self._surface_c(app), app.dome.pv_mc // 1000, app.top_share_pct, flags
        )
        self._bake_ms = 0
        self.since_bread_ms = 0

    def _close_bread(self, seq):
        self.breads.put(R.BAKED, (self._bake_ms + 500) // 1000)
        self.dirty |= BREADS
        if seq.breads_done <= self.done:
            self.breads.flag(R.CUT)
        else:
            self.counters.add("breads")
        if seq.legs and wanted_by(seq.legs[self.leg]) and (not self.flow or self.flow.fixed):
            self.breads.flag(R.SECONDS)
        self.breads.open = 0
        self.buzzer.play(buzzer.DONE)

    def _watch_bread(self, app, seq, dt_ms):
        if not self.breads.count or self.since_bread_ms >= _SAG_MS:
            return
        book = self.breads
        n = book.count - 1
        if book.open:
            self._bake_ms += dt_ms
            if seq.state == S.HELD:
                book.flag(R.HELD)
            left_ms = seq.bake_ms - seq.stage_ms
            if _SOON_MS - dt_ms < left_ms <= _SOON_MS:
                self.buzzer.play(buzzer.SOON)
        else:
            self.since_bread_ms += dt_ms
            if self.since_bread_ms >= _SAG_MS:
                self.dirty |= BREADS
        stone_c, dome_c = self._surface_c(app), app.dome.pv_mc // 1000
        if stone_c < book.get(n, R.STONE_LOW):
            book.put(R.STONE_LOW, stone_c)
        if app.dome.usable and dome_c < book.get(n, R.DOME_LOW):
            book.put(R.DOME_LOW, dome_c)

    def _share(self, app, seq):
        """Share of the top zone now: the leg's, what the words about breads changed, and the lift."""
        _, _, _, share_pct, lift_pct = self.plan.leg_values(app)
        share_pct += self.breads.adjust_pct
        if seq.stage in (S.LIFT, S.LOAD, S.BAKE):
            share_pct += lift_pct
        if self.flow:
            share_pct += int(self.flow.lean)
        app.top_share_pct = max(20, min(80, share_pct))

    def _watch_end(self, app, seq):
        sup = app.supervisor
        tripped = sup.first_out
        if tripped != self._tripped:
            if self._tripped < 0:  # the first tick after a start: was the evening cut?
                if sup.latch_changed and tripped in (L.POWER_CUT, L.WATCHDOG_RESET):
                    self.counters.add("cuts")
            elif tripped:
                self.counters.add("trips")
            self.buzzer.play(buzzer.TRIPPED if tripped else buzzer.SILENT)  # at a start too: somebody has to come
            self._tripped = tripped
        if seq.session != self._session:
            self._session = seq.session
            if not seq.session:
                self.flow = None
                self.at_s = self.session_ms // 1000
                self.interrupted = 2 if tripped else 0
                self.dirty |= PLACE | BREADS | (TAUGHT if self.stone.spots_this_evening else 0)
