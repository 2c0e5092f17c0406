"""Mutants that no test can tell from the original, of what a board remembers, has witnessed and lets people do: part of
tools/mutants_equivalent.py, which says how it is kept.
"""

TRUTH = "only whether it is nought or not is ever asked of this value"
SAME = "the same statement in other words"
EQUAL = "at equality both branches give the same value"
NO_STEP = "the first step is attested, so the step under way is never number nought"
NEVER_BOTH = "no step begins while one is not stored: the two never come together"
APART = "the two conditions are never true together, so whichever is asked first answers"
WORDS = "one word is one act: whichever is compared first"
BEGIN = "begin() writes it before anything reads it; here for the heap"
STORED_LATER = "the trip is stored in a later tick anyway, and the mark stays as open as it was"
MARKS = "marks of two different bits, in any order"
SIGN = "only its sign is asked"
FAR = "a millikelvin, far from every threshold that it is compared with"
ROWS = "a count of steps is never below nought, and none below the first row is earned"
FIRST_ROW = "the first row asks for no step at all: the loop writes it"
ONE_CODE = "made and compared by the same code: any order of the parts speaks of the same things"
EMPTY = "no list has fewer than no entries"
LET_GO = "modules are let go one by one, in any order"
NO_CAUSE = "no port counts a reason of its start below nought"
WHOLE = "the same whole number after the division"
EITHER = "the smaller of two, in any order"
BIT_ONE = "the first bit is always seen before the second"
TWO_LOOKS = "looks at different things; where both fail in one tick only the wording told is the other's"
LOADING = "how often is collected while loading: what that comes to, tests/pico measures"
ORDER = "the smaller, or the greater, of two, in any order"
NOT_LATE = "a wait of one millisecond is not among those that are late or out of order"
TWICE = "the same call twice"
OURS = "a line of ours has 160 characters at most: only where a damaged one is cut shows it"
TIME = "behind the end of the file nothing is a line: only the time that reading takes differs"
DIGITS = "a space beside the digits is no digit, and the whole line is compared"
CLOSED = "closing flushes too; the flush is for a file system where it does not"
HALF = "half the numbers apart: RFC 1982 leaves open which is the newer"
NEITHER = "two copies of one number: neither is newer, and the answer says one_copy"
BOOL = "a bool is an int"
ROOT = "the root is the board's current folder, and there already"
FIRST_TWO = "a cut between the two leaves one whole copy, whichever comes first"
SENTENCES = "where the writing is refused too, only the order of the two sentences about it"
RESTORED = "evidence is marked and the limit restored in the same tick, in any order"

