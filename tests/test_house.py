"""The rules of the house that a machine can check: length, who imports whom, what device code may not contain."""

import ast

from house import DEVICE, HOST, ROOT, TOOLS, short, told, tree

# MicroPython modules that device code may use without being tied to a board.
PLAIN = {"array", "binascii", "gc", "io", "json", "math", "micropython", "os", "select", "struct", "sys", "time"}
# Rooms (or files beside them) that touch the chip.
WITH_MACHINE = {"boot.py", "app.py", "board_io", "commissioning", "memory", "panel", "probes"}
LINES, FUNCTION_LINES = 300, 40
# Longer files and functions, each with its reason; one that has become short must go from here.
LONG_FILES: dict = {}
LONG_FUNCTIONS = {
    "device/tizzone/learning/model_fit.py:_least": "one pass over the samples, eight sums in local variables",
    "host/oven/equations.py:derivatives": "the heat balance, one line a body",
    "host/oven/oven.py:_substep": "the heat balance, one line a body",
    "host/oven/roofed.py:_substep": "the heat balance, one line a body",
}
# Rooms and files whose public functions lack type hints: none any more, and it stays so.
WITHOUT_HINTS: set = set()


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
    """Functions at the top of a module, methods of its classes and their constructors, without a leading underscore."""
    for node in tree(path).body:
        inner = node.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_") else [node]
        for part in inner:
            if isinstance(part, ast.FunctionDef) and (part.name == "__init__" or not part.name.startswith("_")):
                yield part


def test_public_function_says_what_it_does():
    breaches = [
        f"{short(path)}:{node.lineno}: {node.name} has no docstring"
        for path in DEVICE + HOST + TOOLS
        for node in public_functions(path)
        if node.name != "__init__" and not ast.get_docstring(node)
    ]
    assert not breaches, told(breaches)


def lacks_hints(function):
    """Whether an argument or the result says no type."""
    arguments = function.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs, arguments.vararg, arguments.kwarg]
    bare = [a for a in named if a is not None and a.annotation is None and a.arg not in ("self", "cls")]
    return bool(bare) or function.returns is None


def test_public_functions_of_the_laptop_say_their_types():
    """What MicroPython runs as well has no typing; every other room is done or on the list."""
    on_micropython = {"host/shim/modules", "host/board_pty/child.py", "host/player/board/player"}
    on_micropython |= {f"host/shim/{name}.py" for name in ("child", "console", "life", "mainsphase", "pins", "port")}
    lacking = {}
    for path in HOST + TOOLS:
        if {short(path), short(path.parent)} & on_micropython or path.name == "__main__.py":
            continue
        where = "/".join(short(path).split("/")[:2])
        where = short(path) if short(path) in WITHOUT_HINTS else where
        bare = [node.name for node in public_functions(path) if lacks_hints(node)]
        if bare:
            lacking.setdefault(where, []).append(f"{short(path)}: {', '.join(bare)}")
    breaches = [line for where, lines in lacking.items() if where not in WITHOUT_HINTS for line in lines]
    breaches += [f"{where}: has its hints: take it off the list" for where in sorted(WITHOUT_HINTS - lacking.keys())]
    assert not breaches, told(breaches)


# Errors of the laptop's side that do not come from HostError; one that does must go from here.
OWN_ERRORS = {"host/mains/reversal.py:RunError", "host/mains/sheet.py:SheetError", "host/mains/value.py:UnitError"}


def test_errors_of_the_laptop_come_from_one_root():
    """A command tells a HostError in one line, whichever room raised it; what ends a simulated board is none."""
    plain = {"Exception", "ValueError", "RuntimeError", "OSError", "LookupError", "KeyError", "TypeError"}
    found = {
        f"{short(path)}:{node.name}"
        for path in HOST
        for node in ast.walk(tree(path))
        if isinstance(node, ast.ClassDef) and {getattr(base, "id", "") for base in node.bases} & plain
    }
    roots = {"host/errors/__init__.py:HostError", "host/errors/__init__.py:InputError"}
    assert found - roots == OWN_ERRORS


# Who writes files without host.files.writing: none of them is a person's own. One that no longer does must go.
OWN_WRITERS = {
    "host/board_pty/board.py": "the flash of a simulated board",
    "host/deploy/plan.py": "what mpy-cross reads, in a folder of its own",
    "host/drill/warm.py": "a pin map for one drill, in a folder of its own",
    "host/files/writing.py": "the one way",
    "host/shim/remote.py": "the flash of a simulated board",
    "tools/install_check.py": "a fresh environment that is thrown away",
    "tools/mutation_run.py": "what a process of the campaign has found, in a folder of its own",
    "tools/start.py": "knows nothing but the standard library",
}


def test_file_of_a_person_is_written_in_one_way_alone():
    """Whole or not at all: a write that is cut off must not cost what was there before."""
    writing = {
        short(path)
        for path in HOST + TOOLS
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr in ("write_text", "write_bytes")
        and getattr(node.func.value, "id", "") != "writing"
    }
    assert writing == set(OWN_WRITERS)
