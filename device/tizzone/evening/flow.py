"""Time and pace that follow the heat into the breads, where the leg under way says how much it wants.

While a bread lies its time runs to the base's wanted heat; what the top would be off by then is shared between the two,
since both follow the time. Between two breads the next is due as soon as both would get their heats in the time
allowed, from 40 K below the dome's setpoint on: its doors then take the reading to about the 100 K below from which on
the supervisor looks for a probe that fell. The plan says what the base is to get, the leg's first bread shows what the
top then gets, and what the cook says of the breads moves both. Loaded only for such a plan. Where the estimate fails:
the plan's seconds, the next bread waits for the dome, and the bread's record says so. It asks for nothing but time and
share: no limit moves.
"""

from micropython import const

from tizzone.control.heat import NOMINAL_G_DM2, Heat
from tizzone.evening import breads as R
from tizzone.evening import leg as B
from tizzone.evening import sequence as S
from tizzone.evening.plan_in_force import wanted_by

_LEAST_PCT = const(70)  # of the plan's time; house, as what follows
_MOST_PCT = const(150)
_SET_MS = const(12_000)  # so long before its end a bake's time stands, lest the cook's last count jumps
_SEEN_MS = const(16_000)  # after a bread: by then the door for it shows in the reading; house
_STALE_MS = const(10_000)  # without a step of the stone's model: the estimate has failed
_SIGMA_K = const(45)  # a stone known no better is not followed
_WORD_PCT = const(5)  # a word's change of a wanted heat,
_WORD_SMALL_PCT = const(2)  # after a change of direction ...
_WORD_MAX_PCT = const(25)  # ... and of all words together
_BALANCE = const(0.5)  # share of the top's error that the time takes; chosen on simulated ovens, as what follows
_SHARE_GAIN = const(300)  # points of share for a top that would come short by everything
_SHARE_MAX = const(20)  # points up or down
_FALLS_S = const(20)  # of the rate at which what is missing falls
_TOP_K_KJ = const(0.1)  # K of stone that stand for a kJ/m2 of the top, for the forecast only


