"""What is compiled for a board is what was written: numbers for names, short names, same lines, the same evening."""

import ast
import re

import pytest

from host.deploy import plan
from host.deploy.edits import Edit, edited
from host.deploy.inlining import inlined
from host.deploy.naming import shortened
from host.simulator.rehearsal import Rehearsal


def device_sources():
    """{module: source} of the package on the board."""
    paths = [path for path in plan.device_files() if "/" in path]
    return {plan.module_name(path): (plan.DEVICE / path).read_text(encoding="utf-8") for path in paths}


@pytest.fixture(scope="module")
def packed(tmp_path_factory):
    """A device folder whose modules are as they are handed to the compiler."""
    folder = tmp_path_factory.mktemp("packed")
    made = shortened(inlined(device_sources()), [(plan.DEVICE / name).read_text() for name in (plan.FIRST, plan.LAST)])
    for path in plan.device_files():
        text = made.get(plan.module_name(path)) if "/" in path else None
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text if text is not None else (plan.DEVICE / path).read_text(), encoding="utf-8")
    return folder


def evening(device, fault=()):
    """(rows, events, replies) of a start, a preheat, two breads and whatever a person asks."""
    settings = {"soak_min": 1, "bake_s": 30, "setpoint_c": 120}
    with Rehearsal(settings=settings, faults=fault, seed=3, device=device) as rehearsal:
        rehearsal.advance(6)
        replies = [rehearsal.send("start")]
        rehearsal.advance(1000)
        asked = (
            "status", "stone", "counters", "counters top", "bread 1", "night", "plan", "handover", "pace", "glance",
            "alarms", "alarms probe-open", "permissives", "verdict dark pale 1", "setting soak_min", "learn start",
            "correction dome 0:100", "witness", "version", "nonsense", "stop",
        )  # fmt: skip
        replies += [rehearsal.send(line) for line in asked]
        return rehearsal.rows.copy(), list(rehearsal.events), replies


@pytest.mark.slow
@pytest.mark.parametrize("fault", [(), ["dome_open@400"]], ids=["healthy", "tripped"])
def test_packed_device_has_the_same_evening_as_the_written_one(packed, fault):
    rows, events, replies = evening(plan.DEVICE, fault)
    packed_rows, packed_events, packed_replies = evening(packed, fault)
    assert replies[0] == "~ok" and rows["heat_top"].any()
    assert packed_replies == replies
    assert packed_events == events
    assert (packed_rows == rows).all()


@pytest.mark.slow
def test_packed_modules_have_as_many_lines_and_no_number_of_another_module(packed):
    for name, source in device_sources().items():
        path = packed.joinpath(*name.split("."))
        text = (path / "__init__.py" if path.is_dir() else path.with_suffix(".py")).read_text()
        assert text.count("\n") == source.count("\n"), name
    text = (packed / "tizzone/safety/supervisor.py").read_text()
    assert not re.findall(r"\bL\.[A-Z_]+_MS\b", text)


def test_number_of_another_module_is_put_where_it_is_used_with_its_sign():
    made = inlined({
        "a": "",
        "a.limits": "from micropython import const\nLOW = const(-5)\nHIGH = LOW + 2 * 8\nA, B = range(2)\n",
        "a.judge": "from a import limits as L\nfrom a.limits import LOW\ndef f():\n    return L.HIGH - LOW - L.B\n",
    })  # fmt: skip
    scope = {}
    exec(made["a.judge"], scope)
    assert scope["f"]() == 15
    assert "11 - (-5) - 1" in made["a.judge"]
    assert [line for line in made["a.limits"].splitlines() if line != "pass"] == ["from micropython import const"]


@pytest.mark.parametrize(
    "user",
    [
        "from a import limits as L\ndef f(L):\n    return L.LOW\n",  # another thing of that name
        "import a.limits\nX = a.limits.LOW\n",
        "from a import limits as L\nX = f'{L.LOW}'\n",
        "from a import limits as L\nX = getattr(L, 'LOW')\n",
    ],
    ids=["shadowed", "dotted", "f-string", "by text"],
)
def test_doubtful_use_of_a_number_leaves_name_and_definition(user):
    made = inlined({"a.limits": "LOW = 5\n", "a.judge": user})
    assert made == {"a.limits": "LOW = 5\n", "a.judge": user}


def test_name_that_is_bound_twice_is_no_number():
    source = "N = 1\ndef f():\n    global N\n    N = 2\n"
    assert inlined({"a": source, "b": "from a import N\nX = N\n"})["b"] == "from a import N\nX = N\n"


def test_float_and_text_keep_their_names_and_a_table_that_nobody_reads_goes():
    made = inlined({"a": "RATE = 0.5\nWORD = 'x'\nTOLD = {'k': (1, 2)}\n", "b": "import a\nX = a.RATE, a.WORD\n"})
    assert made["a"] == "RATE = 0.5\nWORD = 'x'\npass\n"


def test_range_of_numbers_keeps_those_that_are_asked_for_by_name():
    made = inlined({"a": "ONE, TWO, THREE = range(3)\n", "b": "import a\nX = a.TWO\n"})
    assert made["a"] == "TWO = 1\n"


def test_private_names_and_parameters_become_short_and_the_module_works():
    source = (
        "class Sum:\n    def __init__(self, started):\n        self._total = started\n        self.open_to_all = 0\n"
        "    def add(self, amount, factor=2):\n        self._total += _scaled(amount, factor)\n"
        "        return self._total\n"
        "def _scaled(amount, factor):\n    return sum([amount for _ in range(factor)])\n"
    )
    user = "from a import Sum\nX = Sum(1)\nY = X.add(3, factor=3) + X.open_to_all\n"
    made = shortened({"a": source, "b": user})
    assert "_total" not in made["a"] and "_scaled" not in made["a"] and "amount" not in made["a"]
    assert "factor" in made["a"] and "open_to_all" in made["a"]  # given by keyword; read from outside
    scope = {}
    exec(made["a"] + "Y = Sum(1).add(3, factor=3)\n", scope)
    assert scope["Y"] == 10


def test_class_that_inherits_from_another_module_shares_its_names():
    base = "class Base:\n    def __init__(self):\n        self._first = 1\n"
    heir = "from a import Base\nclass Heir(Base):\n    def __init__(self):\n        self._second = 2\n"
    made = shortened({"a": base, "b": heir})
    trees = [ast.parse(text) for text in made.values()]
    names = {node.attr for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert len(names) == 2


@pytest.mark.parametrize("spoken", ["Sum()._total", "getattr(x, '_total')", "from a import _total"])
def test_name_that_somebody_else_speaks_of_stays(spoken):
    source = "class Sum:\n    def __init__(self):\n        self._total = 0\n"
    assert "_total" in shortened({"a": source}, [spoken])["a"]


def test_inner_one_of_two_edits_gives_way_and_lines_stay():
    source = "X = (\n    one,\n)\nY = 2\n"
    statement, inner = ast.parse(source).body[0], ast.parse(source).body[0].value.elts[0]
    assert edited(source, [Edit.of(inner, "1"), Edit.of(statement, "pass")]) == "pass\n\n\nY = 2\n"
