"""The mutation run itself: it kills a planted mutant, reports a survivor, and knows a table that has gone stale."""

import ast
import json
import subprocess
import sys
import types
from pathlib import Path

import pytest

from host.shim.loader import World
from tools import mutant_tables, mutants, mutate, mutation_patch, mutation_run
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
    return [key for key, *_ in mutants.mutants(source, mutant_tables.tables_of(source, ROOT / "device"))]


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
    for key, line, kind, tree in mutants.mutants(SOURCE):
        if kind == mutants.OTHER:
            continue  # these may take a line away or exchange two
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


@pytest.mark.slow
def test_equivalent_table_speaks_of_the_code_as_it_is():
    assert mutate.stale(mutate.MODULES, EQUIVALENT) == []
    for table in EQUIVALENT.values():
        assert all(len(reason) > 15 for _, reasons in table.values() for reason in reasons.values())


def test_edit_of_a_function_makes_its_reasons_due_again():
    mark, reasons = EQUIVALENT["integers"]["aged"]
    assert mutate.excused("integers", {"integers": {"aged": (mark, reasons)}}) != {}
    edited = {"integers": {"aged": ("00000000", reasons)}}
    assert mutate.excused("integers", edited) == {}
    assert "aged was edited: read its reasons again" in mutate.stale(["integers"], edited)[0]
    assert mutate.stale(["integers"], {"integers": {"aged": (mark, {"x -> y": "no reason at all"})}}) == [
        "integers: aged: x -> y: no such mutant"
    ]
    assert mutate.stale(["integers"], {"integers": {"gone": (mark, {})}}) == ["integers: gone is gone"]


def test_mark_of_a_function_follows_its_code_and_not_its_words():
    plain = mutant_tables.marks("class A:\n    def f(self):\n        return 1\n\n    def g(self):\n        return 2\n")
    told = mutant_tables.marks(
        'class A:\n    def f(self):\n        "x"\n        return 1  # y\n    def g(self):\n        return 3\n'
    )
    assert plain["A.f"] == told["A.f"]
    assert plain["A.g"] != told["A.g"]
    assert plain["A"] == told["A"]


OTHER = """
from tizzone.safety import limits as L

HEAT_MC = 200_000
COOL_MC = 100_000


def keep(store, pin):
    if pin.hot_mc > HEAT_MC * 1000:
        return False
    try:
        pin.low()
        store.save("latch", pin)
        store.close(mode=1)
        return store.commit()
    except (OSError, ValueError):
        pin.wait(L.PERIOD_MS)
    finally:
        pin.low()
"""


@pytest.mark.parametrize(
    "change",
    [
        "if pin.hot_mc > HEAT_MC * 1000: -> if False:",
        "if pin.hot_mc > HEAT_MC * 1000: -> if True:",
        "HEAT_MC * 1000 -> HEAT_MC",
        "HEAT_MC in HEAT_MC * 1000 -> COOL_MC",
        "pin.low() -> after store.save('latch', pin)",
        "store.save('latch', pin) -> store.save(pin, 'latch')",
        "store.close(mode=1) -> store.close()",
        "(OSError, ValueError) -> (ValueError,)",
        "finally -> dropped",
        "return store.commit() -> return True",
    ],
)
def test_slips_of_the_other_kind_are_tried(change):
    assert "keep: " + change in keys(OTHER)


def test_constant_of_another_name_is_one_of_its_own_kind():
    found = [key for key in keys(OTHER) if key.startswith("keep: L.PERIOD_MS in ")]
    assert found and all(key.endswith("_MS") for key in found)


def test_every_module_names_tests_that_are_there():
    for name in mutate.NEAREST:
        assert mutate.nearest_files(name), name
        assert mutate.path_of(name).is_file(), name
    assert all(Path(file).is_file() for file in mutate.safety_files())


def test_unknown_module_is_one_clear_line(capsys):
    assert mutate.main(["nonsense"]) == 2
    assert "no module 'nonsense'" in capsys.readouterr().err


