"""Bake plan files: TOML on the laptop, checked with every fault at once, sent to the board in a few lines.

    name = "club-flatbread"        # a-z, 0-9 and -
    title = "Club flatbread"       # also: note, source (texts of your own)
    end_c = 200                    # cooled below this the evening is over and the oven's own thermostat may have it

    [[leg]]                        # up to eight, one after the other
    dome_c = 450                   # the only entry that a leg must have; the rest and their bounds: FIELDS of
    soak_min = 15                  # the device's evening/bake_plan.py; reach_min (laptop only): at the setpoint within
    stone_c = 440
    base_kj = 1290                 # heat wanted in a bread's base, kJ/m2: time and pace follow it; left out: bake_s
    stretch_pct = 5                # 0: more even and slower, 20: faster and less even

What the oven can do is asked of the oven: `impossible()` runs it at full power once.
"""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

from host.errors import InputError
from host.files import kinds
from host.oven.base import Plant
from host.shim.loader import world

PLANS = Path(__file__).parent
DEFAULTS = {"share_pct": 50, "bake_s": 90}
TEXTS = ("title", "note", "source")
FULL_STEP_S = 10.0
FULL_MAX_S = 4 * 3600.0
RATE_SPAN_S = 120.0
SESSION_MAX_MIN = 300


SAID = 6  # faults in the one line; `faults` has all of them


class PlanError(InputError):
    """A plan that cannot be used: `faults` are its lines, all of them."""

    def __init__(self, faults: list[str]) -> None:
        more = [f"and {len(faults) - SAID} more"] if len(faults) > SAID else []
        super().__init__("; ".join([*faults[:SAID], *more]))
        self.faults = faults


class BakePlan:
    """A checked plan: `name`, `title`, `note`, `source`, `end_c`, `legs` (dicts), `reach_min` (one a leg, or None)."""

    def __init__(self, data: dict[str, Any], legs: list[dict[str, int]], reach_min: list[int | None]) -> None:
        self.name, self.end_c, self.legs, self.reach_min = data["name"], data["end_c"], legs, reach_min
        self.title, self.note, self.source = (data.get(key, "") for key in TEXTS)

    def compact(self) -> dict[str, Any]:
        """As the board keeps it."""
        order = [row[0] for row in rules().FIELDS]
        legs = [[leg[name] for name in order] for leg in self.legs]
        if not any(any(leg[rules().OLD_FIELDS :]) for leg in legs):  # as older boards know it
            legs = [leg[: rules().OLD_FIELDS] for leg in legs]
        return {"name": self.name, "end_c": self.end_c, "legs": legs}

    def lines(self) -> list[str]:
        """The link's lines that send it, without checksum."""
        made = [f"plan begin {self.name} {self.end_c} {len(self.legs)}"]
        for number, leg in enumerate(self.compact()["legs"], 1):
            made.append(f"plan leg {number} {' '.join(map(str, leg))}")
        return [*made, "plan end"]

    @property
    def breads(self) -> int:
        """Of the whole plan."""
        return sum(leg["breads"] for leg in self.legs)


def rules() -> Any:
    """The board's own rules about plans."""
    return world().load("tizzone.evening.bake_plan")


def shipped() -> list[str]:
    """Names of the plans that come with the tool."""
    return sorted(path.stem for path in PLANS.glob("*.toml"))


def load(name: str) -> BakePlan:
    """The plan in the file `name`, or the shipped plan of that name. PlanError with every fault."""
    path = Path(name)
    if not path.is_file():
        path = PLANS / f"{name}.toml"
    if not path.is_file():
        raise PlanError([f"{name}: no such file and no shipped plan (shipped: {', '.join(shipped())})"])
    kind = kinds.kind_of(path)
    if kind:
        raise PlanError([f"{name}: is a file of the kind '{kind}', not a bake plan"])
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise PlanError([f"{name}: cannot be read ({type(error).__name__})"]) from None
    return read(text)


