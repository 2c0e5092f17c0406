"""A bake plan on its way to the board, and the one that is in force there."""

from __future__ import annotations

from typing import Any

from host.plans import bake_plan
from host.talk import asked, fields


def shipped() -> list[dict[str, Any]]:
    """[{"name", "title", "legs", "breads", "hottest_c"}] of the plans that come with the tool."""
    found = []
    for name in bake_plan.shipped():
        plan = bake_plan.load(name)
        hottest_c = max(leg["dome_c"] for leg in plan.legs)
        found.append({"name": name, "title": plan.title, "legs": len(plan.legs), "breads": plan.breads,
                      "hottest_c": hottest_c})  # fmt: skip
    return found


def send(client: Any, plan: bake_plan.BakePlan) -> str:
    """Send a checked plan; what the board says at its end. Refused if it takes one of the lines not."""
    said = ""
    for line in plan.lines():
        said = asked(client, line)
    return said


def in_force(client: Any) -> dict[str, Any]:
    """{"plan", "breads", "end_c", "legs": [{field: number}]}; "settings": no plan, the settings make the only leg."""
    got = fields(asked(client, "plan"))
    legs = []
    if got["plan"] != "settings":
        count = int(got["leg"].partition("/")[2])
        legs = [{key: int(value) for key, value in fields(asked(client, f"plan show {number}")).items()}
                for number in range(1, count + 1)]  # fmt: skip
    return {"plan": got["plan"], "breads": got["breads"], "end_c": int(got["end_c"]), "legs": legs}


def clear(client: Any) -> str:
    """No plan: the settings make the only leg."""
    return asked(client, "plan none")


def leg_words(leg: dict[str, int]) -> str:
    """One leg for a person, without what is not used."""
    names = {"dome_c": "dome {} °C", "ramp_k_h": "ramp {} K/h", "soak_min": "soak {} min", "stone_c": "stone {} °C",
             "share_pct": "top share {} %", "breads": "{} breads", "bake_s": "{} s each", "base_kj": "base {} kJ/m2",
             "rest_c": "rest {} °C"}  # fmt: skip
    return ", ".join(words.format(leg[key]) for key, words in names.items() if leg.get(key))
