"""What the sheet says is unknown: nothing that a safe answer hangs on may be, once there is power."""

from host.mains.finding import Finding
from host.mains.keys import LISTS, TABLES, TOP

SOURCE = "unknown is not a pass: somebody finds out before there is power"


def findings(sheet: dict, figures: dict) -> list[Finding]:
    """A finding for every entry that is not known and that this build needs."""
    found = list(_of(TOP, sheet, sheet, ""))
    for path, keys in TABLES.items():
        entry = sheet
        for step in path.split("."):
            entry = entry[step]
        found += _of(keys, sheet, entry, f"{path}.")
    for path, keys in LISTS.items():
        for number, entry in enumerate(sheet[path], 1):
            found += _of(keys, sheet, entry, f"{path}[{number}] {entry.get('name', '')}, ")
    return found


def _of(keys, sheet, entry, where):
    for name, key in keys.items():
        if key.missing_in(sheet, entry, name):
            yield Finding(f"unknown-{name.replace('_', '-')}", key.grade, f"{where}{name} is unknown.", SOURCE, key.how)