ROOMS = {
    "app": {
        "App._drive": ("556975bc", {
            "min(FULL, asked_pm * (100 - self.top_share_pct) // 50) -> min(asked_pm * (100 - self.top_share_pct) "
            "// 50, FULL)": ORDER,
            "min(FULL, asked_pm * self.top_share_pct // 50) -> min(asked_pm * self.top_share_pct // 50, FULL)": ORDER,
        }),
        "App._compare_clocks": ("c8251745", {
            "max(-CAP_MS, min(CAP_MS, gap_ms)) -> max(min(CAP_MS, gap_ms), -CAP_MS)": ORDER,
            "min(CAP_MS, gap_ms) -> min(gap_ms, CAP_MS)": ORDER,
        }),
        "App._sense": ("8748eca6", {
            "reading.junction_mc > hottest_mc -> reading.junction_mc >= hottest_mc": EQUAL,
        }),
        "App._wait": ("0e7f0fd4", {
            "max(0, wait_ms - left_ms) -> max(wait_ms - left_ms, 0)": ORDER,
            "min(slice_ms, wait_ms) -> min(wait_ms, slice_ms)": ORDER,
        }),
        "App.step": ("73867383", {
            "0 in wait_ms > 0 -> 1": NOT_LATE,
            "self.panel.poll(0) -> after self.panel.poll(0)": TWICE,
        }),
        "module": ("e8879112", {
            "3000 in const(3000) -> 3001": WHOLE,
        }),
    },
    "parts": {
        "build": ("81a2ed08", {
            "gc.collect() -> pass #2": LOADING,
        }),
    },
    "link/acts": {
        "Acts.keep_tuning": ("923d7bcd", {
            "let_go('tizzone.link.learn_commands', 'tizzone.memory.settings', 'tizzone.parts') -> "
            "let_go('tizzone.memory.settings', 'tizzone.link.learn_commands', 'tizzone.parts')": LET_GO,
            "let_go('tizzone.link.learn_commands', 'tizzone.memory.settings', 'tizzone.parts') -> "
            "let_go('tizzone.link.learn_commands', 'tizzone.parts', 'tizzone.memory.settings')": LET_GO,
        }),
    },
    "memory/memory": {
        "Memory.log_line": ("1d570bac", {
            "return None -> return None": SAME,
        }),
        "Memory.expect_reset": ("ed13e57a", {
            "1 in mark.get('open', 1) -> 2": TRUTH,
        }),
        "Memory.tell_last_end": ("03b1a942", {
            "1 in -1 -> 2": NO_CAUSE,
            "1 in 1 if not isinstance(mark, dict) else mark.get('open', 1) -> 2": TRUTH,
            "1 in mark.get('open', 1) -> 2": TRUTH,
            "if by_watchdog and (not planned): -> after if planned:": STORED_LATER,
        }),
        "Memory.settings": ("13aac919", {
            "if status == 'missing' or status == 'damaged': -> after self._mend('settings', stored, status)": APART,
        }),
        "Memory._mend": ("67e29a4f", {
            "self.faults.append(name + ': one of two copies was lost, the other one is in force') -> after "
            "self._save(name, stored)": SENTENCES,
        }),
    },
    "memory/settings": {
        "fault_of": ("00a79e4f", {
            "return None -> return None": SAME,
        }),
    },
    "memory/store": {
        "_fits": ("14ddfe62", {
            "return False -> return None": TRUTH,
            "(bool, int, str) -> (int, str)": BOOL,
            "if value is None or isinstance(value, (bool, int, str)): -> after if isinstance(value, float):": APART,
            "if isinstance(value, float): -> after if depth and isinstance(value, dict):": APART,
            "if depth and isinstance(value, dict): -> after if depth and isinstance(value, (list, tuple)):": APART,
        }),
        "_in_sequence": ("ac538811", {
            "return False -> return None": TRUTH,
        }),
        "_newest": ("4802d22a", {
            "0 < (b[0] - a[0]) % _WRAP < _WRAP // 2 -> 0 <= (b[0] - a[0]) % _WRAP < _WRAP // 2": NEITHER,
            "0 < (b[0] - a[0]) % _WRAP < _WRAP // 2 -> 0 < (b[0] - a[0]) % _WRAP <= _WRAP // 2": HALF,
            "0 in 0 < (b[0] - a[0]) % _WRAP < _WRAP // 2 -> -1": NEITHER,
        }),
        "Store._read": ("bfdd485b", {
            "return None -> return None": SAME,
            "return None -> return None #2": SAME,
            "4 in 4:8 -> 3": DIGITS,
            "8 in 4:8 -> 9": DIGITS,
            "min(os.stat(path)[6], _HEADER + MAX_BYTES + 1) -> min(_HEADER + MAX_BYTES + 1, os.stat(path)[6])": ORDER,
        }),
        "Store.read_log": ("d6c3def0", {
            "if not line: -> if False:": TIME,
            "break -> pass": TIME,
            "1 in LOG_LINE + 1 -> 0": OURS,
        }),
        "Store.__init__": ("4c163424", {
            "if folder: -> if True:": ROOT,
            "folder + '/' if folder else '' -> folder + '/'": ROOT,
        }),
        "Store._put": ("afdea238", {
            "file.write(line) -> after file.flush()": CLOSED,
        }),
        "Store.save": ("46109ada", {
            "self._replace(name, 0, 0, payload) -> after self._replace(name, 1, 1, payload)": FIRST_TWO,
        }),
    },
    "commissioning/release": {
        "steps": ("a9ef88cf", {
            "0 in STEPS_FOR[L.RELEASES_C.index(release_c)] if release_c in L.RELEASES_C else 0 -> -1": EMPTY,
        }),
        "earned_c": ("27c3d60d", {
            "earned = L.RELEASES_C[0] -> pass": FIRST_ROW,
            "0 in L.RELEASES_C[0] -> 1": FIRST_ROW,
            "0 in L.RELEASES_C[0] -> -1": FIRST_ROW,
        }),
        "module": ("66b4c2f1", {
            "0 in (0, 6, 8, 9) -> -1": ROWS,
        }),
        "fingerprint": ("762a062e", {
            "parts.append('PROBES=' + _flat(board.PROBES)) -> after for name in SIGNED:": ONE_CODE,
        }),
    },
    "commissioning/witness": {
        "_enter": ("d2a03ad1", {
            "w.active >= 0 -> w.active > 0": NO_STEP,
            "0 in w.active >= 0 -> 1": NO_STEP,
            "if w.active >= 0: -> after if w.unsaved:": NEVER_BOTH,
        }),
        "_accept": ("631a3097", {
            "w.active < 0 -> w.active <= 0": NO_STEP,
            "0 in w.active < 0 -> 1": NO_STEP,
        }),
        "command": ("3f3d7ecb", {
            "1000 in CUT_FROM_MC // 1000 -> 999": WHOLE,
            "if act == 'step' and len(words) == 2 and words[1].isdigit(): -> after if act == 'cancel':": WORDS,
            "if act == 'cancel': -> after if act == 'cut':": WORDS,
            "if act == 'cut': -> after if act == 'accept':": WORDS,
            "if act == 'accept': -> after if act == 'restart':": WORDS,
            "if act == 'restart': -> after if act in ('begin', 'attest') and len(words) == 4:": WORDS,
        }),
        "_state": ("8dcb7915", {
            "w.active >= 0 -> w.active > 0": NO_STEP,
            "0 in w.active >= 0 -> 1": NO_STEP,
        }),
        "_lacks": ("723e7313", {
            "1 in 0 if driven and getattr(app.board, 'MAINS_SENSE_' + zone, None) is not None else 1 -> 2": TRUTH,
        }),
        "Witness.restart": ("2a49a852", {
            "return False -> return None": TRUTH,
        }),
        "Witness.tick": ("f43ea37d", {
            "self.active >= 0 -> self.active > 0": NO_STEP,
            "0 in self.active >= 0 -> 1": NO_STEP,
            "if self.active >= 0 and self.bits != self.all_bits: -> after if self.unsaved and (not "
            "app.sequence.session) and (not app.supervisor.permit.granted):": NEVER_BOTH,
        }),
        "Witness.todo": ("dd891165", {
            "self.active >= 0 -> self.active > 0": NO_STEP,
            "0 in self.active >= 0 -> 1": NO_STEP,
        }),
        "Witness.unseen": ("317baa90", {
            "self.active >= 0 -> self.active > 0": NO_STEP,
            "0 in self.active >= 0 -> 1": NO_STEP,
        }),
        "Witness._not_wired": ("f302ad88", {
            "if step == _DEAD and app.stone is None: -> if step == _LAMP:": APART,
            "if step == _LAMP: -> if step == _TRANSFER and (getattr(board, 'FAN_OK', None) is None or "
            "app.heater.fan is None):": APART,
            "_lacks(app, 'TOP') and 1 -> _lacks(app, 'TOP')": SAME,
        }),
        "Witness.__init__": ("9aa60187", {
            "self.by = None -> pass": BEGIN,
            "self.bits = 0 -> pass": BEGIN,
            "self.blind = 0 -> pass": BEGIN,
            "self.all_bits = 0 -> pass": BEGIN,
            "self.base_mc = 0 -> pass": BEGIN,
            "self.base_stone_mc = 0 -> pass": BEGIN,
            "self.was_closed = 0 -> pass": BEGIN,
            "self.cut_asked = 0 -> pass": BEGIN,
            "self.lost_ms = -1 -> pass": BEGIN,
            "-1 -> 1": BEGIN,
            "1 in -1 -> 2": BEGIN,
            "1 in -1 -> 0": BEGIN,
            "0 in self.cut_asked = 0 -> 1": BEGIN,
            "0 in self.cut_asked = 0 -> -1": BEGIN,
            "0 in self.was_closed = 0 -> 1": BEGIN,
            "0 in self.was_closed = 0 -> -1": BEGIN,
            "0 in self.base_stone_mc = 0 -> 1": BEGIN,
            "0 in self.base_stone_mc = 0 -> -1": BEGIN,
            "0 in self.base_mc = 0 -> 1": BEGIN,
            "0 in self.base_mc = 0 -> -1": BEGIN,
            "0 in self.all_bits = 0 -> 1": BEGIN,
            "0 in self.all_bits = 0 -> -1": BEGIN,
            "0 in self.blind = 0 -> 1": BEGIN,
            "0 in self.blind = 0 -> -1": BEGIN,
            "0 in self.bits = 0 -> 1": BEGIN,
            "0 in self.bits = 0 -> -1": BEGIN,
        }),
    },
    "commissioning/evidence": {
        "_full_heat": ("d563d606", {
            "min(_FULL_MC, app.supervisor.ceiling_mc) -> min(app.supervisor.ceiling_mc, _FULL_MC)": EITHER,
            "pv_mc > w.value_mc -> pv_mc >= w.value_mc": EQUAL,
        }),
        "_first_heat": ("74a23be6", {
            "pv_mc > w.value_mc -> pv_mc >= w.value_mc": EQUAL,
        }),
        "_cutoff": ("8a8d7012", {
            "if w.bits & 1 and (not w.bits & 2): -> if w.bits & 2:": APART,
            "2 in w.bits & 2 -> 3": BIT_ONE,
            "2 in w.bits & 2 -> 1": BIT_ONE,
            "w.mark(2) -> after sup.restore_limit()": RESTORED,
        }),
        "_transfer": ("ffccc7d2", {
            "if seen.fan_on and seen.fan_ok and app.sequence.session: -> if not seen.fan_on:": APART,
            "if seen.enable: -> if seen.selector_ours:": APART,
            "if seen.enable and seen.selector_ours: -> after if seen.fan_on and seen.fan_ok and "
            "app.sequence.session:": TWO_LOOKS,
        }),
        "_watch_fall": ("c3497a14", {
            "if w.lost_ms < 0 and w.was_closed: -> if w.lost_ms >= 0:": APART,
        }),
        "_dead": ("66386e45", {
            "if stone_mk >= _HAND_MK: -> if dome_mk >= _HAND_MK and stone_mk < _OTHER_MK:": APART,
            "0 in app.stone.pv_mc - w.base_stone_mc if app.stone else 0 -> 1": FAR,
            "0 in app.stone.pv_mc - w.base_stone_mc if app.stone else 0 -> -1": FAR,
        }),
        "_current": ("277dbc9f", {
            "1 in -1 -> 2": SIGN,
            "1 in return 1 -> 2": SIGN,
        }),
        "_tripped": ("5529d13f", {
            "return False -> return None": TRUTH,
        }),
        "_lamp": ("241499b1", {
            "if seen.top_on and seen.top_sense == 2: -> after if seen.deck_on and seen.deck_sense == 2:": MARKS,
            "if seen.deck_on and seen.deck_sense == 2: -> after if app.sequence.session and app.dome.usable and "
            "(app.dome.pv_mc >= w.base_mc + _LAMP_MK):": MARKS,
        }),
    },
}  # fmt: skip
