"""What commissioning can release with a pin map: the device's own rule and witness steps, asked and never copied.

The device is asked with a map in which only what is wired counts, so that a map of any nonsense can be asked too.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from types import SimpleNamespace
from typing import Any

from host.pins.board import Board
from host.shim.loader import world


@dataclass(frozen=True)
class Reach:
    """`release_c`: the highest setpoint, degC; `step`: the witness step that cannot be done, "" if none; `missing`:
    names of the map that it measures; `reason`: the device's own words where its release rule holds the setpoint."""

    release_c: int
    step: str
    missing: tuple
    reason: str


@cache
def _device():
    """(release module, witness module, limits) of the device."""
    load = world().load
    return (load("tizzone.commissioning.release"), load("tizzone.commissioning.witness"), load("tizzone.safety.limits"))


def releases_c() -> tuple:
    """The steps of the release, degC, lowest first."""
    return _device()[2].RELEASES_C


def _wired(board) -> SimpleNamespace:
    """The map as the device's rule sees it: which names have a pin, which probes and which panel there are."""
    rule = _device()[0]
    made = {name: board.get(name) for name in (*rule.PIN_NAMES, "LED", "BUZZER") if _is_pin(board.get(name))}
    made |= {name: str(board.get(name)) for name in ("NAME", "MCU", "CONTACTOR_DRIVE")}
    probes = board.get("PROBES")
    made["PROBES"] = {name: {} for name in ("dome", "stone") if isinstance(probes, dict) and name in probes}
    made["PANEL"] = {} if isinstance(board.get("PANEL"), dict) else None
    return SimpleNamespace(**made)


def _is_pin(value):
    return isinstance(value, int) and not isinstance(value, bool)


def reach(board: Any, added: Iterable[str] = ()) -> Reach:
    """Reach of a Board; `added`: names of the map taken as wired as well ("stone" for the stone probe)."""
    rule, witness, _ = _device()
    wired = _wired(board)
    for name in added:
        if name == "stone":
            wired.PROBES["stone"] = {}
        else:
            setattr(wired, name, 0)
    step, missing, count = "", (), len(rule.STEPS)
    for number, needs in enumerate(witness.NEEDS):
        missing = tuple(name for name in needs if getattr(wired, name, None) is None)
        if missing:
            step, count = rule.STEPS[number], number
            break
    earned_c, reason = rule.earned_c(count), ""
    signed = dict.fromkeys(getattr(rule, "SIGNED", ()), 0)  # settings that the record speaks of: the rule needs no more
    for release_c in releases_c():
        kept_c, why = rule.release(rule.record(wired, signed, release_c), wired, signed)
        if kept_c < release_c <= earned_c:
            return Reach(kept_c, "", (), why)
    return Reach(earned_c, step, missing, reason)


def missing_for(board: Board, wanted_c: int) -> list[tuple[str, Reach]]:
    """[(name to be wired, why)] until commissioning can release `wanted_c`, degC, or its highest step."""
    found, added = [], []
    aim_c = min(wanted_c, releases_c()[-1])
    for _ in range(2 * len(releases_c()) + len(_device()[0].PIN_NAMES)):
        got = reach(board, added)
        if got.release_c >= aim_c:
            break
        names = got.missing or _that_help(board, added, got)
        if not names:
            found.append(("", got))
            break
        found += [(name, got) for name in names]
        added += names
    return found


def _that_help(board, added, got):
    """The first wire that lifts what the device's release rule holds down."""
    for name in ("LIMIT_OK", "LED", "BUZZER", "PANEL", "stone", *_device()[0].PIN_NAMES):
        lifted = reach(board, [*added, name])
        if lifted.release_c > got.release_c or lifted.reason != got.reason:
            return (name,)
    return ()
