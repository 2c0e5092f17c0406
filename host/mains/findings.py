"""One finding: grade, what is wrong, figure against limit, source, and what would mend it."""

from dataclasses import dataclass

from host.mains.value import UnitError, Value

GRADES = ("stop", "change", "note")
MEANING = {
    "stop": "must not be built or switched on like this",
    "change": "to be mended before a licensed electrician is asked to sign",
    "note": "to be known; nothing to mend, or a fact nobody can mend",
}


@dataclass(frozen=True)
class Finding:
    """`figure` and `limit` carry the same unit; `remedy` is the value that mends it, if one does."""

    code: str
    grade: str
    text: str
    source: str
    mend: str
    figure: Value | None = None
    limit: Value | None = None
    remedy: Value | None = None

    def __post_init__(self):
        if self.grade not in GRADES:
            raise ValueError(f"unknown grade {self.grade!r}")
        if self.figure and self.limit and self.figure.unit != self.limit.unit:
            raise UnitError(f"{self.code}: {self.figure.unit} beside {self.limit.unit}")

    @property
    def to_verify(self):
        """True where a figure, a limit or the remedy is from memory or from one source."""
        return any(v is not None and v.to_verify for v in (self.figure, self.limit, self.remedy))

    def against(self):
        """Figure against limit as text, with marks; empty where there is no figure."""
        if self.figure is None:
            return ""
        return str(self.figure) if self.limit is None else f"{self.figure} against {self.limit}"

    def as_json(self):
        """Dictionary for --json."""
        values = {
            name: value.as_json()
            for name in ("figure", "limit", "remedy")
            if (value := getattr(self, name)) is not None
        }
        return {
            "code": self.code,
            "grade": self.grade,
            "text": self.text,
            "source": self.source,
            "mend": self.mend,
            "to_be_verified": self.to_verify,
            **values,
        }


def by_grade(findings):
    """Findings sorted stop, change, note; order within a grade is kept."""
    return sorted(findings, key=lambda finding: GRADES.index(finding.grade))
