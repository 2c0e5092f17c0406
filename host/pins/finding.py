"""One finding about a pin map: grade, line, name, what, why, and what to do instead."""

from dataclasses import asdict, dataclass

GRADES = ("error", "warning", "note")
MEANING = {
    "error": "must be mended before this map goes onto a board",
    "warning": "works on some boards or releases, or is weaker than it should be",
    "note": "to be known when wiring; nothing is wrong with it",
}


@dataclass(frozen=True)
class Finding:
    """`line` is 0 where something is missing from the whole file; `name` as in the map ("PROBES.dome.cs")."""

    grade: str
    line: int
    name: str
    what: str
    why: str
    do: str

    def __post_init__(self):
        if self.grade not in GRADES:
            raise ValueError(f"unknown grade {self.grade!r}")

    def as_json(self):
        """Dictionary for --json."""
        return asdict(self)


def plain(text):
    """The text on one line, with "?" for what cannot be printed: names in a map can be anything."""
    return "".join(letter if letter.isprintable() else "?" for letter in str(text))


def ordered(findings):
    """Errors first, then by line; each finding once."""
    once = dict.fromkeys(findings)
    return sorted(once, key=lambda found: (GRADES.index(found.grade), found.line, found.name))