JUDGES = ("safety/warmth", "safety/slipped", "safety/own_writes", "safety/permit", "board_io/zone", "integers")
KEEPS = ("memory/memory", "commissioning/release", "link/acts", "safety/permissives")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the mutation run forks")
@pytest.mark.parametrize("modules", [JUDGES, KEEPS], ids=["judges", "keeps"])
def test_sample_of_the_mutants_of_what_judges_heat_and_of_what_is_kept_is_killed(modules):
    """A part of `python -m tools.mutate`, drawn: what may permit heat, and what a board keeps and lets people do."""
    argv = [sys.executable, "-m", "tools.mutate", *modules, "--near", "--sample", "60", "--seed", "14", "--json"]
    done = subprocess.run(argv, capture_output=True, text=True, check=False, cwd=ROOT)
    told = json.loads(done.stdout)
    assert told["survived"] == [] and told["due"] == []
    assert sum(row[1] for row in told["modules"]) == 60 and done.returncode == 0


def test_renewed_world_runs_changed_code_in_the_modules_that_tests_hold(monkeypatch):
    world = World()
    warmth, integers = world.load("tizzone.safety.warmth"), world.load("tizzone.integers")
    plain, before = World._code, integers.aged
    changed = compile("CAP_MS = 7\n\n\ndef aged(age_ms, dt_ms):\n    return 42\n", "integers.py", "exec")
    monkeypatch.setattr(World, "_code", lambda own, path: changed if path.stem == "integers" else plain(own, path))
    mutation_run.renew(world)
    assert world.load("tizzone.safety.warmth") is warmth and world.load("tizzone.integers") is integers
    assert warmth.aged(1, 2) == integers.aged(1, 2) == 42 and integers.CAP_MS == 7
    assert before is not integers.aged and not hasattr(integers, "bounded")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="the mutation run forks")
def test_mutant_reaches_tests_that_import_the_device_without_a_world():
    argv = [sys.executable, "-m", "tools.mutate", "probes/conditioning", "--near", "--sample", "20", "--json"]
    done = subprocess.run(argv, capture_output=True, text=True, check=False, cwd=ROOT)
    assert json.loads(done.stdout)["survived"] == [] and done.returncode == 0


def test_function_is_changed_where_it_is_loaded_and_nothing_else_is(tmp_path, monkeypatch):
    text = "LIMIT = 10\n\nclass A:\n    @property\n    def over(self):\n        return 1\n\ndef f(a=1):\n    return a\n"
    path = tmp_path / "planted_module.py"
    path.write_text(text, encoding="utf-8")
    plain = compile(text, str(path), "exec")
    made = types.ModuleType("planted_module")
    made.__file__ = str(path)
    exec(plain, made.__dict__)
    monkeypatch.setitem(sys.modules, "planted_module", made)
    kept = made.A(), made.f  # whoever holds it already has the changed one too

    def patched(name, before, after):
        return mutation_patch.patched([], path, name, plain, compile(text.replace(before, after), str(path), "exec"))

    assert patched("A.over", "return 1", "return 2") and patched("f", "return a", "return -a")
    assert kept[0].over == 2 and kept[1](3) == -3
    for name, before, after in (
        ("f", "a=1", "a=2"), ("module", "10", "11"), ("A", "class A", "class B"), ("g", "return a", "return 5"),
    ):  # fmt: skip
        assert not patched(name, before, after)
    assert (kept[0].over, kept[1](3), made.LIMIT) == (2, -3, 10)


def test_tests_of_a_mutant_are_those_that_run_its_function():
    run = mutation_run.Run([], {"integers": ["test_b"]}, mutate.path_of, 1, True)
    file = str(mutate.path_of("integers"))
    run.reached = {
        "tests/test_a.py::slow": (9.0, {(file, "bounded")}), "tests/test_a.py::quick": (1.0, {(file, "bounded")}),
        "tests/test_b.py::near": (5.0, {(file, "bounded")}), "tests/test_a.py::other": (0.1, {(file, "aged")}),
    }  # fmt: skip
    one = ("integers", "bounded: value < low -> value <= low", 1, None)
    assert run.chosen(one) == ["tests/test_b.py::near", "tests/test_a.py::quick", "tests/test_a.py::slow"]
    assert len(run.chosen(("integers", "module: 1 in CAP_MS = 1 -> 2", 1, None))) == 4
    assert run.chosen(("integers", "nobody_calls_this: a -> b", 1, None)) == []
