"""Mutants that no test can tell from the original, read one by one: module -> {function: (mark, {change: why})}.

The mark is that of the function's code (tools/mutant_tables.py); after any edit of it the reasons are due again:
`python -m tools.mutate --marks` tells which.
"""

from tools.mutants_equivalent_evening import EVENING
from tools.mutants_equivalent_learning import LEARNING
from tools.mutants_equivalent_link import LINK
from tools.mutants_equivalent_rooms import ROOMS
from tools.mutants_equivalent_rules import EQUAL, ONE_OF, RULES, SUM, TRUTH

LOADING = "how often is collected while loading: what that comes to, tests/pico measures"
FORGOTTEN = "the first tick of an evening, or at another setpoint, forgets everything first"
MOMENT = "a millisecond of minutes"
LATER = "what is forgotten moves no pin: the pins follow microseconds later"

EQUIVALENT = {
    "safety/slipped": {
        "Slipped.__init__": ("86686f57", {
            "0 in self.setpoint_mc = 0 -> -1": FORGOTTEN,
            "0 in self.setpoint_mc = 0 -> 1": FORGOTTEN,
            "0 in self.calm_ms = 0 -> -1": FORGOTTEN,
            "0 in self.calm_ms = 0 -> 1": FORGOTTEN,
            "self.calm_ms = 0 -> pass": FORGOTTEN,
            "0 in self.out_64 = 0 -> -1": "the first calm tick writes it before it is read",
            "0 in self.out_64 = 0 -> 1": "the first calm tick writes it before it is read",
            "self.out_64 = 0 -> pass": "the first calm tick writes it before it is read",
            "0 in self.over_ms = 0 -> -1": FORGOTTEN,
            "0 in self.over_ms = 0 -> 1": FORGOTTEN,
            "self.over_ms = 0 -> pass": FORGOTTEN,
            "0 in self.came = 0 -> -1": FORGOTTEN,
            "0 in self.came = 0 -> 1": FORGOTTEN,
            "self.came = 0 -> pass": FORGOTTEN,
            "0 in self.low_mc = self.high_mc = 0 -> -1": (
                "nothing has come to a setpoint: the first tick away writes both, or any reading is far above"
            ),
            "0 in self.low_mc = self.high_mc = 0 -> 1": (
                "nothing has come to a setpoint: the first tick away writes both, or any reading is far above"
            ),
            "0 in self.sag_ms = self.away_ms = 0 -> -1": (
                "what this counts, only an oven asks that has come to its setpoint, and the calm ticks before "
                "write both"
            ),
            "0 in self.sag_ms = self.away_ms = 0 -> 1": (
                "what this counts, only an oven asks that has come to its setpoint, and the calm ticks before "
                "write both"
            ),
            "self.sag_ms = self.away_ms = 0 -> pass": (
                "what this counts, only an oven asks that has come to its setpoint, and the calm ticks before "
                "write both"
            ),
            "0 in self.slipped = 0 -> -1": FORGOTTEN,
            "0 in self.slipped = 0 -> 1": FORGOTTEN,
            "self.slipped = 0 -> pass": FORGOTTEN,
        }),
        "Slipped.judge": ("8ae70dbf", {
            "0 in self.over_ms = 0 -> -1": MOMENT,
            "0 in self.over_ms = 0 -> 1": MOMENT,
            "aged(self.calm_ms, dt_ms) -> aged(dt_ms, self.calm_ms)": SUM,
            "aged(self.over_ms, dt_ms) -> aged(dt_ms, self.over_ms)": SUM,
            "1 in self.came = 1 -> 2": TRUTH,
            "0 in self.least_64 < 0 -> 1": (
                "one tick's output makes less of it than the least that is taken, as nought is"
            ),
            "self.least_64 < 0 -> self.least_64 <= 0": (
                "one tick's output makes less of it than the least that is taken, as nought is"
            ),
            "self.out_64 < self.least_64 -> self.out_64 <= self.least_64": EQUAL,
            "0 in aged(self.over_ms, dt_ms) if self.out_64 >= self.most_64() else 0 -> 1": MOMENT,
            "0 in self.sag_ms = self.away_ms = 0 -> 1": MOMENT,
        }),
        "Slipped._sag": ("d9e332b5", {
            "if not self.came or off_mk > (-L.SAG_MK if spare else -L.SAG_FAR_MK): -> after if pv_mc > self.high_mc:": (
                "near the setpoint both are written again, and the time away is nought or not asked for"
            ),
            "0 in self.sag_ms = 0 -> 1": MOMENT,
            "0 in self.sag_ms = 0 -> 1 #2": MOMENT,
            "if pv_mc > self.high_mc: -> if pv_mc <= self.high_mc - L.AWAY_FALL_MK:": ONE_OF,
            "pv_mc > self.high_mc -> pv_mc >= self.high_mc": EQUAL,
            "0 in self.away_ms = 0 -> -1": MOMENT,
            "0 in self.away_ms = 0 -> 1": MOMENT,
            "if pv_mc >= self.low_mc + L.FELL_PROGRESS_MK: -> if pv_mc < self.low_mc:": ONE_OF,
            "pv_mc < self.low_mc -> pv_mc <= self.low_mc": EQUAL,
            "aged(self.sag_ms, dt_ms) -> aged(dt_ms, self.sag_ms)": SUM,
            "aged(self.away_ms, dt_ms) -> aged(dt_ms, self.away_ms)": SUM,
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
            "self.hottest_mc = _NOBODY_MC -> pass": (
                "unsure before the first tick, which writes it before anybody reads it"
            ),
            "1 in self.unsure = 1 -> 2": TRUTH,
            "False in self.fresh = False -> True": "judge() writes it before attest() reads it",
            "self.fresh = False -> pass": "judge() writes it before attest() reads it",
        }),
        "Warmth.judge": ("2cc1228d", {
            "aged(self.rest_ms, dt_ms) -> aged(dt_ms, self.rest_ms)": SUM,
            "if not dome_doubted: -> after if seen.stone is not None and (not stone_doubted):": (
                "the hotter of two, and the allowance is for a dome that is not taken"
            ),
            "self._heed(seen.dome) -> after if seen.stone is not None:": "the hotter of two, in any order",
        }),
        "Warmth._take": ("c215b85d", {
            "1 in self.unsure = 1 -> 2": TRUTH,
            "probe.pv_mc > self.hottest_mc -> probe.pv_mc >= self.hottest_mc": EQUAL,
            "if probe.pv_mc > self.hottest_mc: -> if True:": (
                "the hotter of two is taken again by _heed in the same tick"
            ),
        }),
        "Warmth.attest": ("d2a65714", {
            "if self.rest_ms < L.ATTEST_MS or value_mc >= L.UNLOCK_MC or (not self.fresh): -> after if not "
            "dome.usable or dome.pv_mc >= L.UNLOCK_MC:": (
                "both refuse, whichever is asked first"
            ),
            "if not dome.usable or dome.pv_mc >= L.UNLOCK_MC: -> after if stone is not None and (not stone.usable "
            "or stone.pv_mc >= L.UNLOCK_MC):": (
                "both refuse, whichever is asked first"
            ),
        }),
        "Warmth.below": ("6b023121", {
            "return 0 -> return None": TRUTH,
            "1 in 1 if self.cold or self.rest_ms >= L.COOLED_MS else 0 -> 2": TRUTH,
        }),
        "Warmth.noted": ("4a13bcc4", {
            "latch['cold'] = self.cold -> after latch['from_cold'] = self.from_cold": (
                "two entries of one dict, in any order"
            ),
        }),
        "Warmth._heed": ("3f6c68da", {
            "probe.pv_mc > self.hottest_mc -> probe.pv_mc >= self.hottest_mc": EQUAL,
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
            "if left_us > 0: -> if True:": (
                "a wait of less than nothing returns at once on both runtimes (MicroPython: extmod/modtime.c, "
                "from memory)"
            ),
        }),
        "Contacts.__init__": ("97ca4dde", {
            "1000 in (_SAMPLES - 1) * self.quarter_us // 1000 -> 999": "the same for 50 and 60 Hz",
            "0 in self._top_bits = self._deck_bits = self._mirror_high = 0 -> -1": "written before it is read",
            "0 in self._top_bits = self._deck_bits = self._mirror_high = 0 -> 1": "written before it is read",
            "self._top_bits = self._deck_bits = self._mirror_high = 0 -> pass": (
                "written before it is read; for the heap"
            ),
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
            "self._account(self.top, top_pm, dt_ms) -> after self._account(self.deck, deck_pm, dt_ms)": (
                "each zone has an account of its own"
            ),
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
        "Heater._begin": ("a1816da7", {
            "aged(self.deck.since_ms, dt_ms) -> aged(dt_ms, self.deck.since_ms)": SUM,
            "aged(self.top.since_ms, dt_ms) -> aged(dt_ms, self.top.since_ms)": SUM,
            "aged(self.contactor_ms, dt_ms) -> aged(dt_ms, self.contactor_ms)": SUM,
        }),
        "Heater.arm_deadman": ("562fd99a", {
            "1 in self._armed = 1 -> 2": TRUTH,
            "1 in 0 if self._soft_only else 1 -> 2": (
                "its one caller, survives_a_hang(), is asked only whether it is nought"
            ),
        }),
        "Heater.heat_off": ("9531bca4", {
            "self.top.set(0) -> after self.deck.set(0)": "either relay may be the first to open",
        }),
        "Heater.prove": ("7b09f114", {
            "if not fresh or not permit.granted or self.deadman_fired: -> after step = self.proof_step": (
                "a number that is not used then"
            ),
            "self.deck.set(1 if _PROOF_TOP <= step < _PROOF_DECK else 0) -> after self._set_contactor(1 if step >= "
            "_PROOF_REST else 0)": (
                "a relay and the contactor never change in the same tick of the test"
            ),
        }),
        "Heater._from_start": ("fcd3d6d5", {
            "if left_ms - owed_ms < self.min_ms: -> after if owed_ms >= (_HALF_TICK_MS if zone.on else self.min_ms):": (
                "both say on, whichever is asked first"
            ),
        }),
        "Heater.drive": ("455c9bff", {
            "self.all_off() -> after self._forget()": LATER,
            "self.heat_off() -> after if not current:": "where a relay was on, the contactor waits for the next tick",
            "if not current: -> after self._forget()": LATER,
            "self.heat_off() -> after self._forget()": LATER,
            "self._forget() -> after if self.deadman_fired:": LATER,
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
    **EVENING,
    **LEARNING,
    **LINK,
    **RULES,
}  # fmt: skip
EQUIVALENT.update(ROOMS)
