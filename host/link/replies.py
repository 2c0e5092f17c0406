"""The board's replies as values: degrees Celsius, per cent, plain words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from host.link import LinkError

# What a person does about each permissive that is not good.
REMEDIES = {
    "armed": "wait: the board is starting",
    "no-trip": "read the trip, look at the oven, then acknowledge",
    "no-hold": "close what was opened, then resume",
    "no-stop": "the evening has ended; start again when you choose to",
    "enable": "close the ENABLE key",
    "limiter": "find out why the independent limiter opened, then reset it by hand",
    "selector-ours": "turn the transfer switch through OFF to OURS",
    "fan": "check the cooling fan and its contact",
    "door-shut": "shut the door",
    "reading": "check the dome probe",
    "below-limit": "let the oven cool",
}

# What is said of each permissive where it is good and where it is not; the latter in the words of the board's own cue.
SAID = {
    "armed": ("the board is armed", "still starting"),
    "no-trip": ("nothing has tripped", "a trip stands"),
    "no-hold": ("nothing holds the heat", "held"),
    "no-stop": ("nobody asks for stop", "stop is asked"),
    "enable": ("ENABLE is closed", "ENABLE is open"),
    "limiter": ("limiter is closed", "limiter is open"),
    "selector-ours": ("switch is on OURS", "switch not OURS"),
    "fan": ("fan turns", "fan stands still"),
    "door-shut": ("door is shut", "door is open"),
    "reading": ("dome is read", "no dome reading"),
    "below-limit": ("dome is below its limit", "dome is too hot"),
}


def said(name: str, is_good: bool) -> str:
    """A permissive in words, as it is now; its name where a newer board has one that we do not know."""
    return SAID[name][0 if is_good else 1] if name in SAID else name.replace("-", " ")


def pairs(reply: str) -> dict[str, str]:
    """{name: text} of `ok a=1 b=2 ...`; LinkError for a refusal or a stranger's words."""
    if not reply.startswith("ok"):
        raise LinkError(f"the board says: {reply}")
    return dict(part.split("=", 1) for part in reply[3:].split() if "=" in part)


def celsius(text: Any) -> float | None:
    """°C of a field in 0.001 °C; None for none, or for a probe that has never answered."""
    try:
        value_mc = int(text)
    except (TypeError, ValueError):
        return None
    return value_mc / 1000 if -300_000 < value_mc < 2_000_000 else None


def whole_number(text: Any) -> int:
    """An int of a field; 0 where it is missing or no number."""
    try:
        return int(text)
    except (TypeError, ValueError):
        return 0


def status(reply: str) -> dict[str, Any]:
    """The `status` reply as a dict with units in the names."""
    got = pairs(reply)
    if "pv_mc" not in got or "state" not in got:
        raise LinkError("the board's status is not understood: load the board with this version (tizzone deploy)")
    missing = got.get("missing", "none")
    return {
        "pv_c": celsius(got["pv_mc"]),
        "stone_pv_c": celsius(got.get("stone_mc")),
        "setpoint_c": celsius(got.get("setpoint_mc")),
        "out_pct": whole_number(got.get("out_pm")) / 10,
        "heat_top": whole_number(got.get("top")),
        "heat_deck": whole_number(got.get("deck")),
        "contactor": whole_number(got.get("contactor")),
        "permit": whole_number(got.get("permit")),
        "state": got["state"],
        "stage": got.get("stage", "none"),
        "left_s": whole_number(got.get("left_s")),
        "breads": whole_number(got.get("breads")),
        "trip": got.get("trip", "none"),
        "limit_c": celsius(got.get("limit_mc")),
        "release_c": celsius(got.get("release_mc")),
        "box_c": celsius(got.get("box_mc")),
        "missing": [] if missing == "none" else missing.split(","),
    }


def permissives(reply: str) -> list[tuple[str, bool, str]]:
    """[(name, good, what to do if not)] of the `permissives` reply, in the board's order."""
    return [(name, text == "1", REMEDIES.get(name, "")) for name, text in pairs(reply).items()]


def alarms(reply: str) -> tuple[str, dict[str, str]]:
    """(first trip, {condition: alarm state}) of the `alarms` reply."""
    got = pairs(reply)
    return got.pop("first_out", "none"), got


def glance(reply: str) -> dict[str, Any] | None:
    """The `glance` reply, the cook's cue, as a dict; None from a board whose program is older and has none.

    doing, do, when: the board's own words; urgent: now; stone: degrees or None, stone_off: its uncertainty, 0 where it
    is measured; unit: C or F of every number in it."""
    parts = reply[3:].split("|")
    if not reply.startswith("ok ") or len(parts) != 7:
        return None
    doing, do, when, urgent, stone, off, unit = parts
    return {
        "doing": doing,
        "do": do,
        "when": when,
        "urgent": urgent == "1",
        "stone": None if stone == "none" else whole_number(stone),
        "stone_off": whole_number(off),
        "unit": unit,
    }


def in_unit(value_c: float | None, unit: str) -> str:
    """`450 °C` or `842 °F` of degrees Celsius, `--` where it is not known."""
    if value_c is None:
        return f"-- °{unit}"
    return f"{value_c * 1.8 + 32 if unit == 'F' else value_c:.0f} °{unit}"


def sentence(cue: Mapping[str, Any] | None) -> str:
    """What to do and when, as one line: `next bread in ~1:10`, `LAY BREAD 4, say: it is in`."""
    if cue is None:
        return ""
    joint = " " if cue["do"].endswith(" in") or cue["do"].startswith("trip: ") else ", "
    return cue["do"] + joint + cue["when"]
