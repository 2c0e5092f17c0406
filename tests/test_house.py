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


@pytest.mark.parametrize("path", DEVICE, ids=short)
def test_device_file_has_no_module_level_mutable_state(path):
    """Dicts and lists at module level are tables: nothing in the device may write into them or rebind a global."""
    for node in ast.walk(tree(path)):
        assert not isinstance(node, ast.Global), f"global, line {node.lineno}"


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
