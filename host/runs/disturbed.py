"""When an evening was on, when its breads were laid, what held it, and which injected fault never came."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from host.shim.loader import world

ON = ("running", "held")  # states in which the setpoint is that of an evening; an idle board shows its setting
NOTHING = ("", "0", "none", "None")
SOON_S = 2.0  # a reason is told within this of the hold
PERMISSIVES = {"enable": "enable-open", "selector-ours": "selector-original"}  # what a watched board tells instead
UNTOLD = "held by a person, or by something that the record does not name"


@functools.cache
def sentences() -> dict[str, str]:
    """Condition id -> the device's own words: what it is, and what to do next."""
    names = world().load("tizzone.safety.limits").CONDITION_NAMES
    rows = world().load("tizzone.safety.sentences").rows()
    return {name: " ".join(row).strip() for name, row in zip(names, rows, strict=True)}


def evening_rows(rows: np.ndarray, heating: np.ndarray) -> np.ndarray:
    """Mask of the rows of an evening: running or held; where no row names such a state, those in which a relay was on.

    heating: mask of the rows in which one was."""
    names = rows.dtype.names or ()
    on = np.isin(rows["state"].astype(str), ON) if "state" in names else np.zeros(len(rows), bool)
    return on if on.any() else heating


def loads(rows: np.ndarray, events: list[dict[str, Any]]) -> list[float]:
    """When breads were laid, s: what the events tell, else where the board's stage turns to bake."""
    told = [float(event["t_s"]) for event in events if kind(event) == "load"]
    if told or "stage" not in (rows.dtype.names or ()):
        return told
    bakes = rows["stage"].astype(str) == "bake"
    begun = np.flatnonzero(bakes & ~np.concatenate([[False], bakes[:-1]]))
    return [float(rows["t_s"][number]) for number in begun]


def holds(rows: np.ndarray, events: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Every hold: {t_s, seconds, reason, text}; `reason` is a condition's id or what was missing, "" where untold."""
    end_s = float(rows["t_s"][-1]) if len(rows) else 0.0
    turns = [(float(event["t_s"]), str(event.get("value"))) for event in events if kind(event) == "state"]
    turns = turns or turns_of(rows)
    found = []
    ends = [*(at_s for at_s, _ in turns[1:]), end_s]
    for (from_s, state), to_s in zip(turns, ends, strict=False):  # without a turn there is one end too many
        if state == "held":
            until_s = max(from_s, to_s)
            reason = reason_of(events, from_s, until_s)
            words = sentences().get(reason) or (f"missing: {reason}" if reason else UNTOLD)
            found.append({"t_s": from_s, "seconds": until_s - from_s, "reason": reason, "text": words})
    return found


def turns_of(rows: np.ndarray) -> list[tuple[float, str]]:
    """(t_s, state) wherever the rows' state turns."""
    if "state" not in (rows.dtype.names or ()) or not len(rows):
        return []
    states = rows["state"].astype(str)
    at = [0, *(np.flatnonzero(states[1:] != states[:-1]) + 1)]
    return [(float(rows["t_s"][number]), str(states[number])) for number in at]


def reason_of(events: list[dict[str, Any]], from_s: float, until_s: float) -> str:
    """What is told to have held between these times, "" where nothing is."""
    for event in events:
        said = str(event.get("value", ""))
        near = from_s - SOON_S <= float(event["t_s"]) <= max(until_s, from_s + SOON_S)
        if kind(event) == "hold" and said not in NOTHING and near:
            return PERMISSIVES.get(said, said)
    return ""


def missed(faults: Sequence[str], end_s: float | None) -> list[str]:
    """The injected faults ("name@seconds") whose time never came, since the record ended at `end_s` before it."""
    late = []
    for text in faults:
        _, at, seconds = text.partition("@")
        if at and float(seconds) > (-math.inf if end_s is None else end_s):
            late.append(text)
    return late


def kind(event: dict[str, Any]) -> str:
    """What an event is about, in one word."""
    return str(event.get("kind", event.get("event", "")))
