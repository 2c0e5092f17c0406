"""How often the relays have switched, and how many evenings are left by that count."""

from __future__ import annotations

from typing import Any

import numpy as np

from host.history.findings import Finding, made
from host.mains.life import OPERATIONS

ZONES = {"top": ("Top relay", "relay"), "deck": ("Deck relay", "relay"), "contactor": ("Contactor", "contactor")}
NEAR_SHARE = 0.85  # of the count
NEAR_NIGHTS = 15
LATEST = 10  # evenings that say what an evening costs


def counts(evenings: list[dict[str, Any]], relay_life: int | None = None) -> list[dict[str, Any]]:
    """-> list of {zone, words, used, life, per_evening, evenings_left, exact}; `exact`: the board's own.

    relay_life: operations; 0 leaves the relays out (solid state does not wear by switching), None: the usual figure.
    """
    found = []
    for zone, (words, kind) in ZONES.items():
        life = OPERATIONS[kind].number if relay_life is None or kind != "relay" else relay_life
        each = [evening[f"{zone}_switchings"] for evening in evenings if evening.get(f"{zone}_switchings") is not None]
        if not each or life <= 0:
            continue
        told = [evening["counters"].get(zone) for evening in evenings if evening.get("counters")]
        told = [value for value in told if isinstance(value, int) and not isinstance(value, bool)]
        used = max(sum(each), max(told, default=0))
        per_evening = float(np.median(each[-LATEST:]))
        left = max(0, life - used) / per_evening if per_evening > 0 else None
        found.append(
            {
                "zone": zone,
                "words": words,
                "used": int(used),
                "life": int(life),
                "per_evening": per_evening,
                "evenings_left": None if left is None else int(left),
                "exact": bool(told),
            }
        )
    return found


def wear(evenings: list[dict[str, Any]], relay_life: int | None = None) -> list[Finding]:
    """Findings about contacts near the end of their life by count."""
    found = []
    for one in counts(evenings, relay_life):
        left = one["evenings_left"]
        if one["used"] < NEAR_SHARE * one["life"] and (left is None or left > NEAR_NIGHTS):
            continue
        source = (
            "by the board's counter" if one["exact"] else "in these records alone: what came before them is not counted"
        )
        found.append(
            made(
                f"{one['zone']}_worn",
                f"{one['words']} near the end of its life by count",
                "Replace it before it welds or fails open; a welded one is what contactor and limiter "
                "are for. A solid-state relay does not wear by switching: say --relay-life 0; another figure "
                "of its data sheet: --relay-life N.",
                0.95 if one["exact"] else 0.8,
                [
                    f"Switched on {one['used']:,} times ({source}); usual life {one['life']:,} "
                    "(from memory; the data sheet decides).",
                    f"{one['per_evening']:.0f} an evening, so about {'?' if left is None else left} evenings are left.",
                ],
                str(evenings[-1].get("name", "")),
            )
        )
    return found
