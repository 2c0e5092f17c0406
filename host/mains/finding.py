"""A finding of the mains plan: figure against limit, and the value that would mend it."""

from dataclasses import dataclass

from host.findings import Finding as Plain
from host.mains.value import UnitError, Value


@dataclass(frozen=True)
class Finding(Plain):
    """`figure` and `limit` carry the same unit; `remedy` is the value that mends it, if one does."""

    figure: Value | None = None
    limit: Value | None = None
    remedy: Value | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.figure and self.limit and self.figure.unit != self.limit.unit:
            raise UnitError(f"{self.code}: {self.figure.unit} beside {self.limit.unit}")

    @property
    def to_verify(self) -> bool:
        """True where a figure, a limit or the remedy is from memory or from one source."""
        return any(v is not None and v.to_verify for v in (self.figure, self.limit, self.remedy))

    def against(self) -> str:
        """Figure against limit as text, with marks; empty where there is no figure."""
        if self.figure is None:
            return ""
        return str(self.figure) if self.limit is None else f"{self.figure} against {self.limit}"

    def as_json(self) -> dict:
        """Dictionary for --json."""
        values = {
            name: value.as_json()
            for name in ("figure", "limit", "remedy")
            if (value := getattr(self, name)) is not None
        }
        return {**super().as_json(), "to_be_verified": self.to_verify, **values}
