"""Learns an oven by a relay experiment at 250 degrees Celsius or below, and says what it thinks of the result.

An Experiment is asked once a tick for its output and never touches a pin: supervisor and heater stay in charge, and
a person may stop it at any time. At each level: full output up to it, then output 0 or 100 % by the sign of the
deviation, until the stone has settled; then the model of `modelfit` is fitted to the last ten minutes, a little a tick
and with the output at 0. The tuning in force is changed by nobody but `result()["tuning"]` being stored: an experiment
that failed has none.
"""

from tizzone.learning import tuning as T
from tizzone.learning.judgement import fault_of, judgement
from tizzone.learning.model_fit import SAMPLES, Window
from tizzone.learning.sunk import Sunk
from tizzone.learning.swings import Swings

LEVEL_MAX_C = 250.0
QUICK_S = 2.0  # a sample; ten minutes are kept
SLOW_S = 6.0  # half an hour, for an oven that swings too seldom, and then an hour at the last level
HYSTERESIS_K = 2.5
OVER_K = 35.0  # above the level: stop
RISE_MAX_S = 3600.0
SETTLE_MAX_S = 7200.0
MORE = 1.2  # of five minutes' mean against the five before; undisturbed 1.14 where the swings are few
SETTLED_PCT = 12.0  # the mean output of one five minutes against the next, relative
FIRST_S = 300.0
RISE_SHARE = 0.90  # what one per cent adds at 450 degrees against 220: simulated ovens 0.57..1.1; less winds up
AGREE_LOW = 0.4  # rate per per cent by the fit against that by the rise: simulated ovens 0.8..2.4
AGREE_HIGH = 3.0
LAST_K = 30.0  # of a rise at full output; their time to the second level against that to the first, losses left out:
SLOWER = 1.1  # undisturbed 0.72..1.04, mains 12 % down between the two 1.19 and more (200 simulated layered ovens)
JUMP_K = 4.0  # from one tick to the next: no closed oven does that
FALL_K = 3.0  # nor falls so far in FALL_S: simulated, closed at most 2 K, a door at 220 with a 4.5 mm sheath 5 K
FALL_S = 4
SWITCHES_MIN = 7
WHY = ": was the mains changed, or a bread laid?"
RISE, RELAY, FIT, DONE = range(4)


