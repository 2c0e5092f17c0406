"""A finding about a pin map: the line it speaks of; its code is the name in the map ("PROBES.dome.cs")."""

from dataclasses import dataclass, field, replace

from host.findings import GRADES
from host.findings import Finding as Plain


@dataclass(frozen=True)
class Finding(Plain):
    """`line` is 0 where something is missing from the whole file; `remedy` {name of the map: value that mends it}."""

    line: int = 0
    remedy: dict = field(default_factory=dict, compare=False)

    def refused(self, remedy: dict) -> "Finding":
        """The same finding as a stop, mended by `remedy`."""
        return replace(self, grade="stop", remedy=remedy)

    def as_json(self) -> dict:
        """Dictionary for --json."""
        return {**super().as_json(), "line": self.line, "remedy": self.remedy}


def plain(text: object) -> str:
    """The text on one line, with "?" for what cannot be printed: names in a map can be anything."""
    return "".join(letter if letter.isprintable() else "?" for letter in str(text))


def ordered(findings: list) -> list[Finding]:
    """Stops first, then by line; each finding once."""
    once = dict.fromkeys(findings)
    return sorted(once, key=lambda found: (GRADES.index(found.grade), found.line, found.code))
