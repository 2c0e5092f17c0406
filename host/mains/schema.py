"""How one entry of the build sheet is described: kind, unit, bounds, choices, what stands for it, and whether it may be
written as "unknown" (then `how` says how to find it out, and the plan stops before power until somebody has)."""

from collections.abc import Callable
from dataclasses import dataclass, replace

REQUIRED = object()
UNKNOWN = "unknown"


@dataclass(frozen=True)
class Key:
    """One entry: `kind` is number, choice, flag or text; `default` REQUIRED, None or a value.

    `how`: where not empty, "unknown" (or nothing) may stand here and is told with `grade` where `needed(sheet, entry)`.
    """

    kind: str
    unit: str = ""
    low: float = 0
    high: float = 0
    choices: tuple = ()
    default: object = REQUIRED
    how: str = ""
    grade: str = "stop"
    needed: Callable | None = None

    def allowed(self) -> str:
        """What may be written here, in words."""
        return self._plain() + (f' (or "{UNKNOWN}")' if self.how else "")

    def _plain(self):
        if self.kind == "number":
            return f"a number from {self.low:g} to {self.high:g} {self.unit}".strip()
        if self.kind == "choice":
            return "one of " + ", ".join(_shown(choice) for choice in self.choices)
        return {"flag": "true or false", "text": "a text in quotes, not empty"}[self.kind]

    def accepts(self, value: object) -> bool:
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

    def is_unknown(self, value: object) -> bool:
        """True where "unknown" is written and may be."""
        return bool(self.how) and value == UNKNOWN

    def missing_in(self, sheet: dict, entry: dict, name: str) -> bool:
        """True where this entry is not known and the build needs it."""
        return bool(self.how) and entry[name] is None and (self.needed is None or self.needed(sheet, entry))


def _shown(choice):
    return f'"{choice}"' if isinstance(choice, str) else f"{choice:g}"


def _kin(choice):
    return (str,) if isinstance(choice, str) else (int, float)


def number(unit: str, low: float, high: float, default: object = REQUIRED) -> Key:
    """A number within bounds."""
    return Key("number", unit, low, high, default=default)


def choice(*choices: object, default: object = REQUIRED) -> Key:
    """One of these."""
    return Key("choice", choices=choices, default=default)


def flag(default: object = REQUIRED) -> Key:
    """true or false."""
    return Key("flag", default=default)


def text(default: object = REQUIRED) -> Key:
    """A text."""
    return Key("text", default=default)


def asked(key: Key, how: str, needed: Callable | None = None, grade: str = "stop") -> Key:
    """The same entry, which may be unknown: `how` says how to find it out."""
    return replace(key, default=None, how=how, needed=needed, grade=grade)
