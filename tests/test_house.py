"""The rules of the house that a machine can check: length, who imports whom, what device code may not contain."""

import ast

import pytest
from house import DEVICE, HOST, ROOT, TOOLS, short, told, tree

# MicroPython modules that device code may use without being tied to a board.
PLAIN = {"array", "binascii", "gc", "io", "json", "math", "micropython", "os", "select", "struct", "sys", "time"}
# Rooms (or files beside them) that touch the chip.
WITH_MACHINE = {"boot.py", "app.py", "board_io", "commissioning", "memory", "panel", "probes"}
LINES, FUNCTION_LINES = 300, 40
# Longer files and functions, each with its reason; one that has become short must go from here.
LONG_FILES = {
    "device/tizzone/app.py": "the tick, in one place",
    "device/tizzone/evening/keeper.py": "to be split",
    "device/tizzone/evening/sequence.py": "the stages of an evening, one table of moves",
    "host/commissioning/steps.py": "the witness steps in words",
    "host/simulator/rehearsal.py": "to be split",
}
LONG_FUNCTIONS = {
    "device/tizzone/learning/model_fit.py:_try": "one pass over the record, its sums side by side",
    "device/tizzone/link/evening_commands.py:plan": "one command with its six forms",
    "host/board_pty/board.py:__init__": "what a board is made of",
    "host/drill/watch.py:watch": "one loop over a case",
    "host/faults/board.py:_of_the_supply": "a table of faults",
    "host/faults/power.py:_of_the_contacts": "a table of faults",
    "host/faults/sensor.py:_of_the_dome": "a table of faults",
    "host/mains/check_places.py:_survey": "a table of findings",
    "host/mains/check_protection.py:_transfer": "a table of findings",
    "host/oven/equations.py:derivatives": "the heat balance, one line a body",
    "host/oven/oven.py:__init__": "the oven's bodies",
    "host/oven/oven.py:_substep": "the heat balance, one line a body",
    "host/oven/parameters.py:drawn": "one line a parameter",
    "host/panel/evening.py:shown": "a script of one evening",
    "host/runs/history/findings.py:finding": "a table of findings",
    "host/shim/remote.py:__init__": "the child's whole configuration",
    "host/simulator/outside.py:advance": "one step of everything around the board",
    "host/simulator/rehearsal.py:__init__": "what a rehearsal is made of",
    "tools/faults_table.py:how_seen": "a table, one line a condition",
    "tools/mutate.py:variants": "one branch a kind of node",
}
# Rooms whose public functions do not all have type hints yet; one that is done must go from here.
WITHOUT_HINTS = {
    "host/board_pty", "host/calibration", "host/chips", "host/commissioning", "host/deploy", "host/drill",
    "host/faults", "host/files", "host/learning", "host/link", "host/mains", "host/oven", "host/panel", "host/pins",
    "host/plans", "host/runs", "host/simulator", "host/watch", "tools/calibrate.py", "tools/commission.py",
    "tools/coverage_check.py", "tools/deploy.py", "tools/drill.py", "tools/faults_table.py", "tools/identify.py",
    "tools/make_tables.py", "tools/mutate.py", "tools/pins.py", "tools/plan.py", "tools/rehearse.py",
    "tools/report.py", "tools/watch.py",
}  # fmt: skip
DISPLAYS = (ast.List, ast.Dict, ast.Set, ast.ListComp, ast.DictComp, ast.SetComp)
MAKERS = {"list", "dict", "set", "bytearray", "array", "deque"}
CHANGERS = {"append", "extend", "insert", "remove", "pop", "clear", "update", "setdefault", "add", "discard", "sort",
            "reverse", "popitem"}  # fmt: skip


