"""Every entry of the build sheet: kind, unit, bounds, choices, and what stands for it if absent."""

from dataclasses import dataclass

from host.mains.ampacity import IEC_METHODS, NEC_METHODS
from host.mains.breaker import RATINGS_IEC_A, RATINGS_NEC_A
from host.mains.conductors import AWG_GAUGES, SECTIONS_MM2
from host.mains.plugs import PLUGS
from host.mains.ratings import PLACES, SURVEY_PARTS

REQUIRED = object()


@dataclass(frozen=True)
class Key:
    """One entry: `kind` is number, choice, flag or text; `default` REQUIRED, None or a value."""

    kind: str
    unit: str = ""
    low: float = 0
    high: float = 0
    choices: tuple = ()
    default: object = REQUIRED

    def allowed(self):
        """What may be written here, in words."""
        if self.kind == "number":
            return f"a number from {self.low:g} to {self.high:g} {self.unit}".strip()
        if self.kind == "choice":
            return "one of " + ", ".join(_shown(choice) for choice in self.choices)
        return {"flag": "true or false", "text": "a text in quotes, not empty"}[self.kind]

    def accepts(self, value):
        """True where `value` is of the right kind and within bounds."""
        if self.kind == "flag":
            return isinstance(value, bool)
        if self.kind == "text":
            return isinstance(value, str) and 0 < len(value.strip()) <= 200
        if isinstance(value, bool):
            return False
        if self.kind == "choice":
            return any(type(value) in _kin(choice) and value == choice for choice in self.choices)
        return isinstance(value, int | float) and self.low <= value <= self.high


def _shown(choice):
    return f'"{choice}"' if isinstance(choice, str) else f"{choice:g}"


def _kin(choice):
    return (str,) if isinstance(choice, str) else (int, float)


def _number(unit, low, high, default=REQUIRED):
    return Key("number", unit, low, high, default=default)


def _choice(*choices, default=REQUIRED):
    return Key("choice", choices=choices, default=default)


def _flag(default=REQUIRED):
    return Key("flag", default=default)


def _text(default=REQUIRED):
    return Key("text", default=default)


_ELEMENT = {
    "power_w": _number("W", 100, 6000, None),
    "voltage_v": _number("V", 100, 260, None),
    "ohms": _number("ohm", 3, 600, None),
}
_RELAY = {
    "kind": _choice("ssr", "contactor", "relay"),
    "rated_a": _number("A", 1, 200),
    "rated_v": _number("V", 12, 1000),
    "zero_cross": _flag(True),
    "drop_v": _number("V", 0.5, 3, None),
    "junction_case_k_w": _number("K/W", 0.05, 10, None),
    "case_sink_k_w": _number("K/W", 0, 5, 0.2),
    "junction_max_c": _number("degC", 80, 175, 125),
    "operations": _number("operations", 1000, 1e8, None),
}

