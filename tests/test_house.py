"""The rules of the house that a machine can check: who imports whom, and what device code may not contain."""

import ast
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DEVICE = sorted((ROOT / "device").rglob("*.py"))
HOST = sorted((ROOT / "host").rglob("*.py"))
TOOLS = sorted((ROOT / "tools").glob("*.py"))
# MicroPython modules that device code may use without being tied to a board.
PLAIN = {"array", "binascii", "gc", "io", "json", "math", "micropython", "os", "select", "struct", "sys", "time"}
HARDWARE_FILES = {"boot.py", "app.py", "heater.py", "contacts.py", "panel.py", "buzzer.py", "release.py", "memory.py"}


def tree(path):
    """Parsed source of a file."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imported(path):
    """Top-level names of all modules that a file imports, wherever in it."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield (node.module or "").split(".")[0]


def short(path):
    """Path for a test's name."""
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", DEVICE, ids=short)
def test_device_file_imports_only_the_device_and_micropython(path):
    allowed = PLAIN | {"tizzone"}
    if path.name in HARDWARE_FILES or path.parent.name == "probes":
        allowed |= {"machine"}
    if path.name in ("boot.py", "app.py"):
        allowed |= {"board"}
    if path.name == "panel.py":
        allowed |= {"framebuf"}
    assert set(imported(path)) <= allowed


@pytest.mark.parametrize("path", HOST + TOOLS, ids=short)
def test_laptop_file_never_imports_against_the_stream(path):
    found = set(imported(path))
    assert "tests" not in found
    if path in HOST:
        assert "tools" not in found


@pytest.mark.parametrize("path", DEVICE, ids=short)
def test_device_file_has_no_assert_and_no_silent_except(path):
    for node in ast.walk(tree(path)):
        assert not isinstance(node, ast.Assert), f"assert vanishes in optimised builds, line {node.lineno}"
        if isinstance(node, ast.ExceptHandler):
            assert node.type is not None, f"bare except, line {node.lineno}"
            caught_all = isinstance(node.type, ast.Name) and node.type.id in ("Exception", "BaseException")
            only_pass = all(isinstance(part, ast.Pass) for part in node.body)
            assert not (caught_all and only_pass), f"silent except, line {node.lineno}"


def stored_into(node):
    """Targets that a statement assigns, deletes or counts on; tuples are taken apart."""
    if isinstance(node, (ast.Assign, ast.Delete)):
        found = list(node.targets)
    elif isinstance(node, (ast.AugAssign, ast.AnnAssign, ast.For, ast.NamedExpr)):
        found = [node.target]
    else:
        return
    while found:
        target = found.pop()
        if isinstance(target, (ast.Tuple, ast.List)):
            found += target.elts
        elif isinstance(target, ast.Starred):
            found.append(target.value)
        else:
            yield target


# Methods of dict, list, set, bytearray and array that change what they are called on.
CHANGING = {
    "append", "extend", "insert", "remove", "pop", "popitem", "clear", "update", "setdefault", "sort", "reverse",
    "add", "discard", "appendleft",
}  # fmt: skip


def module_state_changed(parsed):
    """(line, name) wherever something that lives at the level of a module (or of a class) is written into."""
    kept = set()
    for holder in [parsed, *(node for node in ast.walk(parsed) if isinstance(node, ast.ClassDef))]:
        for node in holder.body:
            kept |= {target.id for target in stored_into(node) if isinstance(target, ast.Name)}
    for node in ast.walk(parsed):
        if isinstance(node, ast.Global):
            yield node.lineno, node.names[0]
        for target in stored_into(node):
            if isinstance(target, ast.Subscript) and named(target.value) in kept:
                yield node.lineno, named(target.value)
        is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if is_call and node.func.attr in CHANGING and named(node.func.value) in kept:
            yield node.lineno, named(node.func.value)


def named(node):
    """The name that a store goes through: `name`, or NAME of `module.NAME` and `self.NAME` in capitals."""
    if isinstance(node, ast.Attribute):
        return node.attr if node.attr.isupper() else None
    return node.id if isinstance(node, ast.Name) else None


@pytest.mark.parametrize("path", DEVICE, ids=short)
def test_device_file_has_no_module_level_mutable_state(path):
    """A rehearsal copies whole boards: what modules and classes hold are tables that nobody writes into."""
    assert list(module_state_changed(tree(path))) == []


