"""The fault library: what can go wrong in and around an oven, by name.

`parse("relay_welded_top@600")` gives (fault, seconds); FAULTS maps every name to its Fault. What is promised for
each is written beside it; host/drill/campaign.py holds the device to it.
"""

from __future__ import annotations

import difflib
from typing import Any

from host.faults import board, kitchen, power, sensor
from host.faults.base import Fault, FaultError, Promise, Quiet

__all__ = ["FAULTS", "Fault", "FaultError", "Promise", "Quiet", "known", "parse", "table"]

FAULTS = {fault.name: fault for fault in (*sensor.faults(), *power.faults(), *board.faults(), *kitchen.faults())}


def known(name: str) -> Fault:
    """The Fault of a name; FaultError with one line otherwise."""
    if name not in FAULTS:
        near = ", ".join(difflib.get_close_matches(name, FAULTS, 4))
        known_by = f"near: {near}; " if near else ""
        raise FaultError(f"unknown fault {name!r} ({known_by}tizzone drill --table lists all {len(FAULTS)})")
    return FAULTS[name]


def parse(text: str) -> tuple[Fault, float]:
    """(Fault, seconds) of "name@seconds"; FaultError with one line otherwise."""
    name, at, seconds = text.partition("@")
    fault = known(name)
    try:
        at_s = float(seconds) if at else 0.0
    except ValueError:
        at_s = -1.0
    if not 0 <= at_s < 1e7:
        raise FaultError(f"fault {text!r}: say name@seconds, seconds from 0 up")
    return fault, at_s


def table(limits: Any, sentences: Any) -> str:
    """Markdown table of every fault: cause, how it is seen, how fast, what to check.

    `limits`, `sentences`: the device's modules of these names in tizzone.safety."""
    rows = dict(zip(limits.CONDITION_NAMES, sentences.rows(), strict=True))
    lines = ["| cause | seen as | within | what to check |", "| --- | --- | --- | --- |"]
    for fault in FAULTS.values():
        promise = fault.promise("setpoint")
        if promise.quiet:
            lines.append(f"| {fault.description} | does no harm at the setpoint: {promise.quiet} | - | - |")
            continue
        names = [name for name in rows if name in promise.reasons and name != "none"]
        check = rows[names[0]][1] if names else "-"
        moment, _, zone = promise.since.partition("_")
        since = {"fault": "", "heat": " of heat", "off": " of the first off", "on": " of the first on"}[moment]
        since += f" ({zone})" if zone else ""
        since = f" of on time of that relay ({zone})" if promise.while_on else since
        lines.append(f"| {fault.description} | {', '.join(names)} | {promise.within_s:g} s{since} | {check} |")
    return "\n".join(lines) + "\n"
