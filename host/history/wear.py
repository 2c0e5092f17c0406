"""How often the relays have switched, and how many evenings are left by that count, for the parts that are built.

A solid-state relay does not wear by switching, so it has a count and no life. What is built says the build sheet; where
none is given, the solid-state relays and the contactor of the README's wiring are taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from host.history.findings import Finding, made
from host.mains.life import MANY_EVENINGS, OPERATIONS

ZONES = {"top": "Top relay", "deck": "Deck relay", "contactor": "Contactor"}
SOLID = 0  # operations of a part that switching does not wear
USUAL = {"top": SOLID, "deck": SOLID, "contactor": int(OPERATIONS["contactor"].number)}
NEAR_SHARE = 0.85  # of the count
NEAR_EVENINGS = 15
LATEST = 10  # evenings that say what an evening costs
MANY = int(MANY_EVENINGS)  # evenings; more than this is told as more


def lives_of(sheet: Mapping[str, Any]) -> dict[str, int]:
    """{zone: operations} of the parts in a build sheet (host.mains.sheet): SOLID for a solid-state relay; without the
    contactor where none is fitted. What the sheet does not state is the usual life, from memory."""
    lives = {}
    for zone in ("top", "deck"):
        relay = (sheet.get("relays") or {}).get(zone) or {}
        kind = relay.get("kind", "ssr")
        stated = relay.get("operations")
        lives[zone] = SOLID if kind == "ssr" else int(OPERATIONS[kind].number if stated is None else stated)
    if (sheet.get("contactor") or {}).get("fitted"):
        lives["contactor"] = USUAL["contactor"]
    return lives


def counts(evenings: list[dict[str, Any]], lives: Mapping[str, int] | None = None) -> list[dict[str, Any]]:
    """-> list of {zone, words, used, life, per_evening, evenings_left, is_more, exact}.

    life: None where switching does not wear the part; evenings_left: None then, and at most MANY, with `is_more`;
    exact: by the board's own counter. lives: operations by zone, see `lives_of`; None: USUAL."""
    found = []
    for zone, life in (USUAL if lives is None else lives).items():
        each = [evening[f"{zone}_switchings"] for evening in evenings if evening.get(f"{zone}_switchings") is not None]
        if not each:
            continue
        told = [evening["counters"].get(zone) for evening in evenings if evening.get("counters")]
        told = [value for value in told if isinstance(value, int) and not isinstance(value, bool)]
        used = max(sum(each), max(told, default=0))
        per_evening = float(np.median(each[-LATEST:]))
        left = max(0, life - used) / per_evening if life and per_evening > 0 else None
        found.append(
            {
                "zone": zone,
                "words": ZONES[zone],
                "used": int(used),
                "life": int(life) or None,
                "per_evening": per_evening,
                "evenings_left": None if left is None else min(MANY, int(left)),
                "is_more": left is not None and left > MANY,
                "exact": bool(told),
            }
        )
    return found


def wear(evenings: list[dict[str, Any]], lives: Mapping[str, int] | None = None) -> list[Finding]:
    """Findings about contacts near the end of their life by count."""
    found = []
    for one in counts(evenings, lives):
        left = one["evenings_left"]
        if one["life"] is None or (one["used"] < NEAR_SHARE * one["life"] and (left is None or left > NEAR_EVENINGS)):
            continue
        source = (
            "by the board's counter" if one["exact"] else "in these records alone: what came before them is not counted"
        )
        found.append(
            made(
                f"{one['zone']}_worn",
                f"{one['words']} near the end of its life by count",
                "Replace it before it welds or fails open; a welded one is what contactor and limiter are for. If the "
                "part is another: --sheet BUILD.toml names it, --relay-life N gives its data sheet's figure.",
                0.95 if one["exact"] else 0.8,
                [
                    f"Switched on {one['used']:,} times ({source}); life {one['life']:,} "
                    "(the build sheet's, else from memory; the data sheet decides).",
                    f"{one['per_evening']:.0f} an evening, so about {'?' if left is None else left} evenings are left.",
                ],
                str(evenings[-1].get("name", "")),
            )
        )
    return found