def read(text: str) -> BakePlan:
    """The plan written in `text`. PlanError with every fault."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PlanError([f"not TOML: {error}"]) from None
    faults = [f"{key}: not known" for key in data if key not in ("name", "end_c", "leg", *TEXTS)]
    faults += [f"{key}: a text is needed" for key in TEXTS if not isinstance(data.get(key, ""), str)]
    device = rules()
    name_fault = device.name_fault(data.get("name"))
    if name_fault:
        faults.append(f"name: {name_fault}")
    faults += _number("end_c", data.get("end_c"), device.END_MIN_C, device.END_MAX_C)
    written = data.get("leg", [])
    if not isinstance(written, list) or not 1 <= len(written) <= device.MAX_LEGS:
        raise PlanError([*faults, f"leg: 1 to {device.MAX_LEGS} [[leg]] tables are needed"])
    legs, reach = [], []
    for number, leg in enumerate(written, 1):
        if not isinstance(leg, dict):
            faults.append(f"leg {number}: a table is needed")
            continue
        made, found = _leg(leg, device)
        faults += [f"leg {number}: {fault}" for fault in found]
        legs.append(made)
        reach.append(leg.get("reach_min"))
    if faults:
        raise PlanError(faults)
    return BakePlan(data, legs, reach)


def _leg(leg, device):
    faults = []
    known = {row[0]: row for row in device.FIELDS}
    faults += [f"{key}: not known" for key in leg if key not in known and key != "reach_min"]
    if "reach_min" in leg:
        faults += _number("reach_min", leg["reach_min"], 1, 480)
    made = {}
    for name, low, high in device.FIELDS:
        if name == "dome_c" and name not in leg:
            faults.append("dome_c: is missing")
        value = leg.get(name, DEFAULTS.get(name, low))
        faults += _number(name, value, low, high)
        made[name] = value
    if not faults:
        fault = device.leg_fault([made[row[0]] for row in device.FIELDS])
        faults += [fault] if fault else []
        if made["breads"] and not made["stone_c"] and (made["wait_min"] or made["sag_k"]):
            faults.append("wait_min, sag_k: have no meaning without stone_c")
        if not made["breads"] and made["stone_c"]:
            faults.append("stone_c: has no meaning without breads")
    return made, faults


def _number(name, value, low, high):
    if value is None:
        return [f"{name}: is missing"]
    if isinstance(value, bool) or not isinstance(value, int):
        return [f"{name} = {value!r}: a whole number is needed"]
    return [] if low <= value <= high else [f"{name} = {value}: must lie within {low}..{high}"]


# --- what the oven can do ----------------------------------------------------------------------------------


def full_power(plant: Plant) -> list[tuple[float, float]]:
    """[(s, dome in °C), ...] of a copy of this oven, both elements on from now: until it rises no more, or 4 hours."""
    oven = copy.deepcopy(plant)
    oven.turbulence_k = oven.mains_wander = 0.0  # the figure is the oven's, not that of a gust
    curve = [(0.0, oven.temperature_c("dome"))]
    while curve[-1][0] < FULL_MAX_S:
        oven.step(FULL_STEP_S, {"top": 1.0, "deck": 1.0})
        curve.append((curve[-1][0] + FULL_STEP_S, oven.temperature_c("dome")))
        back = int(1200 / FULL_STEP_S)
        if len(curve) > back and curve[-1][1] < curve[-1 - back][1] + 3.0 or curve[-1][1] > 600.0:
            break
    return curve


def reached_s(curve: list[tuple[float, float]], temperature_c: float) -> float | None:
    """When full power first reaches a temperature; None: never."""
    return next((t_s for t_s, dome_c in curve if dome_c >= temperature_c), None)


def rate_k_h(curve: list[tuple[float, float]], temperature_c: float) -> float | None:
    """Rise at full power where the dome passes a temperature, K/h; None if it never does."""
    at = next((i for i, (_, dome_c) in enumerate(curve) if dome_c >= temperature_c), None)
    if at is None:
        return None
    first = max(0, at - round(RATE_SPAN_S / FULL_STEP_S))
    span_s = curve[at][0] - curve[first][0]
    return (curve[at][1] - curve[first][1]) / span_s * 3600.0 if span_s else None


def impossible(plan: BakePlan, plant: Plant, ceiling_c: float = 480, session_min: float = SESSION_MAX_MIN) -> list[str]:
    """Why this oven, with this highest setpoint, cannot do the plan; every reason with its figure, [] if it can."""
    faults = []
    curve = full_power(plant)
    top_c = max(dome_c for _, dome_c in curve)
    before_c = curve[0][1]
    minutes = 0.0
    for number, (leg, reach_min) in enumerate(zip(plan.legs, plan.reach_min, strict=True), 1):
        dome_c, ramp = leg["dome_c"], leg["ramp_k_h"]
        word = f"leg {number}"
        if dome_c > ceiling_c:
            faults.append(f"{word}: {dome_c} °C is above the highest setpoint of {ceiling_c:g} °C")
        end_s = reached_s(curve, dome_c)
        if end_s is None:
            faults.append(f"{word}: {dome_c} °C is hotter than this oven gets ({top_c:.0f} °C at full power)")
            continue
        least_min = max(0.0, end_s - (reached_s(curve, before_c) or 0.0)) / 60.0
        if reach_min is not None and least_min > reach_min:
            faults.append(f"{word}: {dome_c} °C within {reach_min} min; this oven needs {least_min:.0f} min")
        rate = rate_k_h(curve, dome_c)
        if ramp and dome_c > before_c and rate is not None and ramp > rate:
            faults.append(f"{word}: {ramp} K/h; this oven rises by {rate:.0f} K/h at {dome_c} °C at full power")
        minutes += max(least_min, (dome_c - before_c) * 60.0 / ramp if ramp else 0.0)
        minutes += leg["soak_min"] + leg["breads"] * leg["bake_s"] / 60.0
        before_c = dome_c
    if minutes > session_min:
        faults.append(f"the plan takes at least {minutes:.0f} min; an evening ends after {session_min} min")
    return faults
