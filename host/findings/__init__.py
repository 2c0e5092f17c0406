"""One finding and one scale of grades for everything that judges: the mains plan, the pin map, the run history.

A room adds what its own findings carry (a figure and its limit, a line of a file, evenings) in a class of its own that
derives from `Finding`; grade, text, source and what mends it are the same everywhere.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

GRADES = ("stop", "change", "note")
MEANING = {
    "stop": "must not be built, loaded or switched on like this",
    "change": "to be mended, or weaker than it should be",
    "note": "to be known; nothing to mend, or a fact nobody can mend",
}


@dataclass(frozen=True)
class Finding:
    """`code` says what it is about in a word, `text` what is wrong, `source` why and from where, `mend` what to do."""

    code: str
    grade: str
    text: str
    source: str
    mend: str

    def __post_init__(self) -> None:
        if self.grade not in GRADES:
            raise ValueError(f"unknown grade {self.grade!r}")

    def as_json(self) -> dict:
        """Dictionary for --json."""
        return {name: getattr(self, name) for name in ("code", "grade", "text", "source", "mend")}


Some = TypeVar("Some", bound=Finding)


def by_grade(findings: Iterable[Some]) -> list[Some]:
    """Findings sorted stop, change, note; the order within a grade is kept."""
    return sorted(findings, key=lambda finding: GRADES.index(finding.grade))


def counts(findings: Sequence[Finding]) -> dict[str, int]:
    """{grade: how many}, every grade named."""
    return {grade: sum(finding.grade == grade for finding in findings) for grade in GRADES}
