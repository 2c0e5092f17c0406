"""Mutants that no test can tell from the original, of what a board remembers, has witnessed and lets people do: part of
tools/mutants_equivalent.py, which says how it is kept.
"""

TRUTH = "only whether it is nought or not is ever asked of this value"
SAME = "the same statement in other words"
STORED_LATER = "the trip is stored in a later tick anyway, and the mark stays as open as it was"
ROWS = "a count of steps is never below nought, and none below the first row is earned"
FIRST_ROW = "the first row asks for no step at all: the loop writes it"
ONE_CODE = "made and compared by the same code: any order of the parts speaks of the same things"
EMPTY = "no list has fewer than no entries"
LET_GO = "modules are let go one by one, in any order"
NO_CAUSE = "no port counts a reason of its start below nought"

ROOMS = {
    "link/acts": {
        "Acts.keep_tuning": ("3e80c115", {
            "let_go('tizzone.link.idle_commands', 'tizzone.memory.settings', 'tizzone.parts') -> "
            "let_go('tizzone.memory.settings', 'tizzone.link.idle_commands', 'tizzone.parts')": LET_GO,
            "let_go('tizzone.link.idle_commands', 'tizzone.memory.settings', 'tizzone.parts') -> "
            "let_go('tizzone.link.idle_commands', 'tizzone.parts', 'tizzone.memory.settings')": LET_GO,
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
    },
    "memory/settings": {
        "fault_of": ("00a79e4f", {
            "return None -> return None": SAME,
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
}  # fmt: skip
