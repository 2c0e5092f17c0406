"""What a finding tells to write into the sheet, written there to the letter: no new stop, and the sheet still reads."""

import re
import tomllib

import pytest
from graded_sheets import GRADED
from test_plan_sixty_sheets import EVERY, planned, told

from host.mains.keys import LISTS, TABLES

ENTRY = re.compile(r'((?:\w+\.)*\w+) = ("[^"]*"|true|false|[\d.]+)')
FLAWED = {name: case[:2] for name, case in {**EVERY, **GRADED}.items()}
BY_NAME = ("by", "part")  # of whole new entries in a list


def places(key, finding, sheet):
    """Dotted paths of the sheet that a key of an advice may mean."""
    if "." in key:
        return [key]
    if key in LISTS["survey"]:
        return [f"survey.{i}.{key}" for i, entry in enumerate(sheet["survey"]) if entry["name"] in finding.text]
    return [f"{table}.{key}" for table, keys in TABLES.items() if key in keys]


def told_to_write(finding, sheet):
    """{dotted path: value} of the entries that an advice names; alternatives after "; or" are left out."""
    changes = {}
    for key, value in ENTRY.findall(finding.mend.partition("; or")[0]):
        if key not in BY_NAME:
            (path,) = places(key, finding, sheet)
            changes[path] = tomllib.loads(f"x = {value}")["x"]
    return changes


def names_entries(base, changes):
    return any(ENTRY.search(f.mend) for f in planned(base, changes).findings if f.grade != "note")


@pytest.mark.parametrize("name", FLAWED)
def test_plan_advice_taken_to_the_letter_mends_and_brings_no_new_stop(name):
    base, flaw = FLAWED[name]
    made = planned(base, flaw)
    for finding in made.findings:
        changes = told_to_write(finding, made.sheet)
        if not changes:
            continue
        if finding.code == "high-limit-shares":
            changes |= {"high_limit.contactor_a": 63, "high_limit.contactor_poles": 2}  # asked for in the same words
        after = planned(base, flaw, changes)
        assert told(after, "stop") <= told(made, "stop")
        assert finding.code not in told(after, "stop", "change")


@pytest.mark.slow
def test_plan_advice_that_names_entries_is_frequent():
    assert sum(names_entries(*case) for case in FLAWED.values()) >= 25