class Experiment:
    """`step(pv_c, dt_s) -> out_pct` every tick until `done`; then `result()`.

    `levels_c`: one or two rising levels; two give the steady power model. `pid_filter_s` and `wait_s` (half a window)
    count in the margins. ValueError for levels that may not be.
    """

    def __init__(self, levels_c=(150.0, 220.0), ambient_c=20.0, pid_filter_s=4.0, wait_s=5.0):
        levels_c = tuple(levels_c)
        if not 1 <= len(levels_c) <= 2 or not 60.0 <= levels_c[0] <= levels_c[-1] <= LEVEL_MAX_C - 20.0:
            raise ValueError("one or two levels of 60..230 degrees Celsius are needed, the lower first")
        if len(levels_c) == 2 and levels_c[1] - levels_c[0] < 40.0:
            raise ValueError("the two levels must lie 40 K apart or more")
        self.levels_c = levels_c
        self.ambient_c = ambient_c
        self.pid_filter_s, self.wait_s = pid_filter_s, wait_s
        self.reason = ""
        self.steady = []  # (level, mean output) of each level
        self.fit = self._judgement = self.tuning = None
        self.quality = {}
        self._at = 0
        self._slope_k_s = self._rise_k_s_pct = 0.0  # of the newest rise; by each % beyond what the level needs
        self._out_pct = self._high_pct = 100.0
        self._swing_watch = Swings()
        self._stone_watch = Sunk()
        self._sealed = 0  # the last record is closed: 1 until a heating half begins, 2 until it ends
        self._last_s = self._last_before_s = 0.0  # that the last kelvins of this rise took, and of the one before
        self._past_c, self._past_s = [], 0.0  # one reading a second, then the newest
        self._sample_s = QUICK_S
        self._enter(RISE)
        self._window = Window(levels_c[0])

    @property
    def done(self):
        """True when nothing more will be asked for."""
        return self.phase == DONE

    def stop(self, reason="stopped"):
        """End now; nothing is learned."""
        if self.phase != DONE:
            self.reason = reason
            self.tuning = None
            self._enter(DONE)

    def step(self, pv_c, dt_s, stone_c=None):
        """One tick; returns the output to be in force until the next, %. `stone_c`: of a probe that is believed."""
        if self.phase == DONE:
            return 0.0
        if not -50.0 < pv_c < 600.0 or not 0.0 < dt_s <= 2.0:  # also refuses NaN
            self.stop("a reading or a tick was missing")
            return 0.0
        self._phase_s += dt_s
        if pv_c > min(self.levels_c[self._at] + OVER_K, LEVEL_MAX_C):
            self.stop("the reading went too far above the level")
            return 0.0
        if self.phase == FIT:
            self._work()
            return 0.0
        sampled = not self._sealed and self._window.add(pv_c, self._out_pct, dt_s)
        if self._jumped(pv_c, dt_s):
            self.stop("the reading jumped: was the door opened?")
            return 0.0
        if self._stone_watch.add(stone_c, pv_c, dt_s):
            self.stop("the stone sank: was a bread laid?")
            return 0.0
        if self.phase == RISE:
            self._rise(pv_c, dt_s)
        else:
            self._relay(pv_c, dt_s, sampled)
        return self._out_pct if self.phase != DONE else 0.0

    def result(self):
        """dict: ok, reason, tuning (None unless ok), model, steady, power, quality."""
        fit = self.fit
        model = None
        if fit is not None and fit.best is not None:
            model = {"k": fit.best[1], "theta_s": fit.times[0], "tau1_s": fit.times[1], "tau2_s": fit.times[2]}
        power = None
        if len(self.steady) == 2:
            power = T.power_model(*self.steady[0], *self.steady[1], self.ambient_c)
        return {
            "ok": self.tuning is not None,
            "reason": self.reason,
            "tuning": self.tuning,
            "model": model,
            "steady": self.steady,
            "power": power if self.tuning else None,
            "quality": self.quality,
        }

    # --- phases ----------------------------------------------------------------------------------

    def _enter(self, phase):
        self.phase = phase
        self._phase_s = 0.0

    def _jumped(self, pv_c, dt_s):
        """Did the reading leap, or fall as no closed oven's does?"""
        past = self._past_c
        if not past:
            past.extend([pv_c] * (FALL_S + 1))
        leap_k = pv_c - past[FALL_S]
        past[FALL_S] = pv_c
        self._past_s += dt_s
        if self._past_s >= 1.0:  # past[0] is then 3 s old, and before it is moved on 4
            self._past_s -= 1.0
            for i in range(FALL_S - 1):
                past[i] = past[i + 1]
            past[FALL_S - 1] = pv_c
        return not -JUMP_K < leap_k < JUMP_K or past[0] - pv_c > FALL_K

    def _rise(self, pv_c, dt_s):
        self._out_pct = 100.0
        short_k = self.levels_c[self._at] - pv_c
        if short_k <= LAST_K:
            self._last_s += dt_s
        if short_k <= 0.0:
            if self._at > 0:
                self.quality["slower"] = self._last_s * self._spare(1) / (self._last_before_s * self._spare(0))
                if self.quality["slower"] > SLOWER:
                    self.stop("full output heats less than before" + WHY)
                    return
            self._last_before_s, self._last_s = self._last_s, 0.0
            self._slope_k_s = self._slope()
            self._first_pct = 0.0
            self._out_pct = 0.0
            self._window.begin(self.levels_c[self._at], self._sample_s)
            self._swing_watch.begin(1 if self._high_pct < 100.0 else 0)
            self._enter(RELAY)
        elif self._phase_s > RISE_MAX_S:
            self.stop("the level was not reached in an hour")

    def _spare(self, at):
        """What of full output heats the oven further in the last kelvins to a level, %: losses by the first level's."""
        held_c, held_pct = self.levels_c[0] - self.ambient_c, self.steady[0][1]
        return max(5.0, 100.0 - held_pct * (self.levels_c[at] - 0.5 * LAST_K - self.ambient_c) / held_c)

    def _slope(self):
        """K/s between two means that lie 20 samples apart."""
        window = self._window
        count = window.count
        if count < 24:
            return 0.0
        new = old = 0.0
        for i in range(4):
            new += window.at(count - 1 - i)[0]
            old += window.at(count - 21 - i)[0]
        return (new - old) / 4.0 / (20 * window.sample_s)

    def _relay(self, pv_c, dt_s, sampled):
        deviation_k = self.levels_c[self._at] - pv_c
        wanted = self._out_pct
        if deviation_k > HYSTERESIS_K:
            wanted = self._high_pct
        elif deviation_k < -HYSTERESIS_K:
            wanted = 0.0
        odd = self._swing_watch.add(pv_c, dt_s, self._out_pct > 0.0)
        if wanted != self._out_pct:
            self._out_pct = wanted
            odd = self._swing_watch.turned(wanted > 0.0, self._high_pct) or odd
            if self._sealed and (wanted > 0.0 or self._sealed == 2):
                self._sealed += 1
        if self._phase_s <= FIRST_S:
            self._first_pct += self._out_pct * dt_s / FIRST_S
        if odd:
            self.stop("it swings as it did not before" + WHY)
        elif self._sealed > 2:
            self._through()
        elif sampled and self._window.count == SAMPLES:
            self._full()
        elif self._phase_s > SETTLE_MAX_S:
            self.stop("the oven did not settle: was the mains changed, or the door ajar?")

    def _full(self):
        """The record is full, and one sample newer: has the oven settled?"""
        window = self._window
        few = self._swings() < SWITCHES_MIN
        if few and self._longer():
            return
        half = SAMPLES // 2
        first = window.whole_swings(0, half)[1]
        last_k, last = window.whole_swings(half, SAMPLES)
        if abs(last - first) * 100.0 < SETTLED_PCT * last:
            self._settled(first, last, last_k)
        elif last > MORE * first and not few:  # an oven that warms through needs less and less
            self.stop("the oven needs more than before" + WHY)

    def _longer(self):
        """Too few swings in the record: keep a longer one. False if it is the longest."""
        if self._sample_s == QUICK_S:
            self._slower()
            return True
        if self._window.sample_s > SLOW_S or self._at + 1 < len(self.levels_c):
            return False
        self._window.coarsen()
        return True

    def _slower(self):
        """Half an hour instead of ten minutes, and heat less hard."""
        self._sample_s = SLOW_S
        self._high_pct = max(30.0, min(100.0, 2.5 * self._window.mean_out(0, SAMPLES)))
        if self._out_pct > 0.0:
            self._out_pct = self._high_pct
        self._window.begin(self.levels_c[self._at], self._sample_s)
        self._swing_watch.begin(1)

    def _settled(self, first, last, last_k):
        self.steady.append((self.levels_c[self._at] + last_k, last))
        # full output rose by the slope, the mean output of the first minutes at the level kept it there
        self._rise_k_s_pct = self._slope_k_s / (100.0 - min(self._first_pct, 99.0))
        if self._at + 1 < len(self.levels_c):
            self._swing_watch.over()
            self._out_pct = 0.0
            self._at += 1
            self._window.begin(self.levels_c[self._at], self._sample_s)
            self._enter(RISE)
            return
        self.quality["settling_pct"] = (last - first) / last * 100.0
        self.quality["switches"] = self._swings()
        if self.quality["switches"] < SWITCHES_MIN:
            self.stop("too few swings in an hour: the oven answers too slowly")
            return
        self._sealed = 1

    def _through(self):
        """A whole heating half after the record was like those before it: fit, unless the heat has weakened."""
        weaker = self._swing_watch.over()
        self.quality["weaker"] = self._swing_watch.weaker
        self._enter(FIT)
        if weaker:
            self.stop("the heat achieves less than before" + WHY)

    def _swings(self):
        """Changes of the output within the record."""
        window = self._window
        found = 0
        most = self._high_pct
        high = window.at(0)[1] > 0.5 * most
        for i in range(1, window.count):
            out = window.at(i)[1]
            if (out > 0.75 * most and not high) or (out < 0.25 * most and high):
                high = not high
                found += 1
        return found

    def _work(self):
        """A piece of the fit; at its end the judgement."""
        if self._judgement is None:
            self._judgement = judgement(self._window, self.quality, self.pid_filter_s, self.wait_s)
        self.fit, reason, found = next(self._judgement)  # one piece a tick
        if found:
            rise = self._rise_k_s_pct
            found["rise_k_s_pct"] = RISE_SHARE * rise
            reason = fault_of(found)
            model = self.fit.best[1] / self.fit.times[1]
            if not rise * AGREE_LOW < model < rise * AGREE_HIGH:
                reason = "the swings and the rise before them tell of two different ovens"
        if reason:
            self.stop(reason)
        elif found:
            self.tuning = found
            self._enter(DONE)
