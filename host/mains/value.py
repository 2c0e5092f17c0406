"""A figure with its unit, its source and how well that source was seen."""

from dataclasses import dataclass

TWICE = "two sources"
ONCE = "one source"
MEMORY = "from memory"
COMPUTED = "computed"
GIVEN = "build sheet"

# Weakest first: a derived figure is only as good as its weakest ingredient.
_WEAKEST_FIRST = (MEMORY, ONCE, COMPUTED, GIVEN, TWICE)


class UnitError(ValueError):
    """Two figures with different units were compared."""


@dataclass(frozen=True)
class Value:
    """`number` in `unit`; `mark` says how the source was seen; `source` names it."""

    number: float
    unit: str
    mark: str = COMPUTED
    source: str = ""

    def __post_init__(self):
        if self.mark not in _WEAKEST_FIRST:
            raise ValueError(f"unknown mark {self.mark!r}")

    @property
    def to_verify(self) -> bool:
        """True where the figure is from memory or from one source only."""
        return self.mark in (MEMORY, ONCE)

    def over(self, limit: "Value") -> bool:
        """True where this figure is greater than `limit`; UnitError where the units differ."""
        self._same_unit(limit)
        return self.number > limit.number

    def under(self, limit: "Value") -> bool:
        """True where this figure is less than `limit`; UnitError where the units differ."""
        self._same_unit(limit)
        return self.number < limit.number

    def _same_unit(self, other):
        if self.unit != other.unit:
            raise UnitError(f"{self.unit} compared with {other.unit}")

    def plain(self) -> str:
        """The number and unit as text, without the mark."""
        number = self.number
        text = f"{number:.0f}" if abs(number) >= 100 else f"{number:.3g}"
        return f"{text} {self.unit}".strip()

    def __str__(self):
        return self.plain() + (" (to be verified)" if self.to_verify else "")

    def as_json(self) -> dict:
        """Dictionary for --json; the unit stands beside the number."""
        return {
            "number": round(self.number, 6),
            "unit": self.unit,
            "mark": self.mark,
            "to_be_verified": self.to_verify,
            "source": self.source,
        }


def given(number: float, unit: str, key: str) -> Value:
    """A figure that the builder wrote in the build sheet under `key`."""
    return Value(float(number), unit, GIVEN, f"build sheet, {key}")


def derived(number: float, unit: str, source: str, *inputs: "Value") -> Value:
    """A computed figure: its mark is the weakest of its `inputs` (computed where all are good)."""
    marks = [value.mark for value in inputs]
    weakest = min(marks, key=_WEAKEST_FIRST.index, default=COMPUTED)
    mark = weakest if weakest in (MEMORY, ONCE) else COMPUTED
    return Value(float(number), unit, mark, source)