def imported(path):
    """Top-level names of all modules that a file imports, wherever in it."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level:
            yield (node.module or "").split(".")[0]


def room(path):
    """The room of a device file, or its name where it lies beside the rooms."""
    parts = path.relative_to(ROOT / "device").parts
    return parts[1] if parts[0] == "tizzone" else parts[0]


def functions(path):
    """Every function of a file."""
    return [node for node in ast.walk(tree(path)) if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))]


def test_device_file_imports_only_the_device_and_micropython():
    breaches = []
    for path in DEVICE:
        allowed = PLAIN | {"tizzone"}
        allowed |= {"machine"} if room(path) in WITH_MACHINE else set()
        allowed |= {"board"} if path.name in ("boot.py", "app.py") else set()
        allowed |= {"framebuf"} if room(path) == "panel" else set()
        breaches += [f"{short(path)}: {name}" for name in sorted(set(imported(path)) - allowed)]
    assert not breaches, told(breaches)


def test_rooms_with_machine_all_use_it():
    """A room that no longer touches the chip must go from the list."""
    assert {room(path) for path in DEVICE if "machine" in set(imported(path))} == WITH_MACHINE


@pytest.mark.slow
def test_laptop_file_never_imports_against_the_stream():
    forbidden = [(path, {"tests", "tools"}) for path in HOST] + [(path, {"tests"}) for path in TOOLS]
    breaches = [f"{short(path)}: {name}" for path, names in forbidden for name in names & set(imported(path))]
    assert not breaches, told(breaches)


def test_device_file_has_no_assert_and_no_silent_except():
    breaches = []
    for path in DEVICE:
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Assert):
                breaches.append(f"{short(path)}:{node.lineno}: assert vanishes in optimised builds")
            elif isinstance(node, ast.ExceptHandler) and is_silent(node):
                breaches.append(f"{short(path)}:{node.lineno}: bare or silent except")
    assert not breaches, told(breaches)


def is_silent(handler):
    """A handler that takes everything: without a type, or with a type of all and nothing done."""
    caught_all = isinstance(handler.type, ast.Name) and handler.type.id in ("Exception", "BaseException")
    only_pass = all(isinstance(part, ast.Pass) for part in handler.body)
    return handler.type is None or (caught_all and only_pass)


def mutable_names(path):
    """Names at the top of a module that are bound to something that can be changed."""
    for node in tree(path).body:
        value = getattr(node, "value", None)
        made = isinstance(value, ast.Call) and isinstance(value.func, ast.Name) and value.func.id in MAKERS
        if isinstance(node, (ast.Assign, ast.AnnAssign)) and (made or isinstance(value, DISPLAYS)):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            yield from (target.id for target in targets if isinstance(target, ast.Name))


def changes(source, names):
    """(line, name) of all that rebinds a global or, in a function, writes into one of these names."""

    def named(node):
        base = node.id if isinstance(node, ast.Name) else getattr(node, "attr", None)
        return base if base in names else None

    inner = [node for function in ast.walk(source) if isinstance(function, ast.FunctionDef) for node in function.body]
    for node in (part for statement in inner for part in ast.walk(statement)):
        if isinstance(node, ast.Global):
            yield node.lineno, "global " + ", ".join(node.names)
        elif isinstance(node, ast.Subscript) and isinstance(node.ctx, (ast.Store, ast.Del)) and named(node.value):
            yield node.lineno, named(node.value)
        elif isinstance(node, ast.AugAssign) and named(node.target):
            yield node.lineno, named(node.target)
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") in CHANGERS and named(node.func.value):
            yield node.lineno, named(node.func.value)


def test_device_code_never_writes_into_what_stands_at_the_top_of_a_module():
    """Dicts and lists there are tables: a rehearsal copies whole boards, and state in a module would be shared."""
    names = {name for path in DEVICE for name in mutable_names(path)}
    breaches = [f"{short(path)}:{line}: {what}" for path in DEVICE for line, what in changes(tree(path), names)]
    assert names and not breaches, told(breaches)


@pytest.mark.parametrize(
    "line", ["TABLE['a'] = 1", "del TABLE['a']", "TABLE.update(a=1)", "m.TABLE['a'] = 1", "TABLE += [1]",
             "global TABLE; TABLE = 1"]
)  # fmt: skip
def test_writing_into_a_table_is_seen(line):
    assert list(changes(ast.parse(f"def f():\n    {line}"), {"TABLE"}))


def test_file_opens_with_a_docstring():
    breaches = [
        f"{short(path)}: say what the module does and what it never does"
        for path in DEVICE + HOST + TOOLS
        if path.name != "main.py" and path.read_text(encoding="utf-8").strip() and not ast.get_docstring(tree(path))
    ]
    assert not breaches, told(breaches)


def test_file_stays_short_or_is_named_with_its_reason():
    long = {
        short(path): lines
        for path in DEVICE + HOST + TOOLS
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > LINES
    }
    breaches = [f"{name}: {lines} lines of {LINES}" for name, lines in long.items() if name not in LONG_FILES]
    breaches += [f"{name}: is short now, or gone: take it off the list" for name in sorted(LONG_FILES.keys() - long)]
    assert not breaches, told(breaches)


def test_function_stays_short_or_is_named_with_its_reason():
    long = {
        f"{short(path)}:{node.name}": node.end_lineno - node.lineno + 1
        for path in DEVICE + HOST + TOOLS
        for node in functions(path)
        if node.end_lineno - node.lineno + 1 > FUNCTION_LINES
    }
    breaches = [f"{name}: {lines} lines" for name, lines in long.items() if name not in LONG_FUNCTIONS]
    breaches += [f"{name}: is short now, or gone: take it off" for name in sorted(LONG_FUNCTIONS.keys() - long)]
    assert not breaches, told(breaches)


def public_functions(path):
    """Functions at the top of a module and methods of its classes, without a leading underscore."""
    for node in tree(path).body:
        inner = node.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_") else [node]
        for part in inner:
            if isinstance(part, ast.FunctionDef) and not part.name.startswith("_"):
                yield part


def lacks_hints(function):
    """Whether an argument or the result says no type."""
    arguments = function.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs, arguments.vararg, arguments.kwarg]
    bare = [a for a in named if a is not None and a.annotation is None and a.arg not in ("self", "cls")]
    return bool(bare) or function.returns is None


def test_public_functions_of_the_laptop_say_their_types():
    """What MicroPython runs as well has no typing; every other room is done or on the list."""
    on_micropython = {"host/shim/modules", "host/shim", "host/board_pty/child.py"}
    lacking = {}
    for path in HOST + TOOLS:
        if {short(path), short(path.parent)} & on_micropython or path.name == "__main__.py":
            continue
        where = short(path) if path.parent.name in ("tools", "host") else "/".join(short(path).split("/")[:2])
        bare = [node.name for node in public_functions(path) if lacks_hints(node)]
        if bare:
            lacking.setdefault(where, []).append(f"{short(path)}: {', '.join(bare)}")
    breaches = [line for where, lines in lacking.items() if where not in WITHOUT_HINTS for line in lines]
    breaches += [f"{where}: has its hints: take it off the list" for where in sorted(WITHOUT_HINTS - lacking.keys())]
    assert not breaches, told(breaches)
