"""What commissioning has earned: `release_c`, the highest setpoint this board may hold, bound to what was
commissioned.

The record carries a fingerprint of board, pin map, probes and high limit. If any of them has changed, the
record no longer
speaks of this oven: the release falls back to the lowest step and the reason is told.
"""

import json

import machine

from tizzone import limits as L
from tizzone.store import crc32

PIN_NAMES = (
    "NAME", "MCU", "HEAT_TOP", "HEAT_DECK", "CONTACTOR", "CONTACTOR_DRIVE", "COOLING_FAN", "ENABLE",
    "LIMIT_OK", "SELECTOR",
    "CONTACTOR_OPEN", "MAINS_SENSE_TOP", "MAINS_SENSE_DECK", "FAN_OK", "DOOR", "MAINTENANCE",
)  # fmt: skip


def _flat(value):
    """A literal of the pin map as text that does not depend on the order of a dict."""
    if isinstance(value, dict):
        return "{" + ",".join([k + ":" + _flat(value[k]) for k in sorted(value)]) + "}"
    return json.dumps(value)


def fingerprint(board, high_limit_c):
    """Eight hex digits of board id, pin map, probes and high limit."""
    parts = [name + "=" + _flat(getattr(board, name, None)) for name in PIN_NAMES]
    parts.append("PROBES=" + _flat(board.PROBES))
    parts.append("high_limit_c=" + str(high_limit_c))
    identity = machine.unique_id()
    return "%08x" % crc32(bytes(identity) + ";".join(parts).encode())


def record(board, high_limit_c, release_c):
    """The record to store after a witnessed step."""
    return {"release_c": release_c, "fingerprint": fingerprint(board, high_limit_c)}


def release(stored, board, high_limit_c):
    """(release_c, reason): what is earned now; reason is "" when the record holds in full."""
    if stored is None:
        return L.RELEASES_C[0], "not commissioned"
    release_c = stored.get("release_c") if isinstance(stored, dict) else None
    if release_c not in L.RELEASES_C:
        return L.RELEASES_C[0], "commissioning record not understood"
    if stored.get("fingerprint") != fingerprint(board, high_limit_c):
        return L.RELEASES_C[0], "board, pin map, probe or high limit changed since commissioning"
    guarded = getattr(board, "LIMIT_OK", None) is not None or "stone" in board.PROBES
    if release_c > L.RELEASE_UNGUARDED_C and not guarded:
        return L.RELEASE_UNGUARDED_C, "neither an independent limiter nor a second probe is wired"
    return release_c, ""