@pytest.mark.parametrize(
    "text",
    [
        "TABLE = {}\ndef f():\n    TABLE[1] = 2\n",
        "TABLE = []\ndef f():\n    TABLE.append(2)\n",
        "_buf = bytearray(4)\ndef f():\n    _buf[0], x = 1, 2\n",
        "class A:\n    SEEN = set()\n    def f(self):\n        self.SEEN.add(2)\n",
        "n = 0\ndef f():\n    global n\n    n = 1\n",
        "TABLE = {}\nTABLE.update({1: 2})\n",
    ],
)
def test_check_of_module_state_finds_what_it_is_there_for(text):
    assert len(list(module_state_changed(ast.parse(text)))) == 1


# What only the supervisor and its alarms may write: permit, limits, latch. A class's own `self.x` is its own.
GUARDED = {
    "granted", "contactor", "tripped", "limit_mc", "ceiling_mc", "release_mc", "restart_mc", "armed", "self_test",
    "release_reduced", "first_out", "locked_out", "trips_in_a_row", "latch_changed", "pull_the_plug", "holding",
    "stopping", "permit",
}  # fmt: skip


def named_self(node):
    """Is this `self`?"""
    return isinstance(node, ast.Name) and node.id == "self"


def guarded_writes(parsed):
    """(line, attribute) of every write to a guarded attribute of another object, also by setattr."""
    for node in ast.walk(parsed):
        for target in stored_into(node):
            if not isinstance(target, ast.Attribute) or named_self(target.value):
                continue
            if target.attr.lstrip("_").replace("_inverted", "_mc") in GUARDED:
                yield node.lineno, target.attr
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "setattr":
            yield node.lineno, "setattr"


@pytest.mark.parametrize("path", [p for p in DEVICE if p.parent.name != "safety"], ids=short)
def test_device_file_outside_safety_writes_no_permit_and_no_limit(path):
    assert list(guarded_writes(tree(path))) == []


@pytest.mark.parametrize(
    "text",
    ["permit.granted = 0", "app.supervisor._limit_mc -= 1", "a.x, sup.armed = 1, 1", 'setattr(sup, "armed", 1)',
     "sup._ceiling_inverted = 2"],
)  # fmt: skip
def test_check_of_permit_and_limit_finds_what_it_is_there_for(text):
    assert len(list(guarded_writes(ast.parse(text)))) == 1


# Rooms of the device, the lowest first; a room may import what stands before it, and rooms of one line not each other.
RANKS = (
    ("integers",), ("probes",), ("safety",), ("memory", "board_io"), ("control",), ("evening", "commissioning"),
    ("learning",), ("link",), ("panel",), ("report", "parts"), ("app",),
)  # fmt: skip
RANK = {room: rank for rank, rooms in enumerate(RANKS) for room in rooms}
MEMORY_IS_KNOWN_TO = {"app", "parts", "link", "commissioning", "memory"}


def room_of(path):
    """Room of a device file: its folder, or its own name at the top."""
    return path.stem if path.parent.name == "tizzone" else path.relative_to(ROOT / "device/tizzone").parts[0]


def rooms_imported(path):
    """(line, room) of every module of the device that a file imports."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "tizzone":
            parts = node.module.split(".")
            names = [parts[1]] if len(parts) > 1 else [alias.name for alias in node.names if alias.name in RANK]
            yield from ((node.lineno, name) for name in names)


@pytest.mark.parametrize("path", [p for p in DEVICE if p.parent.name != "device" and p.stem != "__init__"], ids=short)
def test_device_file_imports_no_room_above_its_own(path):
    own = room_of(path)
    for line, room in rooms_imported(path):
        assert room == own or RANK[room] < RANK[own], f"line {line}: {own} may not know {room}"
        assert room != "memory" or own in MEMORY_IS_KNOWN_TO, f"line {line}: {own} gets its memory from app"


# Longer than 300 lines or 40 lines a function, and why.
LONGER = {
    "device/tizzone/learning/model_fit.py": {"_try": "one pass over the samples, eight sums in local variables"},
}


@pytest.mark.parametrize("path", DEVICE, ids=short)
def test_device_file_and_its_functions_are_short(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 300
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            is_long = node.end_lineno - node.lineno + 1 > 40
            assert is_long == (node.name in LONGER.get(short(path), ())), f"{node.name}, line {node.lineno}"


@pytest.mark.parametrize("path", DEVICE + HOST + TOOLS, ids=short)
def test_file_opens_with_a_docstring_and_stays_short(path):
    text = path.read_text(encoding="utf-8")
    if path.name != "main.py" and text.strip():
        assert ast.get_docstring(tree(path)), "say what the module does and what it never does"
    assert len(text.splitlines()) <= 400


def test_version_is_the_same_in_device_and_package():
    package = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
    found = [
        node.value.value
        for node in ast.walk(tree(ROOT / "device/tizzone/__init__.py"))
        if isinstance(node, ast.Assign) and node.targets[0].id == "VERSION"
    ]
    assert found == [package]
