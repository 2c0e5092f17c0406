"""Each number that stands at the head of a module of the mains plan or of the controller says where it comes from."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted([*(ROOT / "host/mains").rglob("*.py"), *(ROOT / "device/tizzone/control").glob("*.py")])
SAYS = re.compile(
    r"house|simulated|fit\b|fitted|from memory|common practice|IEC|NEC|UL |BS |EN |HD |CEI|CEE|AS/NZS|NEMA|ASTM|ISO|"
    r"makers?'|definition|drill|tests/bench|tests\.bench|PROBES\.md|datasheet|by their names|sine wave|reprints|"
    r"the sequence's own|1 / 1400 K|33 cm|twice the ice point|flickermeter|Value\([^)]*(MEMORY|ONCE|TWICE)"
)
DRAWN = ("diagram.py", "labels.py", "planpage.py")  # points of a picture; no figure of a build
COUNTED = (
    "ROOT",
    "_IDLE",
    "_READY",
    "_PACE",
    "TYPICAL",
    "_COUNT",
)  # numbers that only tell one kind from another, or count


def stated(path):
    """(name, line, what the module says about it) of each assignment with a number at the head of a module."""
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    for node in ast.parse(text).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        if not any(
            isinstance(part, ast.Constant) and type(part.value) in (int, float) for part in ast.walk(node.value)
        ):
            continue
        target = node.targets[0] if isinstance(node, ast.Assign) else node.target
        name = ast.unparse(target).strip("()").split(",")[0]
        first = node.lineno - 1
        while first and lines[first - 1].strip():  # the comment over its block counts for the whole block
            first -= 1
        said = [line for line in lines[first : node.lineno - 1] if line.startswith("#")]
        yield name, node.lineno, "\n".join([*said, *lines[node.lineno - 1 : node.end_lineno]])


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_every_number_of_plan_and_controller_names_its_source(path):
    if path.name in DRAWN:
        return
    head = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    missing = [f"{name} in line {line}" for name, line, said in stated(path)
               if name not in COUNTED and not SAYS.search(said)
               and not (path.name in ("keys.py", "example.py", "flicker.py") and SAYS.search(head))]  # fmt: skip
    assert missing == []


def test_numbers_with_a_source_are_many():
    assert sum(1 for path in MODULES for _ in stated(path)) > 120