TABLES = {
    "premises": {
        "kind": _choice("home", "public", "rented"),
        "owner_consents": _flag(),
        "insurer_consents": _flag(),
        "extinguisher": _flag(),
        "attended": _flag(),
    },
    "supply": {
        "rules": _choice("iec", "nec"),
        "voltage_v": _choice(120, 208, 230, 240),
        "phases": _choice(1, default=1),
        "supplies": _number("supplies", 1, 4, 1),
        "system": _choice("tn", "tt"),
        "network": _choice("public", "private", default="public"),
        "breaker_a": _choice(*sorted(set(RATINGS_IEC_A + RATINGS_NEC_A))),
        "curve": _choice("B", "C", "D", "nec"),
        "residual_ma": _choice(0, 5, 6, 10, 30, 100, 300),
        "connection": _choice(*PLUGS),
        "earth": _choice("none", "present", "tested"),
        "earth_ohm": _number("ohm", 0, 100, None),
        "loop_ohm": _number("ohm", 0.01, 10000, None),
        "other_load_a": _number("A", 0, 60, 0),
        "price_per_kwh": _number("a kWh", 0, 10),
        "currency": _text("money units"),
    },
    "cable": {
        "length_m": _number("m", 0.3, 200),
        "section_mm2": _choice(*SECTIONS_MM2, default=None),
        "awg": _choice(*AWG_GAUGES, default=None),
        "method": _choice(*dict.fromkeys(IEC_METHODS + NEC_METHODS)),
        "insulation_c": _number("degC", 60, 250, 70),
        "ambient_c": _number("degC", -20, 90),
        "bunched_circuits": _number("circuits", 1, 20, 1),
    },
    "cord": {
        "length_m": _number("m", 0.1, 20),
        "section_mm2": _choice(*SECTIONS_MM2, default=None),
        "awg": _choice(*AWG_GAUGES, default=None),
        "ambient_c": _number("degC", -20, 90),
    },
    "oven": {
        "wanted_c": _number("degC", 60, 530),
        "hours": _number("h", 0.25, 24),
        "evenings_per_year": _number("evenings", 1, 366, 40),
        "clearance_mm": _number("mm", 0, 5000),
        "room_c": _number("degC", -10, 50, 22),
    },
    "elements.top": _ELEMENT,
    "elements.deck": _ELEMENT,
    "control": {"window_s": _number("s", 0.5, 300), "staggered": _flag()},
    "relays": {"paralleled": _flag()},
    "relays.top": _RELAY,
    "relays.deck": _RELAY,
    "heatsink": {"fitted": _flag(), "k_w": _number("K/W", 0.05, 20, None)},
    "contactor": {
        "fitted": _flag(),
        "rated_a": _number("A", 1, 200, None),
        "poles": _number("poles", 1, 4, None),
        "mirror_contact": _flag(False),
    },
    "box": {
        "width_mm": _number("mm", 80, 1200),
        "height_mm": _number("mm", 80, 1200),
        "depth_mm": _number("mm", 50, 600),
        "material": _choice("steel", "plastic"),
        "ambient_c": _number("degC", -10, 80),
        "oven_distance_mm": _number("mm", 0, 5000),
        "electronics_max_c": _number("degC", 30, 125),
    },
    "thermocouple": {
        "type": _choice("K", "N", "J", "T"),
        "sheath_max_c": _number("degC", 100, 1300),
        "lead_max_c": _number("degC", 60, 900),
        "lead_place": _choice(*PLACES),
    },
    "high_limit": {
        "fitted": _flag(),
        "setting_c": _number("degC", 60, 700, None),
        "own_sensor": _flag(False),
        "manual_reset": _flag(False),
        "cuts": _choice("contactor_coil", "elements", "relay_signal", default=None),
    },
    "transfer": {
        "fitted": _flag(),
        "rated_a": _number("A", 1, 200, None),
        "poles": _number("poles", 1, 4, None),
        "break_before_make": _flag(False),
        "off_position": _flag(False),
        "auxiliary_contact": _flag(False),
    },
    "cooling_fan": {
        "in_oven": _flag(),
        "runs_when_ours": _flag(False),
        "proved": _flag(False),
    },
}

LISTS = {  # arrays of tables: may be empty, each entry has these keys
    "part": {
        "name": _text(),
        "kind": _choice("wire", "terminal", "gasket", "glass", "sleeve", "other"),
        "place": _choice(*PLACES),
        "rated_c": _number("degC", 40, 1400),
        "seen_c": _number("degC", 10, 600, None),
        "seen_at_c": _number("degC", 50, 550, None),
    },
    "survey": {
        "part": _choice(*SURVEY_PARTS),
        "name": _text(),
        "place": _choice(*PLACES),
        "rated_c": _number("degC", 40, 1400, None),
        "decision": _choice("kept", "moved", "removed", "absent"),
        "by": _text(None),
        "why": _text(None),
    },
    "moved_wire": {
        "wire": _text(),
        "from": _text(),
        "to": _text(),
        "by": _text(None),
    },
}
TOP = {"name": _text(), "date": _text(None)}
