"""The board's settings: what each is, what it holds, a copy on the laptop, and back again."""

from __future__ import annotations

import ast
from typing import Any

from host.shim.loader import world
from host.talk import Refused, asked

UNITS = (("_pct_per_k", "% per K"), ("_k_s_pct", "K/s per %"), ("_c", "°C"), ("_min", "min"), ("_ms", "ms"),
         ("_pct", "%"), ("_s", "s"), ("_hz", "Hz"))  # fmt: skip
BY_PERSON = ("calibration", "calibration_record")  # not typed as numbers
# Why one would touch it, and what follows.
WHY = {
    "setpoint_c": "where the dome is held when no bake plan says otherwise",
    "high_limit_c": "above this reading heat is cut and latched; changing it makes the commissioning void",
    "restart_c": "a trip of a hot oven is looked at only after it has cooled to this",
    "attend_c": "above this the oven is not left alone, and the board asks whether somebody is there",
    "attend_min": "longer means that a fire would burn longer before heat is taken off",
    "session_max_min": "an evening that somebody forgot ends by itself",
    "window_ms": "shorter holds the dome steadier, but lamps may flicker; `tizzone plan` says what your supply allows",
    "min_switch_ms": "shorter wears a mechanical contact; a solid-state relay follows half waves",
    "fahrenheit": "what a cook who thinks in Fahrenheit reads at a glance; nothing else changes",
    "exclusive": "1 where fuse or cable carry only one element at a time; the oven heats more slowly then",
    "top_share_pct": "more top browns the upper side, less the base; a plan's leg has its own",
    "soak_min": "the dome is hot long before the stone is",
    "bake_s": "how long one bread stays in when no plan says otherwise",
    "breads": "after so many breads the evening ends by itself",
    "cool_c": "below this the evening is over and the transfer switch may be turned",
    "mains_hz": "relays and readings are timed by it",
    "learned_rise_s": "written by learning; a much slower preheat then tells a weak element",
    "kc_pct_per_k": "written by learning; too high swings, too low sags",
    "ti_s": "written by learning; too short overshoots",
    "td_s": "written by learning; more calms the approach, too much hears the noise",
    "lead_s": "written by learning; how far ahead the approach looks",
    "hold_pct": "what holds 450 °C after hours, less than short evenings show; steadies the first minutes",
    "rise_k_s_pct": "written by learning; the forecast of the approach",
    "calibration": "corrections of the probes: `tizzone calibrate`",
    "calibration_record": "date and identity of the probes' calibration",
}


def table() -> dict[str, tuple]:
    """{name: (default, lowest, highest, meaning)}, the board's own."""
    return world().load("tizzone.memory.settings").TABLE


def unit_of(name: str) -> str:
    """Unit of a setting, "" for a count or a table."""
    return next((unit for ending, unit in UNITS if name.endswith(ending)), "")


def about(name: str) -> dict[str, Any]:
    """{"name", "meaning", "why", "unit", "default", "lowest", "highest"}; Refused for a name that is none."""
    rows = table()
    if name not in rows:
        raise Refused(f"no setting is called '{name}'; tizzone settings lists them")
    default, low, high, meaning = rows[name]
    return {"name": name, "meaning": meaning, "why": WHY.get(name, ""), "unit": unit_of(name), "default": default,
            "lowest": low, "highest": high}  # fmt: skip


def value_of(client: Any, name: str) -> Any:
    """What the board holds under this name."""
    text = asked(client, f"setting {name}").partition("=")[2].rpartition(" (")[0]
    text = text[: text.rindex(" (")] if " (" in text else text  # a meaning may hold brackets of its own
    try:
        return ast.literal_eval(text)
    except (ValueError, SyntaxError):
        raise Refused(f"the board's answer about {name} is not understood: {text[:60]}") from None


def all_of(client: Any) -> dict[str, Any]:
    """Every setting of the board: {name: value}."""
    return {name: value_of(client, name) for name in table()}


def checked(name: str, value: Any) -> None:
    """Refused, with the bounds, unless the board would take this value."""
    fault = world().load("tizzone.memory.settings").fault_of(name, value)
    if fault:
        raise Refused(fault)


def put(client: Any, name: str, text: str) -> str:
    """Store one setting as a person typed it; what the board says. Checked here first, so that the bounds are told."""
    value, fault = world().load("tizzone.memory.settings").parsed(name, text)
    if fault:
        raise Refused(
            f"{fault}; tizzone explain {name}" if name in table() else fault + "; tizzone settings lists them"
        )
    return asked(client, f"setting {name} {value!r}")


def correction_lines(curves: dict[str, list]) -> list[str]:
    """The lines that store these correction curves."""
    return [f"correction {place} {' '.join(f'{r}:{c}' for r, c in points)}".strip() for place, points in curves.items()]


def restore(client: Any, values: dict[str, Any]) -> tuple[list[str], list[str]]:
    """Bring the board to these values: (names that were changed, names that only the board's own record has).

    Everything is checked before the first is sent: a bad file changes nothing."""
    for name, value in values.items():
        checked(name, value)
    now = all_of(client)
    changed, left = [], []
    for name, value in values.items():
        if value == now[name]:
            continue
        if name == "calibration_record":
            left.append(name)
        elif name == "calibration":
            for line in correction_lines({p: c for p, c in value.items() if now[name].get(p) != c}):
                asked(client, line)
            changed.append(name)
        else:
            asked(client, f"setting {name} {value!r}")
            changed.append(name)
    return changed, left
