"""Mutants that no test can tell from the original, as in tools/mutants_equivalent.py: probes, control, learning."""

EQUAL = "at equality both branches give the same value"
TRUTH = "only whether it is true is asked of this answer"
SUM = "a sum, capped, in any order"
ORDER = "both refuse, whichever is asked first"
SAME = "the very same code"
MEASURED = "a measured ratio is not that number to its last bit"
OF_TWO = "the smaller or larger of two, in any order"
APART = "neither knows of the other"
NOUGHT_OR_30 = "the output is nought, or 30 and more"

LEARNING = {
    "probes/conditioning": {
        "_median": ("079fed2e", {
            "a > b -> a >= b": EQUAL,
            "b > c -> b >= c": EQUAL,
            "a > b -> a >= b #2": EQUAL,
        }),
        "_far": ("22b581da", {"return False -> return None": TRUTH}),
        "Conditioner._accept": ("d7813742", {
            "_median(ring[0], ring[1], ring[2]) -> _median(ring[1], ring[0], ring[2])": (
                "the middle of three, in any order"
            ),
            "_median(ring[0], ring[1], ring[2]) -> _median(ring[0], ring[2], ring[1])": (
                "the middle of three, in any order"
            ),
            "ring[0] = corrected_mc -> pass": "the other two are alike: they are the median, and move down",
            "0 in ring[0] -> 1 #3": "the other two are alike: they are the median, and move down",
            "0 in ring[0] -> -1 #3": "the other two are alike: they are the median, and move down",
            "if self._ref_mc == NO_VALUE_MC or self._ref_ms > _ELAPSED_MAX_MS: -> after ring[2] = corrected_mc": (
                "three places of one array, in any order"
            ),
            "ring[0] = corrected_mc -> after ring[1] = corrected_mc": (
                "the other two are alike: they are the median, and move down"
            ),
        }),
        "Conditioner._is_jump": ("619a685b", {
            "self._new_count = 0 -> pass": (
                "the next reading is near the reference, or as far from this level as from it: the count starts anew"
            ),
            "return False -> return None": TRUTH,
            "0 in self._new_count = 0 -> 1": (
                "the next reading is near the reference, or as far from this level as from it: the count starts anew"
            ),
            "0 in self._new_count = 0 -> -1": (
                "the next reading is near the reference, or as far from this level as from it: the count starts anew"
            ),
            "self._new_count and _far(value_mc, junction_mc, self._new_mc, self._new_junction_mc, _TICK_MS) -> "
            "_far(value_mc, junction_mc, self._new_mc, self._new_junction_mc, _TICK_MS)": (
                "a count of nought stays nought"
            ),
            "return False -> return None #2": TRUTH,
            "if not _far(value_mc, junction_mc, self._ref_mc, self._ref_junction_mc, self._ref_ms): -> after if "
            "self._new_count and _far(value_mc, junction_mc, self._new_mc, self._new_junction_mc, _TICK_MS):": (
                "both only start the count anew"
            ),
        }),
        "Conditioner._judge": ("ab9c2895", {
            "corrected_mc > value_mc -> corrected_mc >= value_mc": EQUAL,
            "_add_ms(self.same_ms, dt_ms) -> _add_ms(dt_ms, self.same_ms)": SUM,
            "_add_ms(self._age_ms, dt_ms) -> _add_ms(dt_ms, self._age_ms)": SUM,
            "_add_ms(self.same_ms, dt_ms) -> _add_ms(dt_ms, self.same_ms) #2": SUM,
        }),
        "Conditioner.update": ("cf860a90", {
            "_add_ms(self.bad_ms, dt_ms) -> _add_ms(dt_ms, self.bad_ms)": SUM,
            "_add_ms(self._ref_ms, dt_ms) -> _add_ms(dt_ms, self._ref_ms)": SUM,
            "dt_ms > 60000 -> dt_ms >= 60000": EQUAL,
            "60000 in dt_ms > 60000 -> 59999": EQUAL,
        }),
        "Conditioner.calibrated_mc": ("18a03546", {
            "reading_mc <= p[i] -> reading_mc < p[i]": (
                "at a point two pieces meet, but for the step of 0.032 K that the curve is told in"
            ),
            "reading_mc <= p[0] -> reading_mc < p[0]": (
                "at the first point the first piece adds nothing to its correction"
            ),
        }),
        "Conditioner.__init__": ("318e4fbb", {
            "self._code_lo = -1 -> pass": "the other half, -1, is in no answer: both are written with the first one",
            "self._ref_junction_mc = NO_VALUE_MC -> pass": "written with the reference, without which it is not read",
            "self._new_mc = NO_VALUE_MC -> pass": "written with the first count, without which it is not read",
            "self._new_junction_mc = NO_VALUE_MC -> pass": "written with the first count, without which it is not read",
            "0 in self._new_count = 0 -> 1": (
                "the level it would have to agree with is -300 degrees: the count starts anew"
            ),
            "0 in self._new_count = 0 -> -1": (
                "the level it would have to agree with is -300 degrees: the count starts anew"
            ),
            "0 in self._ref_ms = 0 -> 1": (
                "the first reading that is taken sets it to nought, and until then it is not asked"
            ),
            "0 in self._ref_ms = 0 -> -1": (
                "the first reading that is taken sets it to nought, and until then it is not asked"
            ),
            "-1 -> 1": "the other half, -1, is in no answer: both are written with the first one",
            "1 in -1 -> 2": "the other half, -1, is in no answer: both are written with the first one",
            "1 in -1 -> 0": "the other half, -1, is in no answer: both are written with the first one",
            "-1 -> 1 #2": "the other half, -1, is in no answer: both are written with the first one",
            "1 in -1 -> 2 #2": "the other half, -1, is in no answer: both are written with the first one",
            "1 in -1 -> 0 #2": "the other half, -1, is in no answer: both are written with the first one",
            "0 in self._age_ms = 0 -> 1": "not asked before the first answer, which sets it to nought",
            "0 in self._age_ms = 0 -> -1": "not asked before the first answer, which sets it to nought",
            "3 in [NO_VALUE_MC] * 3 -> 4": "a fourth place that nobody reads",
            "0 in self._count = 0 -> 1": "the places are nought until a curve is taken, and so is what they correct by",
            "0 in self._count = 0 -> -1": (
                "the places are nought until a curve is taken, and so is what they correct by"
            ),
            "0 in [0] -> 1": "no place of it is read before a curve has been written there",
            "0 in [0] -> -1": "no place of it is read before a curve has been written there",
        }),
        "_exceeds": ("d3dcf7fc", {
            "if elapsed_ms < _TICK_MS: -> if elapsed_ms > _ELAPSED_MAX_MS:": (
                "a time is below the one or above the other, never both"
            ),
            "change_mc >= 0 -> change_mc > 0": "a change of nought or of 0.001 K is within either limit",
            "0 in change_mc >= 0 -> 1": "a change of nought or of 0.001 K is within either limit",
            "0 in change_mc >= 0 -> -1": "a change of nought or of 0.001 K is within either limit",
            "elapsed_ms < _TICK_MS -> elapsed_ms <= _TICK_MS": EQUAL,
            "elapsed_ms > _ELAPSED_MAX_MS -> elapsed_ms >= _ELAPSED_MAX_MS": EQUAL,
        }),
        "_add_ms": ("60f48429", {"age_ms < _SATURATED_MS -> age_ms <= _SATURATED_MS": EQUAL}),
        "calibration_fault": ("bc4d327b", {
            "return None -> return None": SAME,
            "if not _CALIBRATION_LOW_MC <= reading <= _CALIBRATION_HIGH_MC: -> after if not -_CORRECTION_MAX_MC "
            "<= correction <= _CORRECTION_MAX_MC:": ORDER,
            "if not -_CORRECTION_MAX_MC <= correction <= _CORRECTION_MAX_MC: -> after if last is not None and "
            "(reading <= last[0] or reading + correction <= last[0] + last[1]):": ORDER,
        }),
        "Conditioner.set_calibration": ("605ab670", {
            "self._points[2 * i] = points[i][0] -> after self._points[2 * i + 1] = points[i][1]": (
                "two places of one array, in any order"
            ),
        }),
    },
    "learning/learning": {
        "Learning.tick": ("eb34aa88", {
            "let_go(*_OF_THE_EXPERIMENT) -> after app.sequence.set_setpoint(min(app.settings['setpoint_c'] * 1000, "
            "app.supervisor.ceiling_mc))": "a setpoint needs no room",
            "min(app.settings['setpoint_c'] * 1000, app.supervisor.ceiling_mc) -> min(app.supervisor.ceiling_mc, "
            "app.settings['setpoint_c'] * 1000)": "the smaller of two, in any order",
            "not made.done and (not app.seen.door_shut) -> not app.seen.door_shut": (
                "stop() of an experiment that is done does nothing"
            ),
            "not made.done and (app.sequence.state != S.RUNNING or not app.dome.usable) -> app.sequence.state != "
            "S.RUNNING or not app.dome.usable": "stop() of an experiment that is done does nothing",
        }),
        "Learning.begin": ("9b68df22", {
            "Experiment(levels_c=_LEVELS_C, ambient_c=room_c, pid_filter_s=app.pid.filter_s, wait_s=app.heater.wi "
            "-> Experiment(ambient_c=room_c, pid_filter_s=app.pid.filter_s, wait_s=app.heater.window_ms * 0.0005)": (
                "these two levels are the experiment's own as well"
            ),
        }),
        "Learning.refusal": ("fd10efc2", {
            "if app.supervisor.ceiling_mc < CEILING_MC: -> after if app.sequence.state != S.IDLE:": ORDER,
            "if app.sequence.state != S.IDLE: -> after if app.dome.usable and app.dome.pv_mc >= _START_MAX_MC:": ORDER,
        }),
    },
    "control/pid": {
        "Pid.update": ("c0a7b1f4", {
            "asked_pct < 0.0 -> asked_pct <= 0.0": EQUAL,
            "asked_pct > limit_pct -> asked_pct >= limit_pct": EQUAL,
            "deviation_k > self.slow_k_s * self.lead_s -> deviation_k >= self.slow_k_s * self.lead_s": (
                "where both are equal to the last bit the approach is over now or a tick later"
            ),
            "100.0 in asked_pct = 100.0 -> 200.0": "the limit is 100 at most, and more than it is the limit",
            "min(self.calm_s + dt_s, _LIMITED_S) -> min(_LIMITED_S, self.calm_s + dt_s)": OF_TWO,
            "jump_k_s > 0.0 -> jump_k_s >= 0.0": "a leap of nought takes nought off",
        }),
        "Pid._limit": ("8ee4c8ce", {
            "min(most_pct, 100.0) -> min(100.0, most_pct)": OF_TWO,
            "setpoint_c > _LIMIT_TO_C -> setpoint_c >= _LIMIT_TO_C": "at that setpoint the rise adds nought",
            "max(_LIMIT_RATIO * self.integral_pct, self.integral_pct + _LIMIT_MORE_PCT) -> max(self.integral_pct "
            "+ _LIMIT_MORE_PCT, _LIMIT_RATIO * self.integral_pct)": OF_TWO,
        }),
        "Pid._arrive": ("04819c67", {
            "min(self.integral_pct - hold_pct, _FADE_PCT) -> min(_FADE_PCT, self.integral_pct - hold_pct)": OF_TWO,
            "max(hold_pct, min(balance_pct, 100.0)) -> max(min(balance_pct, 100.0), hold_pct)": OF_TWO,
            "min(balance_pct, 100.0) -> min(100.0, balance_pct)": OF_TWO,
            "max(self.integral_pct, min(balance_pct, most_pct)) -> max(min(balance_pct, most_pct), "
            "self.integral_pct)": OF_TWO,
            "min(balance_pct, most_pct) -> min(most_pct, balance_pct)": OF_TWO,
        }),
        "Pid._listen": ("0ead6824", {"min(self.answer_s, _ANSWER_MAX_S) -> min(_ANSWER_MAX_S, self.answer_s)": OF_TWO}),
        "Pid._fastest": ("7a0b4f65", {"min(_RATE_MAX_K_S, fastest) -> min(fastest, _RATE_MAX_K_S)": OF_TWO}),
        "Pid._filter": ("d0dca87c", {
            "rate > fastest -> rate >= fastest": EQUAL,
            "return -> pass": "the first reading differs from itself by nought: every rate stays nought",
        }),
        "Pid.__init__": ("ca50db7a", {
            "min(td_s, _GAIN_TIME_WINDOW / window_s / self.kc_pct_per_k) -> min(_GAIN_TIME_WINDOW / window_s / "
            "self.kc_pct_per_k, td_s)": OF_TWO,
            "min(kc_pct_per_k, _GAIN_WINDOW / window_s) -> min(_GAIN_WINDOW / window_s, kc_pct_per_k)": OF_TWO,
        }),
        "_within": ("2c66b68b", {
            "value > most -> value >= most": EQUAL,
            "value < -most -> value <= -most": EQUAL,
        }),
        "_steady": ("52327fc5", {"rise < _STEADY_MIN -> rise <= _STEADY_MIN": EQUAL}),
    },
    "learning/experiment": {
        "Experiment._work": ("7ab3bef1", {
            "rise * AGREE_LOW < model < rise * AGREE_HIGH -> rise * AGREE_LOW <= model < rise * AGREE_HIGH": MEASURED,
            "rise * AGREE_LOW < model < rise * AGREE_HIGH -> rise * AGREE_LOW < model <= rise * AGREE_HIGH": MEASURED,
        }),
        "Experiment._swings": ("045c9c3c", {
            "1 in range(1, window.count) -> 0": "the first sample is what it is compared with",
        }),
        "Experiment._settled": ("3e64ce04", {
            "self._window.begin(self.levels_c[self._at], self._sample_s) -> after self._enter(RISE)": APART,
            "min(self._first_pct, 99.0) -> min(99.0, self._first_pct)": OF_TWO,
            "self.quality['settling_pct'] = (last - first) / last * 100.0 -> after self.quality['switches'] = "
            "self._swings()": "two places of one record, in any order",
        }),
        "Experiment._slower": ("82bb2dda", {
            "self._window.begin(self.levels_c[self._at], self._sample_s) -> after self._swing_watch.begin(1)": APART,
            "0.0 in self._out_pct > 0.0 -> 1.0": NOUGHT_OR_30,
            "max(30.0, min(100.0, 2.5 * self._window.mean_out(0, SAMPLES))) -> max(min(100.0, 2.5 * "
            "self._window.mean_out(0, SAMPLES)), 30.0)": OF_TWO,
            "min(100.0, 2.5 * self._window.mean_out(0, SAMPLES)) -> min(2.5 * self._window.mean_out(0, SAMPLES), "
            "100.0)": OF_TWO,
        }),
        "Experiment._longer": ("2727f1df", {"return False -> return None": TRUTH}),
        "Experiment._full": ("01b7e3f2", {
            "if abs(last - first) * 100.0 < SETTLED_PCT * last: -> if last > MORE * first and (not few):": (
                "within 12 % is never a fifth more"
            ),
        }),
        "Experiment._relay": ("d7962d8f", {
            "if deviation_k > HYSTERESIS_K: -> if deviation_k < -HYSTERESIS_K:": (
                "a deviation is above or below, never both"
            ),
            "0.0 in self._out_pct > 0.0 -> 1.0": NOUGHT_OR_30,
            "0.0 in wanted > 0.0 -> 1.0": NOUGHT_OR_30,
            "0.0 in wanted > 0.0 -> 1.0 #2": NOUGHT_OR_30,
            "if self._sealed > 2: -> if sampled and self._window.count == SAMPLES:": (
                "a record that is closed takes no sample"
            ),
        }),
        "Experiment._rise": ("584fcd44", {
            "self._window.begin(self.levels_c[self._at], self._sample_s) -> after self._swing_watch.begin(1 if "
            "self._high_pct < 100.0 else 0)": APART,
            "self.quality['slower'] > SLOWER -> self.quality['slower'] >= SLOWER": MEASURED,
            "self._swing_watch.begin(1 if self._high_pct < 100.0 else 0) -> after self._enter(RELAY)": (
                "the watch does not ask for the phase"
            ),
        }),
        "Experiment._spare": ("180bf1a2", {
            "0 in self.steady[0] -> -1": "while it rises to the second level, only the first has been held",
            "max(5.0, 100.0 - held_pct * (self.levels_c[at] - 0.5 * LAST_K - self.ambient_c) / held_c) -> max(100.0 - "
            "held_pct * (self.levels_c[at] - 0.5 * LAST_K - self.ambient_c) / held_c, 5.0)": OF_TWO,
        }),
        "Experiment._slope": ("a9fcecd5", {
            "0.0 in new = old = 0.0 -> 1.0": "both begin alike, and only their difference counts",
            "0.0 in new = old = 0.0 -> -1.0": "both begin alike, and only their difference counts",
        }),
        "Experiment._jumped": ("652d23bc", {
            "-JUMP_K < leap_k < JUMP_K -> -JUMP_K <= leap_k < JUMP_K": "a fall of 4 K is one of more than 3",
            "1 in FALL_S - 1 -> 0 #2": "the last place is written right after",
        }),
        "Experiment.step": ("0024e2c2", {
            "min(self.levels_c[self._at] + OVER_K, LEVEL_MAX_C) -> min(LEVEL_MAX_C, self.levels_c[self._at] + "
            "OVER_K)": OF_TWO,
            "if self.phase == DONE: -> after if not -50.0 < pv_c < 600.0 or not 0.0 < dt_s <= 2.0:": (
                "nothing is asked for either way, and stop() of what is done does nothing"
            ),
            "if self._jumped(pv_c, dt_s): -> after if self._stone_watch.add(stone_c, pv_c, dt_s):": ORDER,
            "if self._stone_watch.add(stone_c, pv_c, dt_s): -> after if self.phase == RISE:": (
                "ended either way, and nothing is learned of a record that was ended"
            ),
        }),
        "Experiment.__init__": ("65abe616", {
            "0.0 in ([], 0.0) -> 1.0": (
                "until then every place holds the first reading: where its seconds begin is not promised"
            ),
            "0.0 in self._slope_k_s = self._rise_k_s_pct = 0.0 -> 1.0": "reaching and holding the level write them",
            "0.0 in self._slope_k_s = self._rise_k_s_pct = 0.0 -> -1.0": "reaching and holding the level write them",
            "levels_c = tuple(levels_c) -> after if not 1 <= len(levels_c) <= 2 or not 60.0 <= levels_c[0] <= "
            "levels_c[-1] <= LEVEL_MAX_C - 20.0:": "of a list and of a tuple both ask the same",
            "if not 1 <= len(levels_c) <= 2 or not 60.0 <= levels_c[0] <= levels_c[-1] <= LEVEL_MAX_C - 20.0: -> "
            "after if len(levels_c) == 2 and levels_c[1] - levels_c[0] < 40.0:": ORDER,
        }),
    },
    "learning/swings": {
        "Swings.add": ("3940561d", {
            "pv_c > self._high_c -> pv_c >= self._high_c": EQUAL,
            "pv_c < self._low_c -> pv_c <= self._low_c": EQUAL,
        }),
        "Swings._swing": ("5da02c35", {
            "0.5 * (achieved + self._newest) - self._sum / self._count < math.log(FADED[self._rough]) -> 0.5 * "
            "(achieved + self._newest) - self._sum / self._count <= math.log(FADED[self._rough])": MEASURED,
        }),
        "Swings.over": ("0230712b", {"self.weaker < WEAKER -> self.weaker <= WEAKER": MEASURED}),
    },
    "learning/sunk": {
        "Sunk.add": ("7cc3c458", {"max(0.0, stone_c - pv_c) -> max(stone_c - pv_c, 0.0)": OF_TWO}),
    },
}  # fmt: skip
