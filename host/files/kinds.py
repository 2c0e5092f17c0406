"""What a file says of itself in its first lines, and the rule that none is written over by another kind.

    check("hall.html", PLAN_PAGE)             before the work: NotWritten if the file there is something else
    write("hall.html", text, PLAN_PAGE)       stamps the text, checks again, writes whole or not at all

A page or picture may be made again over itself. What cannot be made again (a twin, a log, a backup of settings) is
written over only when a person says so.
"""

import os
import re
from pathlib import Path

from host.files import writing

HEAD_BYTES = 1024
STAMP = re.compile(r"Tizzone: ([a-z' -]+?)\s*(?:-->|$)|\"tizzone\": \"([a-z' -]+)\"", re.MULTILINE)

BUILD_SHEET, LEDGER = "build sheet", "ledger of hours"
PLAN_PAGE, WIRING_PICTURE = "plan page", "wiring picture"
RUN_PAGE, HISTORY_PAGE, DRILL_PAGE, DRILL_CASES = "run page", "history page", "drill page", "drill cases"
RUN_FIGURES = "figures of a run"
SETTINGS, CALIBRATION, CALIBRATION_PICTURE = "settings", "calibration", "calibration picture"
COMMISSIONING, COMMISSIONING_PAGE, ANSWERS = "commissioning record", "commissioning page", "commissioning answers"
TWIN, LOG, COUNTERS, BREADS = "twin of an oven", "event log", "service counters", "book of breads"
WITNESS = "witness steps"
BENCH_PROOF, BENCH_PAGE = "proof on the bench", "bench page"
NOTES, EVENING, EVENING_PAGE = "notes of a run", "evening record", "evening page"
# Made from something else that is still there, so they may be made again over themselves.
MADE_AGAIN = {PLAN_PAGE, WIRING_PICTURE, RUN_PAGE, HISTORY_PAGE, DRILL_PAGE, DRILL_CASES, CALIBRATION,
              CALIBRATION_PICTURE, COMMISSIONING_PAGE, BENCH_PAGE, EVENING_PAGE}  # fmt: skip
# These are read before they are written, and what was in them stays.
CONTINUED = {LEDGER, COMMISSIONING, NOTES}
# Files of earlier versions, which said nothing.
SILENT = {'"tizzone_twin"': TWIN, '"hours_above_rating"': LEDGER, '"mark"': COMMISSIONING, "[oven]": BUILD_SHEET}


def kind_of(path: str | os.PathLike[str]) -> str | None:
    """The kind that a file says it is; "" for one that says nothing, None where there is no file or an empty one."""
    try:
        with open(path, "rb") as file:
            head = file.read(HEAD_BYTES).decode("utf-8", "replace")
    except OSError:
        return None
    if not head.strip():
        return None
    found = STAMP.search(head)
    if found:
        return found[1] or found[2]
    return next((kind for sign, kind in SILENT.items() if sign in head), "")


def check(path: str | os.PathLike[str], kind: str, force: bool = False) -> None:
    """NotWritten, in one line, if something else is there that would be lost; `force`: a person has said so."""
    target = Path(path)
    if force or not target.is_file():
        return
    found = kind_of(target)
    if found is None or (found == kind and kind in MADE_AGAIN | CONTINUED):
        return
    what = f"a file of the kind '{found}'" if found else "a file that this command did not write"
    raise writing.NotWritten(f"{path}: is there already, {what}; choose another name, or say --force to write over it")


def stamped(text: str, kind: str) -> str:
    """The text with its kind in the first lines, as its format allows: HTML, SVG, JSON (a table) or lines with #."""
    if STAMP.search(text[:HEAD_BYTES]):
        return text
    if text.startswith("{"):
        return f'{{\n "tizzone": "{kind}",' + text[1:]
    first, line_end, rest = text.partition("\n")
    if first.lower().startswith(("<!doctype", "<?xml")):
        return f"{first}{line_end}<!-- Tizzone: {kind} -->\n{rest}"
    if text.startswith("<"):
        return f"<!-- Tizzone: {kind} -->\n{text}"
    return f"# Tizzone: {kind}\n{text}"


def write(path: str | os.PathLike[str], text: str, kind: str, force: bool = False, makes_folder: bool = False) -> None:
    """Write `text`, stamped, as a file of this kind; NotWritten where it would cost another file."""
    check(path, kind, force)
    writing.write_text(path, stamped(text, kind), makes_folder)
