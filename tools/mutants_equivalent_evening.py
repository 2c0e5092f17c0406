"""Mutants that no test can tell from the original, as in tools/mutants_equivalent.py: the evening and its buzzer."""

EQUAL = "at equality both branches give the same value"
TRUTH = "only whether it is true is asked of this answer"
ORDER = "both refuse, whichever is asked first"
SAME = "the very same code"

EVENING = {
    "evening/due": {
        "Due.write": ("b0c92b85", {
            "1 in 0 if app.memory.keep_latch(sup) else 1 -> 2": TRUTH,
        }),
    },
    "evening/ramp": {
        "Ramp.moved_mc": ("5d658eaf", {
            "min(setpoint_mc + self._rest // 3600, target_mc) -> min(target_mc, setpoint_mc + self._rest // 3600)": (
                "the smaller or larger of two, in any order"
            ),
            "min(dt_ms, L.LATE_MS) -> min(L.LATE_MS, dt_ms)": "the smaller or larger of two, in any order",
            "min(max(pv_mc, L.SETPOINT_MIN_MC), target_mc) -> min(target_mc, max(pv_mc, L.SETPOINT_MIN_MC))": (
                "the smaller or larger of two, in any order"
            ),
            "max(pv_mc, L.SETPOINT_MIN_MC) -> max(L.SETPOINT_MIN_MC, pv_mc)": (
                "the smaller or larger of two, in any order"
            ),
            "0 in self._rest = 0 -> 1": "a 3600th of 0.001 K",
        }),
        "Ramp.begin": ("6b2defd7", {
            "1 in -1 -> 2": "any number below nought says so",
        }),
        "Ramp.__init__": ("86c59199", {
            "self._rest = -1 -> pass": "begin() writes it before anything moves",
            "-1 -> 1": "begin() writes it before anything moves",
            "1 in -1 -> 2": "begin() writes it before anything moves",
            "1 in -1 -> 0": "begin() writes it before anything moves",
        }),
    },
    "board_io/buzzer": {
        "Buzzer.tick": ("fe103757", {
            "if times and self.beat >= span * times: -> if not times and self.beat >= span:": (
                "a pattern has an end or none, never both"
            ),
            "self.blink + 1 -> self.blink - 1": "it blinks the same way round or back, a tick sooner or later",
            "self.beat = 0 -> pass": "a beat of silence: play() begins its own",
            "if not times and self.beat >= span: -> if False:": (
                "what sounds is the beat's rest by its span: this keeps the number small"
            ),
            "self.beat = 0 -> pass #2": "what sounds is the beat's rest by its span: this keeps the number small",
            "0 in self.beat = 0 -> 1 #2": "a beat of silence: play() begins its own",
            "0 in self.beat = 0 -> -1 #2": "a beat of silence: play() begins its own",
            "self.blink = (self.blink + 1) % (2 * _BLINK) -> after if self.led is not None:": (
                "it blinks the same way round or back, a tick sooner or later"
            ),
        }),
        "Buzzer.__init__": ("7c4d4285", {
            "0 in self.blink = 0 -> 1": "where in its blink the lamp begins is not promised",
            "0 in self.blink = 0 -> -1": "where in its blink the lamp begins is not promised",
            "0 in self.beat = 0 -> 1": "a beat of silence: play() begins its own",
            "0 in self.beat = 0 -> -1": "a beat of silence: play() begins its own",
        }),
        "module": ("8fee7abc", {
            "1 in (1, 1, 1) -> 2 #2": "a pause after the only beat: silence follows anyway",
            "1 in (1, 1, 1) -> 0 #2": "a pause after the only beat: silence follows anyway",
            "1 in (0, 1, 1) -> 2": "silence, however long",
            "1 in (0, 1, 1) -> 2 #2": "silence, however long",
            "1 in (0, 1, 1) -> 0 #2": "silence, however long",
        }),
    },
    "evening/breads": {
        "Breads.take_block": ("2d601e6b", {
            "0 <= block[k] <= 3 -> 0 < block[k] <= 3": "nought is set to nought",
            "0 in 0 <= block[k] <= 3 -> 1": "nought is set to nought",
            "0 in 0 < len(values) <= BLOCK * WIDTH -> 1": "a row of one number is no record either",
            "for value in values: -> after if number * BLOCK != self.count or number >= MOST // BLOCK:": ORDER,
        }),
        "Breads.block": ("a3eeda0f", {
            "max(0, records) -> max(records, 0)": "the smaller or larger of two, in any order",
            "min(self.count - number * BLOCK, BLOCK) -> min(BLOCK, self.count - number * BLOCK)": (
                "the smaller or larger of two, in any order"
            ),
        }),
        "Breads.take_words": ("120ac5c9", {
            "max(20, min(80, share_pct + wanted - self.adjust_pct)) -> max(min(80, share_pct + wanted - "
            "self.adjust_pct), 20)": "the smaller or larger of two, in any order",
            "min(80, share_pct + wanted - self.adjust_pct) -> min(share_pct + wanted - self.adjust_pct, 80)": (
                "the smaller or larger of two, in any order"
            ),
            "max(-ADJUST_MAX_PCT, min(ADJUST_MAX_PCT, self.adjust_pct + change)) -> max(min(ADJUST_MAX_PCT, "
            "self.adjust_pct + change), -ADJUST_MAX_PCT)": "the smaller or larger of two, in any order",
            "min(ADJUST_MAX_PCT, self.adjust_pct + change) -> min(self.adjust_pct + change, ADJUST_MAX_PCT)": (
                "the smaller or larger of two, in any order"
            ),
            "self._set(n, TOP, top) -> after self._set(n, BASE, base)": "two places of one array, in any order",
        }),
        "Breads.line": ("761d846f", {
            "WIDTH in at + WIDTH -> MOST": "no place beyond the tenth is read",
        }),
        "Breads.put": ("8ecb245d", {
            "max(-32768, min(32767, value)) -> max(min(32767, value), -32768)": (
                "the smaller or larger of two, in any order"
            ),
            "min(32767, value) -> min(value, 32767)": "the smaller or larger of two, in any order",
        }),
    },
    "evening/plan_in_force": {
        "PlanInForce.use": ("ffc3aa49", {
            "app.sequence.setpoint_mc > ceiling_mc -> app.sequence.setpoint_mc >= ceiling_mc": EQUAL,
            "plan is not None and _fault(plan) is None -> _fault(plan) is None": "nothing is no plan either",
        }),
        "PlanInForce.__init__": ("0bc9dd89", {
            "self.flow = None -> pass": "use() writes it before anybody reads it",
        }),
        "flow_for": ("2a9bacdd", {
            "return None -> return None": SAME,
            "return None -> return None #2": SAME,
        }),
        "sequence_of": ("24b54fc7", {
            "min(values['setpoint_c'] * 1000, ceiling_mc) -> min(ceiling_mc, values['setpoint_c'] * 1000)": (
                "the smaller of two, in any order"
            ),
        }),
    },
    "evening/sequence": {
        "Sequence._counted": ("6c5cd15d", {
            "self.bakes and self.breads and (self.leg_done >= self.breads) -> self.breads and self.leg_done >= "
            "self.breads": "a leg that bakes nothing has no number of breads",
        }),
        "Sequence._advance": ("bf8733a9", {
            "if stage == PREHEAT: -> if stage == SOAK:": "a stage is one of its names at a time",
            "if stage == SOAK: -> if stage == LIFT:": "a stage is one of its names at a time",
            "if stage == LIFT: -> if stage == RECOVER and pv_mc >= self.setpoint_mc - (EARLY_MK if self.by_heat "
            "else READY_MK):": "a stage is one of its names at a time",
        }),
        "Sequence._cool": ("e8075ab4", {
            "0 in self._below_ms + dt_ms if below else 0 -> 1": "a millisecond of a minute",
            "if self.state == STOPPING: -> after if self.state != ABORTED:": (
                "what is stopping or stopped is not aborted"
            ),
        }),
        "Sequence.step": ("517cc9fa", {
            "if self.state == RUNNING and usable: -> if self.state == HELD and self.stage == BAKE and "
            "(self.stage_ms >= self.bake_ms):": "a state is one of its names at a time, and a stage too",
            "if self.state == HELD and self.stage == BAKE and (self.stage_ms >= self.bake_ms): -> if self.stage "
            "== COOL:": "a state is one of its names at a time, and a stage too",
            "stopping and self.session -> stopping": (
                "stop() asks it again, and without a session there is nothing to hold"
            ),
        }),
        "Sequence.rest": ("13615375", {
            "min(self.rest_mc, self._target_mc) -> min(self._target_mc, self.rest_mc)": (
                "the smaller of two, in any order"
            ),
            "self._set(min(self.rest_mc, self._target_mc)) -> after self._enter(REST)": (
                "neither asks what the other does"
            ),
        }),
        "Sequence.continue_from": ("e3e8ea6f", {
            "self.legs and 0 <= leg < len(self.legs) -> 0 <= leg < len(self.legs)": (
                "without legs no number is below theirs"
            ),
            "0 <= leg < len(self.legs) -> 0 < leg < len(self.legs)": "right after start() the first leg is under way",
            "0 in 0 <= leg < len(self.legs) -> 1": "right after start() the first leg is under way",
        }),
        "Sequence.seconds_left": ("35f2d431", {
            "left_ms > 0 -> left_ms >= 0": "less than a second is no second",
            "0 in left_ms > 0 -> 1": "less than a second is no second",
            "0 in left_ms > 0 -> -1": "less than a second is no second",
            "0 in self.lift_ms if stage == LIFT else 0 -> -1": "less than nothing is nothing left",
        }),
        "Sequence.__init__": ("b60232cb", {
            "self._target_mc = 0 -> pass": "set_setpoint() writes it",
            "self.setpoint_mc = 0 -> pass": "set_setpoint() writes it",
            "self.setpoint_inverted = -1 -> pass": "set_setpoint() writes it",
            "-1 -> 1": "set_setpoint() writes it",
            "1 in -1 -> 2": "set_setpoint() writes it",
            "1 in -1 -> 0": "set_setpoint() writes it",
            "0 in self.setpoint_mc = 0 -> 1": "set_setpoint() writes it",
            "0 in self.setpoint_mc = 0 -> -1": "set_setpoint() writes it",
            "0 in self._below_ms = 0 -> 1": "entering a stage sets it to nought",
            "0 in self._target_mc = 0 -> 1": "set_setpoint() writes it",
            "0 in self._target_mc = 0 -> -1": "set_setpoint() writes it",
        }),
        "Sequence._begin": ("367de47f", {
            "self.ramp.begin() -> after self._enter(stage)": "neither asks what the other does",
        }),
        "Sequence.resume": ("4e0b9a89", {
            "self._set(self._target_mc) -> after self._after_bread()": (
                "the target is then the next leg's, which stands already"
            ),
        }),
    },
    "evening/evening": {
        "Evening._watch_end": ("50628971", {
            "0 in TAUGHT if self.stone.spots_this_evening else 0 -> 1": "that bit is set beside it already",
            "if self._tripped < 0: -> after self.buzzer.play(buzzer.TRIPPED if tripped else buzzer.SILENT)": (
                "counting and sounding ask nothing of each other"
            ),
        }),
        "Evening._share": ("27263fc7", {
            "max(20, min(80, share_pct)) -> max(min(80, share_pct), 20)": "the smaller or larger of two, in any order",
            "min(80, share_pct) -> min(share_pct, 80)": "the smaller or larger of two, in any order",
            "share_pct += self.breads.adjust_pct -> after if seq.stage in (S.LIFT, S.LOAD, S.BAKE):": (
                "a sum, in any order"
            ),
            "if seq.stage in (S.LIFT, S.LOAD, S.BAKE): -> after if self.flow:": "a sum, in any order",
        }),
        "Evening._watch_bread": ("53162abf", {
            "dome_c < book.get(n, R.DOME_LOW) -> dome_c <= book.get(n, R.DOME_LOW)": EQUAL,
            "stone_c < book.get(n, R.STONE_LOW) -> stone_c <= book.get(n, R.STONE_LOW)": EQUAL,
            "not self.breads.count or self.since_bread_ms >= _SAG_MS -> self.since_bread_ms >= _SAG_MS": (
                "of an empty book nothing is lower than its noughts, and nothing is stored"
            ),
            "if stone_c < book.get(n, R.STONE_LOW): -> after if app.dome.usable and dome_c < book.get(n, "
            "R.DOME_LOW):": "two places of one record, in any order",
        }),
        "Evening._turned": ("b24daf8c", {
            "if seq.stage == S.BAKE: -> if seq.stage == S.LOAD:": "a stage is one of its names at a time",
            "before == S.BAKE and self.breads.open -> self.breads.open": (
                "a record is open only while its bread lies there"
            ),
            "1 in 1 if before == S.BAKE and seq.active else 0 -> 2": TRUTH,
            "before == S.RECOVER and self._backing and (seq.stage in (S.LIFT, S.LOAD)) -> self._backing and "
            "seq.stage in (S.LIFT, S.LOAD)": "from a bread only recovery leads to the next load",
            "if before == S.BAKE and self.breads.open: -> after if seq.stage == S.BAKE:": (
                "no stage leads from a bread at once to the next bread or its load"
            ),
        }),
        "Evening._watch_stone": ("4f56c382", {
            "1 in self._judged = 1 -> 2": TRUTH,
            "1 in self._known = 1 -> 2": TRUTH,
            "if seq.stage == S.RECOVER and self._backing: -> after if seq.active and wanted_c:": (
                "the forecast hears of it a tick later"
            ),
        }),
        "Evening._store": ("37537a0a", {
            "0 in self._since_keep_ms = 0 -> 1": "a millisecond of ten seconds",
            "0 in _KEEP_EVERY_MS if (seq.session or app.memory.failed) and (not self.opening) else 0 -> 1": (
                "a tick is longer than a millisecond"
            ),
            "0 in _KEEP_EVERY_MS if (seq.session or app.memory.failed) and (not self.opening) else 0 -> -1": (
                "a tick is longer than a millisecond"
            ),
        }),
        "Evening.tick": ("fa687394", {
            "min(self._since_keep_ms + dt_ms, CAP_MS) -> min(CAP_MS, self._since_keep_ms + dt_ms)": (
                "the smaller or larger of two, in any order"
            ),
            "dt_ms > L.LATE_MS -> dt_ms >= L.LATE_MS": EQUAL,
        }),
        "Evening.__init__": ("b54015f7", {
            "self._bake_ms = 0 -> pass": "the bread that is laid sets it to nought",
            "0 in self._recover_ms = 0 -> 1": "half a millisecond of a mean",
            "0 in self._recover_ms = 0 -> -1": "half a millisecond of a mean",
            "0 in self._bake_ms = 0 -> 1": "the bread that is laid sets it to nought",
            "0 in self._bake_ms = 0 -> -1": "the bread that is laid sets it to nought",
            "1 in -1 -> 2": "any number below nought says that no tick has passed",
            "S.NO_STAGE in self._stage = S.NO_STAGE -> S.PROVE": (
                "an evening that begins with the start test turns from nothing: there is nothing to forget"
            ),
        }),
        "Evening._close_bread": ("eed1f8fe", {
            "if seq.breads_done <= self.done: -> after if seq.legs and wanted_by(seq.legs[self.leg]) and (not "
            "self.flow or self.flow.fixed):": "two notes of one record, in any order",
        }),
    },
}  # fmt: skip