class Flow:
    """`fixed`: 1 while the plan's seconds count, since the estimate has failed; `base_kj`, `top_kj`: wanted, kJ/m2, the
    top's 0 until the leg's first bread has shown it; `lean`: points of share towards the top."""

    def __init__(self):
        self.leg = -1
        self._top_ms = self._since_ms = 0
        self._stage = S.NO_STAGE
        self._take(0)

    def _take(self, leg):
        if leg == self.leg:
            return
        self.leg = leg
        self.heat = Heat()
        self.fixed = 0
        self.lean = self.base_kj = self.top_kj = self.wanted_c = 0
        self._first_kj = self._short_k = self._falls_k_s = 0

    def tick(self, app, seq, dt_ms):
        """One tick: gather; fall back to seconds when the stone's model has stood still."""
        self._top_ms += dt_ms * app.heater.top.on
        self._since_ms += dt_ms
        self._take(seq.leg)
        if self._since_ms > _STALE_MS:
            self._fail(seq)
        stage, self._stage = self._stage, seq.stage
        seq.by_heat = self.rules(seq)
        leg = seq.legs[self.leg]
        if stage == seq.stage or not wanted_by(leg):
            return
        bake_s = leg[B.BAKE]
        if seq.stage == S.BAKE:
            self.fixed = 0
            seq.bake_ms = bake_s * 1000
            stone = app.evening.stone
            stone.thick = (leg[B.BREAD_G] or NOMINAL_G_DM2) / NOMINAL_G_DM2
            self.heat.begin(stone)
            self.wanted_c = self._falls_k_s = 0
        elif stage == S.BAKE and not self.fixed and self.heat.time_s >= bake_s * _LEAST_PCT / 100:
            self.heat.ended()
            if not self.top_kj:
                _, top_pct = words_pct(app.evening.breads)
                self._first_kj = self.heat.top_kj * bake_s / self.heat.time_s
                self.top_kj = self._first_kj * (100 + top_pct) / 100

    def step(self, app, seq):
        """After a step of the stone's model."""
        dt_s = self._since_ms / 1000
        top = self._top_ms / self._since_ms if self._since_ms else 0
        self._top_ms = self._since_ms = 0
        leg = seq.legs[self.leg]
        self.lean = 0
        if not wanted_by(leg):
            return
        stone, heat = app.evening.stone, self.heat
        heat.step(stone, app.dome.pv_mc / 1000, top, dt_s, seq.stage == S.BAKE)
        base_pct, top_pct = words_pct(app.evening.breads)
        self.base_kj = leg[B.BASE_KJ] * (100 + base_pct) / 100
        if self.top_kj:
            self.top_kj = self._first_kj * (100 + top_pct) / 100
        if not (stone.sigma_k < _SIGMA_K and 0 < heat.base_w < 100 and 0 < heat.top_w < 100):  # nor NaN
            self._fail(seq)
        elif seq.stage == S.BAKE:
            if not self.fixed:
                self._follow(seq, leg[B.BAKE])
        elif seq.stage == S.RECOVER:
            most_s = leg[B.BAKE] * (100 + leg[B.STRETCH]) / 100
            short_k = heat.short_k(stone, most_s, self.base_kj)
            short_k = max(short_k, (self.top_kj - heat.coming_top_kj(most_s)) * _TOP_K_KJ)
            if self.wanted_c and dt_s > 0:  # it goes on falling while the lift passes
                falls = (self._short_k - short_k) / dt_s
                self._falls_k_s += (falls - self._falls_k_s) * min(1, dt_s / _FALLS_S)
            self._short_k = short_k
            short_k -= max(0, self._falls_k_s) * seq.lift_ms / 1000
            self.wanted_c = stone.surface_c + short_k - stone.ready_at_c(0)

    def _follow(self, seq, bake_s):
        """The bake's time to the base's heat, the top's share to the top's."""
        heat = self.heat
        left_s = heat.left_s(self.base_kj)
        passed_s = seq.stage_ms / 1000
        if seq.bake_ms - seq.stage_ms > _SET_MS:
            if self.top_kj:  # what the top would be off by then is shared between the two
                off = (heat.top_kj + heat.top_w * left_s) / self.top_kj - 1
                left_s -= _BALANCE * off * (passed_s + left_s)
            whole_s = max(bake_s * _LEAST_PCT / 100, min(bake_s * _MOST_PCT / 100, passed_s + left_s))
            seq.bake_ms = max(int(whole_s * 1000), seq.stage_ms)
        if self.top_kj:
            left_s = max(0, seq.bake_ms / 1000 - passed_s)
            short = 1 - (heat.top_kj + heat.top_w * left_s) / self.top_kj
            self.lean = max(-_SHARE_MAX, min(_SHARE_MAX, short * _SHARE_GAIN))

    def _fail(self, seq):
        leg = seq.legs[self.leg]
        self.fixed = 1
        self.lean = 0
        if seq.stage == S.BAKE and wanted_by(leg):
            seq.bake_ms = leg[B.BAKE] * 1000

    def rules(self, seq):
        """1 where the heat says when the next bread is due: `wanted_c`, in the words of the stone's rule."""
        seen = seq.stage == S.RECOVER and seq.stage_ms >= _SEEN_MS
        return 1 if seen and not self.fixed and self.wanted_c else 0

    def line(self):
        """Got and wanted of the bread that lies, or the last, kJ/m2."""
        heat = self.heat
        return "base_kj={:.0f}/{:.0f} top_kj={:.0f}/{:.0f} by={}".format(
            heat.base_kj, self.base_kj, heat.top_kj, self.top_kj, "seconds" if self.fixed else "heat"
        )

    def moved_line(self, book):
        """What the words so far have done to the wanted heats."""
        return "wanted heat base {:+d} %, top {:+d} %".format(*words_pct(book))


def words_pct(book):
    """(base, top) per cent by which the cook's words about this evening's breads have moved the wanted heats."""
    return _moved(book, R.BASE), _moved(book, R.TOP)


def _moved(book, field):
    moved, step, before = 0, _WORD_PCT, 0
    for n in range(book.count):
        word = book.get(n, field)
        way = 2 - word if word else 0  # pale: more
        if way:
            if before and way != before:
                step = _WORD_SMALL_PCT  # it was passed
            before = way
            moved = max(-_WORD_MAX_PCT, min(_WORD_MAX_PCT, moved + way * step))
    return moved
