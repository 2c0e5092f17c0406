"""What commissioning has earned: `release_c`, the highest setpoint this board may hold, bound to what was
commissioned.

The record carries a fingerprint of board, pin map, probes, high limit, corrections, and whether both zones may be on at
once. If any of them has changed, the record no longer speaks of this oven: the release falls back to the lowest step
and the reason is told. A correction that a person stores over the link signs the record anew; one that came with a file
does not.
"""

import json

import machine

from tizzone.memory.store import crc32
from tizzone.safety import limits as L

PIN_NAMES = (
    "NAME", "MCU", "HEAT_TOP", "HEAT_DECK", "CONTACTOR", "CONTACTOR_DRIVE", "COOLING_FAN", "ENABLE",
    "LIMIT_OK", "SELECTOR", "WATCHDOG_MS", "DEADMAN_TIMER",
    "CONTACTOR_OPEN", "MAINS_SENSE_TOP", "MAINS_SENSE_DECK", "FAN_OK", "DOOR", "MAINTENANCE",
)  # fmt: skip


# Witness steps in their order (witness.py), and how many of them must be done for each release.
STEPS = (
    "papers", "electrical", "dead", "lamp", "transfer", "cutoff", "first-heat", "limiter", "identify", "full-heat",
)  # fmt: skip
STEPS_FOR = (0, 6, 8, 9)
SIGNED = ("high_limit_c", "exclusive", "calibration")  # the settings that the record speaks of


def _flat(value):
    """A literal of the pin map as text that does not depend on the order of a dict."""
    if isinstance(value, dict):
        return "{" + ",".join([k + ":" + _flat(value[k]) for k in sorted(value)]) + "}"
    return json.dumps(value)


def fingerprint(board, values):
    """Eight hex digits of board id, pin map, probes and those settings of `values` that are SIGNED."""
    parts = [name + "=" + _flat(getattr(board, name, None)) for name in PIN_NAMES]
    parts.append("PROBES=" + _flat(board.PROBES))
    for name in SIGNED:
        parts.append(name + "=" + _flat(values[name]))
    identity = machine.unique_id()
    return "%08x" % crc32(bytes(identity) + ";".join(parts).encode())


def record(board, values, release_c, done=None):
    """The record to store; `done` = [initials, date, figure] of each witness step, where it was witnessed here."""
    made = {"release_c": release_c, "fingerprint": fingerprint(board, values)}
    if done is not None:
        made["steps"] = done
    return made


def earned_c(count):
    """The release that `count` steps have earned, degrees Celsius."""
    earned = L.RELEASES_C[0]
    for i in range(len(STEPS_FOR)):
        if count >= STEPS_FOR[i]:
            earned = L.RELEASES_C[i]
    return earned


def steps(stored, board, values):
    """The witness steps of a record that still holds, as a list; [] where none count any more."""
    if not isinstance(stored, dict) or stored.get("fingerprint") != fingerprint(board, values):
        return []
    done = stored.get("steps")
    if isinstance(done, list):
        return done if _understood(done) else []
    release_c = stored.get("release_c")
    count = STEPS_FOR[L.RELEASES_C.index(release_c)] if release_c in L.RELEASES_C else 0
    return [["-", "-", 0] for _ in range(count)]  # a record without its steps


def _understood(done):
    return len(done) <= len(STEPS) and all([isinstance(step, list) and len(step) == 3 for step in done])


def release(stored, board, values):
    """(release_c, reason): what is earned now; reason is "" when the record holds in full."""
    if stored is None:
        return L.RELEASES_C[0], "not commissioned"
    release_c = stored.get("release_c") if isinstance(stored, dict) else None
    if release_c not in L.RELEASES_C:
        return L.RELEASES_C[0], "commissioning record not understood"
    done = stored.get("steps")
    if done is not None and not (isinstance(done, list) and _understood(done) and release_c <= earned_c(len(done))):
        return L.RELEASES_C[0], "commissioning record not understood"
    if stored.get("fingerprint") != fingerprint(board, values):
        return L.RELEASES_C[0], "board, pin map, probe, limit, correction or zones changed since commissioning"
    if release_c > L.RELEASE_UNGUARDED_C and getattr(board, "LIMIT_OK", None) is None:
        return L.RELEASE_UNGUARDED_C, "no independent limiter is wired: nothing above 120 without one"
    return release_c, ""


def sign_again(app, curves):
    """A person has stored these corrections: a record that holds goes on to hold, with them. False: not stored."""
    stored = app.memory.commissioning()
    held = not app.release_reason and isinstance(stored, dict)
    app.signed["calibration"] = curves
    if not held:
        return True
    return app.memory.keep_commission(record(app.board, app.signed, stored["release_c"], stored.get("steps")))
