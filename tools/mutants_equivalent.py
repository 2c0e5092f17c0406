"""Mutants that no test can tell from the original, read one by one: module -> {function: (mark, {change: why})}.

The mark is that of the function's code (tools/mutant_tables.py); after any edit of it the reasons are due again:
`python -m tools.mutate --marks` tells which.
"""

from tools.mutants_equivalent_rooms import ROOMS

EQUAL = "at equality both branches give the same value"
TRUTH = "only whether it is nought is asked of this number, inside the function's own rules"

LOADING = "how often is collected while loading: what that comes to, tests/pico measures"
FORGOTTEN = "the first tick of an evening, or at another setpoint, forgets everything first"
UNWRITTEN = "nothing has come to a setpoint: the first tick away writes both"
MOMENT = "a millisecond of minutes"
SUM = "a sum, capped by days"

EQUIVALENT = {
    "safety/slipped": {
        "Slipped.__init__": ("86686f57", {
            "0 in self.setpoint_mc = 0 -> -1": FORGOTTEN,
            "0 in self.setpoint_mc = 0 -> 1": FORGOTTEN,
            "0 in self.calm_ms = 0 -> -1": FORGOTTEN,
            "0 in self.calm_ms = 0 -> 1": FORGOTTEN,
            "self.calm_ms = 0 -> pass": FORGOTTEN,
            "0 in self.out_64 = 0 -> -1": FORGOTTEN,
            "0 in self.out_64 = 0 -> 1": FORGOTTEN,
            "self.out_64 = 0 -> pass": FORGOTTEN,
            "-1 -> 1": FORGOTTEN,
            "1 in -1 -> 0": FORGOTTEN,
            "1 in -1 -> 2": FORGOTTEN,
            "self.least_64 = -1 -> pass": FORGOTTEN,
            "0 in self.over_ms = 0 -> -1": FORGOTTEN,
            "0 in self.over_ms = 0 -> 1": FORGOTTEN,
            "self.over_ms = 0 -> pass": FORGOTTEN,
            "0 in self.came = 0 -> -1": FORGOTTEN,
            "0 in self.came = 0 -> 1": FORGOTTEN,
            "self.came = 0 -> pass": FORGOTTEN,
            "0 in self.low_mc = self.high_mc = 0 -> -1": UNWRITTEN,
            "0 in self.low_mc = self.high_mc = 0 -> 1": UNWRITTEN,
            "0 in self.sag_ms = self.away_ms = 0 -> -1": FORGOTTEN,
            "0 in self.sag_ms = self.away_ms = 0 -> 1": FORGOTTEN,
            "self.sag_ms = self.away_ms = 0 -> pass": FORGOTTEN,
            "0 in self.slipped = 0 -> -1": FORGOTTEN,
            "0 in self.slipped = 0 -> 1": FORGOTTEN,
            "self.slipped = 0 -> pass": FORGOTTEN,
        }),
        "Slipped.judge": ("c675dc2d", {
            "if setpoint_mc < L.SLIP_FROM_MC: -> after if off_mk > L.CALM_MK or off_mk < -L.CALM_MK:": (
                "nothing is counted below that setpoint, so nothing has come to it that could sag"
            ),
            "0 in self.calm_ms = 0 -> -1": MOMENT,
            "0 in self.calm_ms = 0 -> 1": MOMENT,
            "0 in self.over_ms = 0 -> -1": MOMENT,
            "0 in self.over_ms = 0 -> 1": MOMENT,
            "0 in self.away_ms = 0 -> 1": MOMENT,
            "self.over_ms = 0 -> pass": "it settles anew first, and then its output is the least",
            "aged(self.calm_ms, dt_ms) -> aged(dt_ms, self.calm_ms)": SUM,
            "aged(self.over_ms, dt_ms) -> aged(dt_ms, self.over_ms)": SUM,
            "1 in self.came = 1 -> 2": TRUTH,
            "0 in self.least_64 < 0 -> 1": "nought and nothing are both below the least that is taken",
            "self.least_64 < 0 -> self.least_64 <= 0": "nought and nothing are both below the least that is taken",
            "self.out_64 < self.least_64 -> self.out_64 <= self.least_64": EQUAL,
            "0 in aged(self.over_ms, dt_ms) if self.out_64 >= self.most_64() else 0 -> -1": MOMENT,
            "0 in aged(self.over_ms, dt_ms) if self.out_64 >= self.most_64() else 0 -> 1": MOMENT,
        }),
        "Slipped._sag": ("d9e332b5", {
            "if not self.came or off_mk > (-L.SAG_MK if spare else -L.SAG_FAR_MK): -> after "
            "if pv_mc > self.high_mc:": "near the setpoint both are written again",
            "0 in self.sag_ms = 0 -> 1": MOMENT,
            "0 in self.sag_ms = 0 -> 1 #2": MOMENT,
            "self.low_mc = self.high_mc = pv_mc -> pass": (
                "the first tick below takes the low all the same, and the high within the kelvin of that edge"
            ),
            "if pv_mc > self.high_mc: -> if pv_mc <= self.high_mc - L.AWAY_FALL_MK:": "a reading is one or the other",
            "pv_mc > self.high_mc -> pv_mc >= self.high_mc": EQUAL,
            "0 in self.away_ms = 0 -> -1": MOMENT,
            "0 in self.away_ms = 0 -> 1": MOMENT,
            "if pv_mc >= self.low_mc + L.FELL_PROGRESS_MK: -> if pv_mc < self.low_mc:": "a reading is one or the other",
            "pv_mc < self.low_mc -> pv_mc <= self.low_mc": EQUAL,
            "aged(self.sag_ms, dt_ms) -> aged(dt_ms, self.sag_ms)": SUM,
            "aged(self.away_ms, dt_ms) -> aged(dt_ms, self.away_ms)": SUM,
            "1 in self.slipped = 1 -> 2": TRUTH,
        }),
        "Slipped.most_64": ("a5a546dc", {
            "100 in bounded((self.setpoint_mc - L.SLIP_ROOM_MC) // L.SLIP_SPAN_K, 100, 1300) -> 101": (
                "the same whole number after the division"
            ),
            "self.least_64 > least_64 -> self.least_64 >= least_64": EQUAL,
            "most_64 > full_64 -> most_64 >= full_64": EQUAL,
        }),
    },
    "main": {
        "module": ("b46eeff8", {
            "32768 in gc.threshold(32768) -> 32767": LOADING,
            "32768 in gc.threshold(32768) -> 32769": LOADING,
            "gc.threshold(32768) -> pass": LOADING,
        }),
    },
    "safety/warmth": {
        "module": ("11ced6b0", {
            "1000000 in -1000000 -> 1000001": "any number that no reading can be",
            "1000000 in -1000000 -> 999999": "any number that no reading can be",
        }),
        "Warmth.__init__": ("c9c21ed4", {
            "self.hottest_mc = _NOBODY_MC -> pass": "judge() writes it before below() reads it",
            "1 in self.unsure = 1 -> 0": "before the first tick nothing else says cold either",
            "1 in self.unsure = 1 -> 2": TRUTH,
            "0 in self.rest_ms = 0 -> -1": "a millisecond of an hour; the grace window has counted before any heat",
            "0 in self.rest_ms = 0 -> 1": "a millisecond of an hour; the grace window has counted before any heat",
            "1 in self.from_cold = 1 -> 0": "written at the first heat, which the grace window's rest goes before",
            "1 in self.from_cold = 1 -> 2": TRUTH,
            "False in self.fresh = False -> True": "judge() writes it before attest() reads it",
            "self.fresh = False -> pass": "judge() writes it before attest() reads it",
        }),
        "Warmth.judge": ("72cb2ebc", {
            "aged(self.rest_ms, dt_ms) -> aged(dt_ms, self.rest_ms)": "a sum, capped by days",
            "if not dome_doubted: -> after if seen.stone is not None and (not stone_doubted):": (
                "the hotter of two, and the allowance is for a dome that is not taken"
            ),
        }),
        "Warmth._take": ("c215b85d", {
            "1 in self.unsure = 1 -> 2": TRUTH,
            "probe.pv_mc > self.hottest_mc -> probe.pv_mc >= self.hottest_mc": EQUAL,
        }),
        "Warmth.attest": ("d2a65714", {
            "if self.rest_ms < L.ATTEST_MS or value_mc >= L.UNLOCK_MC or (not self.fresh): -> after "
            "if not dome.usable or dome.pv_mc >= L.UNLOCK_MC:": "both refuse, whichever is asked first",
            "if not dome.usable or dome.pv_mc >= L.UNLOCK_MC: -> after "
            "if stone is not None and (not stone.usable or stone.pv_mc >= L.UNLOCK_MC):": (
                "both refuse, whichever is asked first"
            ),
        }),
        "Warmth.below": ("6b023121", {
            "return 0 -> return None": TRUTH,
            "1 in 1 if self.cold or self.rest_ms >= L.COOLED_MS else 0 -> 2": TRUTH,
        }),
    },
    "safety/supervisor": {
        "Supervisor._judge_oven": ("bd3cf0ea", {
            "1 in 1 if seen.out_pm >= L.FULL_PM else 0 -> 2": TRUTH,
            "1 in 1 if seen.top_on or seen.deck_on or foreign else 0 -> 2": TRUTH,
            "1 in 1 if session and runaway.calm_ms >= L.CALM_MS else 0 -> 2": TRUTH,
        }),
    },
    "safety/attendance": {
        "Attendance.__init__": ("5407d6d8", {
            "min(L.ATTEND_WARN_MS, self.attend_ms // 2) -> min(self.attend_ms // 2, L.ATTEND_WARN_MS)": (
                "the smaller of two, in any order"
            ),
        }),
        "Attendance.judge": ("31a66db2", {
            "aged(self.session_ms, dt_ms) -> aged(dt_ms, self.session_ms)": SUM,
            "aged(self.alone_ms, dt_ms) -> aged(dt_ms, self.alone_ms)": SUM,
        }),
    },
    "safety/own_writes": {
        "OwnWrites.excuse": ("9bb97256", {
            "0 in 0 < dt_ms <= L.OWN_WRITE_MS -> 1": "asked about late ticks alone, which 1 ms is not",
            "1 in return 1 -> 2": TRUTH,
            "return 0 -> return None": TRUTH,
        }),
    },
    "board_io/contacts": {
        "Contacts.sample": ("c8a84be2", {
            "0 in left_us > 0 -> -1": "waiting for 0 us is no wait",
            "left_us > 0 -> left_us >= 0": "waiting for 0 us is no wait",
            "1 in self._sampled = 1 -> 2": TRUTH,
            "1000 in self.quarter_us // 1000 -> 999": "the same for 50 and 60 Hz",
        }),
        "Contacts.__init__": ("a5a733a3", {
            "1000 in (_SAMPLES - 1) * self.quarter_us // 1000 -> 999": "the same for 50 and 60 Hz",
            "0 in self._top_bits = self._deck_bits = 0 -> -1": "written before it is read",
            "0 in self._top_bits = self._deck_bits = 0 -> 1": "written before it is read",
            "self._top_bits = self._deck_bits = 0 -> pass": "written before it is read; for the heap",
        }),
    },
    "board_io/heater": {
        "_plausible": ("acb8ffd4", {
            "dt_ms > L.LATE_MS -> dt_ms >= L.LATE_MS": EQUAL,
        }),
        "Heater.run_fan": ("5b542f0a", {
            "1 in 0 if on else 1 -> 2": "the pin takes any number but nought as high",
        }),
        "Heater._set_contactor": ("d9efbd74", {
            "self.pulse_drive and on -> self.pulse_drive": "low before low is no edge",
        }),
        "Heater._proportion": ("111742e7", {
            "top_pm + deck_pm > FULL -> top_pm + deck_pm >= FULL": "a sum of FULL scales to itself",
        }),
        "Heater._account": ("2c2ee454", {
            "zone.debt > most -> zone.debt >= most": EQUAL,
            "zone.debt < -most -> zone.debt <= -most": EQUAL,
            "want_pm < 0 -> want_pm <= 0": EQUAL,
            "0 in want_pm < 0 -> 1": "nought is the only whole number between, and stays nought",
            "want_pm > FULL -> want_pm >= FULL": EQUAL,
        }),
        "Heater._share": ("f02ab752", {
            "on == zone.on or zone.since_ms >= self.min_ms -> zone.since_ms >= self.min_ms": (
                "where on equals zone.on both answers are the same"
            ),
        }),
    },
    "safety/oven_rules": {
        "Unsteady.judge": ("dd4aadd1", {
            "self.level_ms > dt_ms -> self.level_ms >= dt_ms": "the difference is nought at equality",
            "self.level_ms > L.UNSTEADY_MS -> self.level_ms >= L.UNSTEADY_MS": EQUAL,
        }),
        "NoRise.judge": ("4df6be16", {
            "pv_mc > self.window_high_mc -> pv_mc >= self.window_high_mc": EQUAL,
        }),
        "Fell.judge": ("8bf0fb58", {
            "return -> pass #2": "a reading that is its own maximum is near its reference: forgotten too",
            "pv_mc > self.high_mc -> pv_mc >= self.high_mc": EQUAL,
            "self.high_mc < setpoint_mc -> self.high_mc <= setpoint_mc": EQUAL,
            "pv_mc < self.progress_mc -> pv_mc <= self.progress_mc": EQUAL,
        }),
        "Runaway.judge": ("274f8f6b", {
            "pv_mc > previous_peak_mc -> pv_mc >= previous_peak_mc": EQUAL,
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
        }),
        "Runaway._undriven": ("8a9c8432", {
            "self.span_ms = 0 -> pass #3": "the first tick without drive sets it to nought first",
        }),
        "Ripple.judge": ("077c6808", {
            "pv_mc > self.extreme_mc -> pv_mc >= self.extreme_mc": (
                "an equal reading is no new extreme, and no turn either, since a turn needs several kelvin"
            ),
            "pv_mc < self.extreme_mc -> pv_mc <= self.extreme_mc": (
                "an equal reading is no new extreme, and no turn either, since a turn needs several kelvin"
            ),
        }),
    },
    "integers": {
        "aged": ("38623e11", {
            "age_ms < CAP_MS -> age_ms <= CAP_MS": EQUAL,
        }),
        "bounded": ("b23a47c4", {
            "value < low -> value <= low": EQUAL,
            "value > high -> value >= high": EQUAL,
        }),
    },
}  # fmt: skip
EQUIVALENT.update(ROOMS)
