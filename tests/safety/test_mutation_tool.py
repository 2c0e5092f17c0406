"""The mutation run itself: it kills a planted mutant, reports a survivor, and knows a table that has gone stale."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tools import mutate
from tools.mutants_equivalent import EQUIVALENT

ROOT = Path(__file__).resolve().parents[2]
SOURCE = '''
LIMIT = 10


def over(value, armed):
    """Docstrings are left alone: 5."""
    if value >= LIMIT and armed:
        return 1
    value += 1
    return 0
'''


def keys(source):
    return [key for key, _, _ in mutate.mutants(source)]


def test_every_kind_of_change_is_tried():
    found = keys(SOURCE)
    for change in (
        "over: value >= LIMIT -> value > LIMIT",
        "over: value >= LIMIT and armed -> value >= LIMIT or armed",
        "over: value >= LIMIT and armed -> armed",
        "over: value += 1 -> value -= 1",
        "over: value += 1 -> pass",
        "over: return 1 -> return None",
        "over: 1 in return 1 -> 2",
        "module: 10 in LIMIT = 10 -> 9",
        "module: LIMIT = 10 -> pass",
    ):
        assert change in found, change
    assert not any("Docstring" in key for key in found)
    assert len(found) == len(set(found))


def test_a_mutant_differs_from_the_original_in_one_place_and_the_original_is_left_alone():
    plain = ast.unparse(ast.parse(SOURCE)).splitlines()
    for key, line, tree in mutate.mutants(SOURCE):
        changed = ast.unparse(tree).splitlines()
        assert sum(a != b for a, b in zip(plain, changed, strict=True)) == 1, key
        assert line > 0


def test_equal_changes_in_one_function_have_keys_of_their_own():
    found = keys("def f(a):\n    a.x = 1\n    a.y = 1\n    g(1)\n    g(1)\n")
    assert "f: g(1) -> pass" in found and "f: g(1) -> pass #2" in found


def tried(tmp_path, suite):
    """Runs a suite of one test on two planted mutants of integers.bounded; (names of the survivors, fault)."""
    folder = tmp_path / "suite"
    folder.mkdir()
    (folder / "test_planted.py").write_text(suite, encoding="utf-8")
    script = (
        f"import sys; sys.path[:0] = [{str(ROOT)!r}, {str(ROOT / 'tests' / 'safety')!r}]\n"
        "from tools import mutate\n"
        "work = mutate.planned(['integers'], {})\n"
        "work = [one for one in work if one[1].startswith('bounded: value') and 'if' not in one[1]]\n"
        f"survivors, fault = mutate.run(work, 2, [{str(folder / 'test_planted.py')!r}])\n"
        "print(len(work), sorted(one[1] for one in survivors), fault)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=120, check=False, cwd=tmp_path
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()[-1]


TEST = "from safety_bench import load\n\n\ndef test_planted():\n    bounded = load('integers').bounded\n"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the mutation run forks")
def test_planted_mutant_is_killed_and_a_survivor_is_reported(tmp_path):
    said = tried(tmp_path, TEST + "    assert bounded(5, 1, 9) == 5\n")
    # Only the boundary itself is not told apart by a value in the middle.
    assert said == "2 ['bounded: value < low -> value <= low', 'bounded: value > high -> value >= high'] None"


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the mutation run forks")
def test_a_suite_that_fails_on_the_unchanged_code_proves_nothing(tmp_path):
    said = tried(tmp_path, TEST + "    assert bounded(5, 1, 9) == 6\n")
    assert said.endswith("the suite fails on the unchanged code")


def test_equivalent_table_speaks_of_the_code_as_it_is():
    assert mutate.stale(list(mutate.NEAREST), EQUIVALENT) == []
    assert mutate.stale(["integers"], {"integers": {"no such key": ""}}) == ["integers: no such key"]
    for table in EQUIVALENT.values():
        assert all(len(reason) > 15 for reason in table.values())


def test_unknown_module_is_one_clear_line(capsys):
    assert mutate.main(["nonsense"]) == 2
    assert "no module 'nonsense'" in capsys.readouterr().err
