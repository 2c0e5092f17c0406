"""The plan of one build: figures, findings, parts, reversal sheet."""

from dataclasses import dataclass, field

from host.findings import GRADES, by_grade
from host.mains import parts as parts_list
from host.mains import poles, reversal
from host.mains.cautions import CAUTIONS
from host.mains.checks import (
    appliance,
    behind,
    cable,
    chain,
    conductors_cut,
    cutouts,
    earth,
    places,
    protection,
    relays,
    supply,
    unknowns,
)
from host.mains.checks import oven as oven_checks
from host.mains.compute import figures
from host.mains.labels import LABELS
from host.mains.ovenrun import study

CHECKS = (
    unknowns, appliance, supply, earth, cable, behind, conductors_cut, relays, chain, protection, cutouts, places,
    oven_checks,
)  # fmt: skip


@dataclass(frozen=True)
class Plan:
    """`figures` name -> Value, `findings` by grade, `parts`, `reversal` dictionary."""

    sheet: dict
    figures: dict
    findings: list
    parts: list
    reversal: dict
    words: list = field(default_factory=list)

    def count(self, grade: str) -> int:
        """Number of findings of `grade`."""
        return sum(finding.grade == grade for finding in self.findings)

    @property
    def stopped(self) -> bool:
        """True where a finding says stop."""
        return self.count("stop") > 0

    def summary(self) -> str:
        """One line: how many findings of each grade."""
        counts = ", ".join(f"{self.count(grade)} {grade}" for grade in GRADES)
        word = "NOT to be built like this" if self.stopped else "for a licensed electrician to judge"
        return f"{self.sheet['name']}: {counts}: {word}"

    def as_json(self) -> dict:
        """Dictionary for --json: every number has its unit beside it or in its name."""
        return {
            "name": self.sheet["name"],
            "stopped": self.stopped,
            "counts": {grade: self.count(grade) for grade in GRADES},
            "figures": {key: {"label": LABELS[key], **value.as_json()} for key, value in self.figures.items()},
            "findings": [finding.as_json() for finding in self.findings],
            "parts": [part.as_json() for part in self.parts],
            "who_cuts": [dict(zip(("device", "cuts", "why"), row, strict=True)) for row in poles.who_cuts(self.sheet)],
            "reversal": self.reversal,
            "cautions": list(CAUTIONS),
            "words": list(self.words),
        }


def make(sheet: dict, ledger: dict | None = None, words: tuple = (), rehearse: bool = False) -> Plan:
    """Plan of the checked `sheet`; `rehearse`: the evening's energy from the controller's code."""
    known = figures(sheet)
    oven = sheet["oven"]
    runs = study(oven_checks.build(sheet, known), oven["wanted_c"], oven["hours"], rehearse)
    known |= oven_checks.figures(sheet, runs)
    found = []
    for check in CHECKS:
        found += check.findings(sheet, known)
    return Plan(
        sheet, known, by_grade(found), parts_list.parts(sheet, known),
        reversal.sheet_of(sheet, ledger or reversal.empty_ledger()), list(words),
    )  # fmt: skip
