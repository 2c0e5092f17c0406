"""Mutants that no test can tell from the original, of the supervisor and the rules it asks: part of
tools/mutants_equivalent.py, which says how it is kept.
"""

EQUAL = "at equality both branches give the same value"
TRUTH = "only whether it is nought is asked of this number, inside the function's own rules"
SUM = "a sum, capped by days"
ROWS = "each writes a row of the table of its own and reads none"
SMALLER = "the smaller of two, in any order"
APART = "each writes rows and rules of its own and reads none of the other's"
ONE_OF = "a reading is one or the other"
AGAIN = "what is counted first is forgotten in the same tick"

RULES = {
    "safety/supervisor": {
        "Supervisor._judge_oven": ("bd3cf0ea", {
            "1 in 1 if seen.out_pm >= L.FULL_PM else 0 -> 2": TRUTH,
            "1 in 1 if seen.top_on or seen.deck_on or foreign else 0 -> 2": TRUTH,
            "1 in 1 if session and runaway.calm_ms >= L.CALM_MS else 0 -> 2": TRUTH,
            "aged(self._since_session_ms, dt_ms) -> aged(dt_ms, self._since_session_ms)": SUM,
            "flags[L.NO_RISE] = self.no_rise.no_rise -> after flags[L.PROBE_REVERSED] = self.no_rise.reversed": ROWS,
            "flags[L.PROBE_REVERSED] = self.no_rise.reversed -> after flags[L.PROBE_FELL] = fell.fell": ROWS,
            "flags[L.OVER_SETPOINT] = runaway.over -> after flags[L.UNDRIVEN_RISE] = runaway.rising": ROWS,
            "flags[L.PROBE_NEAR_ELEMENT] = self.ripple.near -> after flags[L.PROBES_DISAGREE] = PRESENT if "
            "calm and apart(seen.dome, seen.stone) else ABSENT": ROWS,
            "flags[L.NO_RISE] = flags[L.PROBE_REVERSED] = flags[L.PROBE_FELL] = UNSEEN -> after "
            "flags[L.OVER_SETPOINT] = flags[L.UNDRIVEN_RISE] = flags[L.PROBES_DISAGREE] = UNSEEN": ROWS,
            "flags[L.OVER_SETPOINT] = flags[L.UNDRIVEN_RISE] = flags[L.PROBES_DISAGREE] = UNSEEN -> after "
            "flags[L.PROBE_SLIPPED] = UNSEEN": ROWS,
            "fell.judge(pv_mc, setpoint_mc, session, seen.out_pm, dt_ms) -> after self.no_rise.judge(pv_mc, full, "
            "dt_ms, fell.first_mc, fell.high_mc)": (
                "a reading that makes a new first or highest is no fall below the first; and one tick is less "
                "than the two seconds of probe-reversed"
            ),
        }),
        "Supervisor.lower_limit": ("fd12ab33", {
            "min(limit_mc, self._limit_mc) -> min(self._limit_mc, limit_mc)": SMALLER,
        }),
        "Supervisor._judge_attendance": ("8e6b0e2e", {
            "attendance.judge(seen.dome.pv_mc, seen.setpoint_mc, seen.session, dt_ms) -> "
            "attendance.judge(seen.setpoint_mc, seen.dome.pv_mc, seen.session, dt_ms)": (
                "hot by either of the two, whichever is looked at first"
            ),
            "self.flags[L.ATTENDANCE] = attendance.missed -> after self.flags[L.ATTEND_SOON] = attendance.soon": ROWS,
            "self.flags[L.ATTEND_SOON] = attendance.soon -> after self.flags[L.SESSION_LONG] = "
            "attendance.too_long": ROWS,
        }),
        "Supervisor._judge_reading": ("17f41224", {
            "aged(self._stale_ms, dt_ms) -> aged(dt_ms, self._stale_ms)": SUM,
            "flags[L.PROBE_OPEN] = PRESENT if fault == OPEN else ABSENT -> after flags[L.PROBE_SHORT_GROUND] = "
            "PRESENT if fault == SHORT_GROUND else ABSENT": ROWS,
            "flags[L.PROBE_SHORT_GROUND] = PRESENT if fault == SHORT_GROUND else ABSENT -> after "
            "flags[L.PROBE_SHORT_SUPPLY] = PRESENT if fault == SHORT_SUPPLY else ABSENT": ROWS,
            "flags[L.PROBE_SHORT_SUPPLY] = PRESENT if fault == SHORT_SUPPLY else ABSENT -> after "
            "flags[L.PROBE_SILENT] = PRESENT if silent else ABSENT": ROWS,
            "flags[L.READING_WRONG] = self.unsteady.unsteady -> after flags[L.READING_STALE] = PRESENT if "
            "self._stale_ms > 0 else ABSENT": ROWS,
            "flags[L.READING_FROZEN] = PRESENT if frozen else ABSENT -> after flags[L.HIGH_LIMIT] = PRESENT if "
            "dome.limit_mc >= self._limit_mc else ABSENT": ROWS,
            "flags[L.STONE_PROBE] = ABSENT if stone.usable else PRESENT -> after flags[L.STONE_LIMIT] = "
            "PRESENT if stone.limit_mc >= self._limit_mc + L.STONE_MARGIN_MK else ABSENT": ROWS,
        }),
        "Supervisor._put_limit": ("8c2e3db9", {
            "min(self.release_mc, self._limit_mc - L.SETPOINT_MARGIN_MK) -> min(self._limit_mc - "
            "L.SETPOINT_MARGIN_MK, self.release_mc)": SMALLER,
            "min(limit_mc, self.release_mc + L.RELEASE_MARGIN_MK) -> min(self.release_mc + "
            "L.RELEASE_MARGIN_MK, limit_mc)": SMALLER,
        }),
        "Supervisor.__init__": ("e47e6581", {
            "L.ATTEND_MC in self, high_limit_mc, release_mc, restart_mc=L.RESTART_MC, attend_mc=L.ATTEND_MC, "
            "attend_min=L.ATTEND -> L.RESTART_MC": (
                "held at the highest that is allowed, which the default is"
            ),
        }),
        "Supervisor.judge": ("168c851d", {
            "self._judge_board(seen, late and (not stalled), memory_ok) -> after self._judge_reading(seen, "
            "dt_ms)": APART,
            "self._judge_reading(seen, dt_ms) -> after self._judge_oven(seen, dt_ms)": APART,
            "self._judge_oven(seen, dt_ms) -> after self.wiring_rules.judge(self.flags, seen, dt_ms)": APART,
            "self.wiring_rules.judge(self.flags, seen, dt_ms) -> after self._judge_attendance(seen, dt_ms)": APART,
            "self.warmth.judge(seen, self, self._stale_ms <= L.STALE_OK_MS, dt_ms) -> after self._decide(seen, "
            "late, memory_ok)": (
                "the permit asks nothing of it, and it nothing of the permit"
            ),
        }),
        "Supervisor._judge_board": ("5cecb395", {
            "flags[L.MEMORY_FAULT] = ABSENT if memory_ok else PRESENT -> after flags[L.TICK_LATE] = PRESENT if "
            "late and (seen.session or seen.contactor_on) else ABSENT": ROWS,
            "flags[L.CLOCK_WRONG] = PRESENT if gap_ms > L.CLOCK_ERROR_MS or gap_ms < -L.CLOCK_ERROR_MS else "
            "ABSEN -> after flags[L.SELF_TEST] = PRESENT if self.self_test == FAILED else ABSENT": ROWS,
            "flags[L.SELF_TEST] = PRESENT if self.self_test == FAILED else ABSENT -> after "
            "flags[L.NOT_COMMISSIONED] = PRESENT if self.release_reduced else ABSENT": ROWS,
            "flags[L.NOT_COMMISSIONED] = PRESENT if self.release_reduced else ABSENT -> after "
            "flags[L.REPEATED_TRIPS] = PRESENT if self.locked_out else ABSENT": ROWS,
            "flags[L.BOX_HOT] = PRESENT if box_mc >= L.BOX_TRIP_MC or box_mc <= L.BOX_MIN_MC else ABSENT -> "
            "after flags[L.BOX_WARM] = PRESENT if box_mc >= L.BOX_WARN_MC else ABSENT": ROWS,
        }),
        "Supervisor.restore": ("a15fb6da", {
            "super().restore(latch) -> after self.warmth.remember(latch)": "each takes its own out of the latch",
        }),
    },
    "safety/alarms": {
        "Alarms.note_person": ("02747f9f", {
            "if state == UNACKNOWLEDGED: -> if state == RETURNED:": "a state is one of them",
            "if state == RETURNED: -> if state == LATCHED_UNACKNOWLEDGED:": "a state is one of them",
        }),
        "Alarms.any_of": ("d572897c", {
            "return 0 -> return None": "its callers ask only whether it is nought",
            "1 in return 1 -> 2": "its callers ask only whether it is nought",
        }),
        "Alarms.settle": ("4800566c", {
            "if flag == PRESENT: -> if flag == ABSENT:": "a flag is one or the other",
            "if self.kinds[i] == L.HOLD: -> if self.kinds[i] == L.STOP:": "a kind is one or the other",
            "aged(ages[i], dt_ms) -> aged(dt_ms, ages[i])": SUM,
        }),
        "Alarms.__init__": ("8443aac5", {
            "self.kinds = bytearray([row[1] for row in CONDITIONS]) -> after self._debounce_ms = array('i', "
            "[row[2] for row in CONDITIONS])": (
                "two columns of the same table"
            ),
        }),
    },
    "safety/wiring_rules": {
        "leaking": ("655bca41", {
            "level_ms < most_ms -> level_ms <= most_ms": EQUAL,
            "level_ms > dt_ms -> level_ms >= dt_ms": "the difference is nought at equality",
        }),
        "ZoneCurrent.judge": ("11806f16", {
            "if not live: -> after if sense == _HALF:": (
                "what is counted first is forgotten in the same tick where nothing is live"
            ),
            "aged(self.half_ms, dt_ms) -> aged(dt_ms, self.half_ms)": SUM,
            "aged(self.stuck_ms, dt_ms) -> aged(dt_ms, self.stuck_ms)": SUM,
        }),
        "Chatter.judge": ("e151ff97", {
            "aged(self.since_ms, dt_ms) -> aged(dt_ms, self.since_ms)": SUM,
        }),
        "WiringRules.judge": ("58d8eaa0", {
            "flags[L.LIMITER_OPEN] = 0 if seen.limit_ok else 1 -> after flags[L.ENABLE_OPEN] = 1 if "
            "seen.session and (not seen.enable) else 0": ROWS,
            "flags[L.ENABLE_OPEN] = 1 if seen.session and (not seen.enable) else 0 -> after "
            "flags[L.SELECTOR_ORIGINAL] = 1 if seen.session and (not seen.selector_ours) else 0": ROWS,
            "flags[L.SELECTOR_ORIGINAL] = 1 if seen.session and (not seen.selector_ours) else 0 -> after "
            "flags[L.FAN_STOPPED] = 1 if seen.fan_on and seen.selector_ours and (not seen.fan_ok) else 0": ROWS,
            "flags[L.FAN_STOPPED] = 1 if seen.fan_on and seen.selector_ours and (not seen.fan_ok) else 0 -> "
            "after flags[L.DOOR_OPEN] = 0 if seen.door_shut else 1": ROWS,
            "flags[L.DOOR_OPEN] = 0 if seen.door_shut else 1 -> after flags[L.DEADMAN] = 1 if "
            "seen.deadman_fired else 0": ROWS,
            "flags[L.DEADMAN] = 1 if seen.deadman_fired else 0 -> after flags[L.PIN_READBACK] = 0 if "
            "seen.readback_ok else 1": ROWS,
            "flags[L.PIN_READBACK] = 0 if seen.readback_ok else 1 -> after self._judge_contactor(flags, seen, "
            "dt_ms)": ROWS,
            "self.top.judge(seen.top_sense, seen.top_on, live, dt_ms) -> after self.deck.judge(seen.deck_sense, "
            "seen.deck_on, live, dt_ms)": (
                "each zone knows its own current alone"
            ),
        }),
        "WiringRules._judge_contactor": ("f12cda7e", {
            "flags[L.CONTACTOR_WELDED] = 1 if held_closed else 0 -> after flags[L.CONTACTOR_OPEN] = 1 if "
            "seen.contactor_on and seen.mirror_open == 1 else 0": ROWS,
            "flags[L.CONTACTOR_OPEN] = 1 if seen.contactor_on and seen.mirror_open == 1 else 0 -> after "
            "flags[L.CONTACTOR_CHATTER] = self.chatter.judge(seen, dt_ms) if seen.mirror_open >= 0 else 0": ROWS,
        }),
    },
    "safety/oven_rules": {
        "Unsteady.judge": ("dd4aadd1", {
            "self.level_ms > dt_ms -> self.level_ms >= dt_ms": "the difference is nought at equality",
            "self.level_ms > L.UNSTEADY_MS -> self.level_ms >= L.UNSTEADY_MS": EQUAL,
        }),
        "NoRise.judge": ("4df6be16", {
            "pv_mc > self.window_high_mc -> pv_mc >= self.window_high_mc": EQUAL,
            "aged(self.full_ms, dt_ms) -> aged(dt_ms, self.full_ms)": SUM,
            "if not full: -> after if self.full_ms == 0:": "the first tick at full output opens the window again",
            "if pv_mc > self.window_high_mc: -> after if pv_mc < self.window_high_mc - L.NO_RISE_DROP_MK:": ONE_OF,
        }),
        "Fell.judge": ("8bf0fb58", {
            "pv_mc > self.high_mc -> pv_mc >= self.high_mc": EQUAL,
            "self.high_mc < setpoint_mc -> self.high_mc <= setpoint_mc": EQUAL,
            "pv_mc < self.progress_mc -> pv_mc <= self.progress_mc": EQUAL,
            "if pv_mc >= self.progress_mc + L.FELL_PROGRESS_MK: -> if pv_mc < self.progress_mc:": ONE_OF,
            "aged(self.stall_ms, dt_ms) -> aged(dt_ms, self.stall_ms)": SUM,
            "if not session: -> after self._wake(out_pm, dt_ms)": AGAIN,
            "if pv_mc > self.high_mc: -> after reference_mc = self.high_mc if self.high_mc < setpoint_mc else "
            "setpoint_mc": (
                "a new highest reading is near its reference, the new one or the old"
            ),
            "if pv_mc >= reference_mc - L.FELL_MK: -> after if pv_mc >= self.progress_mc + L.FELL_PROGRESS_MK:": (
                "near the reference both are written again"
            ),
        }),
        "Runaway.judge": ("274f8f6b", {
            "pv_mc > previous_peak_mc -> pv_mc >= previous_peak_mc": EQUAL,
            "self._calm(pv_mc, previous_peak_mc, dt_ms) -> after self._above_setpoint(pv_mc, setpoint_mc, session, "
            "previous_peak_mc, dt_ms)": (
                "neither reads what the other writes"
            ),
            "self._above_setpoint(pv_mc, setpoint_mc, session, previous_peak_mc, dt_ms) -> after "
            "self._undriven(pv_mc, previous_peak_mc, driven, dt_ms)": (
                "neither reads what the other writes"
            ),
        }),
        "Runaway._forget": ("08f35b35", {
            "value_mc <= L.PEAK_FLOOR_MC -> value_mc < L.PEAK_FLOOR_MC": "at the floor nought is lost",
        }),
        "Runaway._above_setpoint": ("47b7d4ba", {
            "setpoint_mc > pv_mc -> setpoint_mc >= pv_mc": EQUAL,
            "peak_mc < reference_mc -> peak_mc <= reference_mc": EQUAL,
            "setpoint_mc > reference_mc -> setpoint_mc >= reference_mc": EQUAL,
            "self.reference_mc < L.OVER_FROM_MC -> self.reference_mc <= L.OVER_FROM_MC": (
                "the margin grows by a tenth of nought there"
            ),
            "over_mk > L.OVER_LOW_MK -> over_mk >= L.OVER_LOW_MK": EQUAL,
            "if not session: -> after reference_mc = self._forget(self.reference_mc, dt_ms)": (
                "a number that is not used then"
            ),
        }),
        "Runaway._undriven": ("370524a6", {
            "self.span_ms = 0 -> pass #3": "the first tick without drive sets it to nought first",
            "aged(self.undriven_ms, dt_ms) -> aged(dt_ms, self.undriven_ms)": SUM,
            "if driven: -> after self.undriven_ms = aged(self.undriven_ms, dt_ms)": AGAIN,
            "if pv_mc < L.UNDRIVEN_FROM_MC or self.undriven_ms < wait_ms: -> after self.span_ms += dt_ms": AGAIN,
        }),
        "Ripple.judge": ("077c6808", {
            "pv_mc > self.extreme_mc -> pv_mc >= self.extreme_mc": (
                "an equal reading is no new extreme, and no turn either, since a turn needs several kelvin"
            ),
            "pv_mc < self.extreme_mc -> pv_mc <= self.extreme_mc": (
                "an equal reading is no new extreme, and no turn either, since a turn needs several kelvin"
            ),
            "if pv_mc > self.extreme_mc: -> if pv_mc <= self.extreme_mc - L.RIPPLE_MK:": ONE_OF,
            "if pv_mc < self.extreme_mc: -> if pv_mc >= self.extreme_mc + L.RIPPLE_MK:": ONE_OF,
        }),
        "apart": ("a8be2437", {
            "1 in 1 if stone.pv_mc > dome.pv_mc + L.DISAGREE_MK else 0 -> 2": (
                "its caller asks only whether it is nought"
            ),
            "return 0 -> return None": "its caller asks only whether it is nought",
        }),
        "WeakElement.judge": ("22d3e3f7", {
            "aged(self.rise_ms, dt_ms) -> aged(dt_ms, self.rise_ms)": SUM,
            "if not self.timing: -> after if not full:": "both leave, and nothing is timed either way",
        }),
        "Runaway._calm": ("07774db3", {
            "aged(self.calm_ms, dt_ms) -> aged(dt_ms, self.calm_ms)": SUM,
        }),
        "Fell._wake": ("e87d307d", {
            "aged(self.rest_ms, dt_ms) -> aged(dt_ms, self.rest_ms)": SUM,
            "if out_pm == 0: -> after if self.rest_ms >= L.FELL_REST_MS:": (
                "the first output after the rest writes it again"
            ),
        }),
    },
}  # fmt: skip
