"""Learning on the board: begin it, look on, and afterwards keep the tuning or put the old one back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from host.link import replies
from host.talk import Refused, asked, settings

TUNED = ("kc_pct_per_k", "ti_s", "td_s", "lead_s", "rise_k_s_pct")
LONGEST_S = 4 * 3600.0
IDLE_S = 3600.0


def tuning(client: Any) -> dict[str, float]:
    """The tuning that the board holds."""
    return {name: settings.value_of(client, name) for name in TUNED}


def said(client: Any) -> str:
    """How the last learning ended, or how it goes on, in the board's words."""
    return asked(client, "learn").partition("learning ")[2]


def asks_for_presence(client: Any) -> bool:
    """Whether the board is about to take the heat off because nobody has confirmed being there."""
    _, states = replies.alarms(client.ask("alarms"))
    return states.get("attend-soon", "returned") != "returned"


def rounds(client: Any, every_s: float) -> Iterator[dict[str, Any]]:
    """One status every so often until the board no longer learns; Refused after the longest time."""
    start_s = client.now_s
    while True:
        words = said(client)
        yield {**replies.status(client.ask("status")), "learning": words, "at_s": client.now_s - start_s}
        if not words.startswith("running"):
            return
        if client.now_s - start_s > LONGEST_S:
            raise Refused(f"the board still learns after {LONGEST_S / 60:.0f} min: look at the oven, send stop")
        client.wait(every_s)


def back_to_idle(client: Any, tell: Callable[[str], None], every_s: float = 1.0) -> None:
    """Wait until nothing runs and make the board idle, so that it takes settings; Refused if it trips."""
    start_s = client.now_s
    told = False
    while True:
        now = replies.status(client.ask("status"))
        if now["state"] == "idle":
            return
        if now["state"] in ("stopped", "complete"):
            asked(client, "reset")
            return
        if now["trip"] != "none" or client.now_s - start_s > IDLE_S:
            raise Refused(f"the board is {now['state']}, trip {now['trip']}: settings change only while idle")
        if not told:
            tell("waiting until the oven has cooled enough for the board to be idle")
            told = True
        client.wait(every_s)


def put_back(client: Any, before: dict[str, float]) -> list[str]:
    """Store the tuning that was there before; the names that were changed."""
    now = tuning(client)
    changed = [name for name in TUNED if now[name] != before[name]]
    for name in changed:
        asked(client, f"setting {name} {before[name]!r}")
    return changed
