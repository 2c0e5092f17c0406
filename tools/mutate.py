"""Mutation run over the safety path: every small change of the code must fail a unit test, or be listed as harmless.

    python -m tools.mutate                    every module; a few minutes on two cores
    python -m tools.mutate board_io/heater    some of them
    python -m tools.mutate --list             what would be tried

Each mutant is compiled from a changed syntax tree and put in the place of the module in a World of its own; the unit
tests of tests/safety run on it in a forked process, the nearest first, until one fails. A mutant that no test can tell
from the original stands in tools/mutants_equivalent.py with the reason. Exit code 0: none survived, 1: some did.
"""

import argparse
import ast
import copy
import gc
import json
import os
import signal
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "device" / "tizzone"
SHIM = ROOT / "host" / "shim" / "modules"
SUITE = ROOT / "tests" / "safety"
# Module -> the test files nearest to it; all of them run on every mutant that is still alive.
NEAREST = {
    "safety/supervisor": ("test_supervisor_limits", "test_promises", "test_conditions", "test_supervisor_rules"),
    "safety/alarms": ("test_alarms", "test_conditions"),
    "safety/wiring_rules": ("test_wiring",),
    "board_io/heater": ("test_heater_share", "test_heater", "test_heater_window"),
    "safety/attendance": ("test_people",),
    "safety/own_writes": ("test_conditions",),
    "safety/oven_rules": ("test_rules", "test_rules_heat"),
    "board_io/contacts": ("test_sensed",),
    "integers": ("test_people", "test_rules"),
}
PATIENCE_S = 60  # a mutant that does not end counts as killed

COMPARE = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
ARITHMETIC = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.LShift: ast.RShift, ast.RShift: ast.LShift,
}  # fmt: skip


def variants(node):
    """What a node can be changed into: new nodes."""
    made = []
    if isinstance(node, ast.Compare):
        for i, operator in enumerate(node.ops):
            new = copy.deepcopy(node)
            new.ops[i] = COMPARE[type(operator)]()
            made.append(new)
    elif isinstance(node, ast.BoolOp):
        new = copy.deepcopy(node)
        new.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        made.append(new)
        for i in range(len(node.values)):  # and each operand left out
            new = copy.deepcopy(node)
            del new.values[i]
            made.append(new if len(new.values) > 1 else new.values[0])
    elif isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in ARITHMETIC:
        new = copy.deepcopy(node)
        new.op = ARITHMETIC[type(node.op)]()
        made.append(new)
        if isinstance(node, ast.AugAssign):
            made.append(ast.Pass())
    elif isinstance(node, ast.UnaryOp):
        made.append(copy.deepcopy(node.operand))
    elif isinstance(node, ast.IfExp):
        made.append(copy.deepcopy(node.body))
        made.append(copy.deepcopy(node.orelse))
    elif isinstance(node, ast.Constant) and type(node.value) is int:
        made.extend(ast.Constant(node.value + step) for step in (1, -1))
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        made.append(ast.Constant(not node.value))
    elif isinstance(node, ast.Return):
        made.append(ast.Pass() if node.value is None else ast.Return(ast.Constant(None)))
    elif isinstance(node, (ast.Assign, ast.Break)) or (
        isinstance(node, ast.Expr) and not isinstance(node.value, ast.Constant)
    ):
        made.append(ast.Pass())
    return made


def places(tree):
    """(parent, field, index or None, node, function name) of every node below `tree`, in a fixed order."""
    stack = [(tree, "")]
    while stack:
        parent, name = stack.pop()
        for field, value in ast.iter_fields(parent):
            for index, node in enumerate(value) if isinstance(value, list) else [(None, value)]:
                if isinstance(node, ast.AST):
                    inner = name
                    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
                        inner = f"{name}.{node.name}" if name else node.name
                    yield parent, field, index, node, inner
                    stack.append((node, inner))


def mutants(source, with_trees=True):
    """[(key, line, changed tree or None)] of a module's source. A key tells function, change and which of its kind."""
    found = []
    counts = {}
    tree = ast.parse(source)
    for parent, field, index, node, name in list(places(tree)):
        for new in variants(node):
            before, after = ast.unparse(node), ast.unparse(new)
            if isinstance(node, ast.Constant):  # a bare number says little: show what it stands in
                before = f"{before} in {ast.unparse(parent).splitlines()[0][:80]}"
            text = f"{name or 'module'}: {before} -> {after}"
            counts[text] = counts.get(text, 0) + 1
            key = text if counts[text] == 1 else f"{text} #{counts[text]}"
            changed = None
            if with_trees:
                put(parent, field, index, new)
                changed = ast.fix_missing_locations(copy.deepcopy(tree))
                put(parent, field, index, node)
            found.append((key, getattr(node, "lineno", 0), changed))
    return found


def put(parent, field, index, node):
    """Replace one child."""
    if index is None:
        setattr(parent, field, node)
    else:
        getattr(parent, field)[index] = node


class Run:
    """A pytest plugin: collects the suite once, then runs it on every mutant in forked processes."""

    def __init__(self, jobs, work, tell):
        # As they are now, whatever is edited meanwhile; compiled once for all children.
        self.sources = {
            path: compile(path.read_text("utf-8"), str(path), "exec")
            for folder in (PACKAGE, SHIM)
            for path in folder.rglob("*.py")
        }
        self.jobs = jobs
        self.work = work  # [(module name, key, line, code)]
        self.tell = tell
        self.survivors = []
        self.fault = None

    def pytest_runtestloop(self, session):
        """Instead of running the tests once."""
        if session.testsfailed:
            self.fault = "the suite cannot be collected"
            return True
        if self._wait({self._fork(session.items, None): None}) != [(None, True)]:
            self.fault = "the suite fails on the unchanged code"
            return True
        running = {}
        for done, one in enumerate(self.work, 1):
            while len(running) >= self.jobs:
                self._reap(running)
            running[self._fork(session.items, one)] = one
            self.tell(done, len(self.work), len(self.survivors))
        while running:
            self._reap(running)
        return True

    def _reap(self, running):
        for one, passed in self._wait(running):
            if passed:
                self.survivors.append(one)

    @staticmethod
    def _wait(running):
        pid, status = os.wait()
        return [(running.pop(pid), status == 0)] if pid in running else []

    def _fork(self, items, one):
        sys.stdout.flush()
        pid = os.fork()
        if pid:
            return pid
        code = 1
        try:
            gc.disable()
            signal.alarm(PATIENCE_S)
            null = os.open(os.devnull, os.O_WRONLY)
            if not os.environ.get("MUTATE_SHOW"):
                os.dup2(null, 1)
                os.dup2(null, 2)
            code = 0 if self._passes(items, one) else 1
        finally:
            os._exit(code)

    def _passes(self, items, one):
        import safety_bench
        from _pytest.runner import runtestprotocol

        from host.shim.loader import World

        sources = self.sources
        if one is not None:
            sources = {**sources, PACKAGE / (one[0] + ".py"): one[3]}

        class Changed(World):
            def _code(self, path):
                return sources[path]

        safety_bench.replace_world(Changed())
        if one is not None:
            near = NEAREST[one[0]]
            items = sorted(items, key=lambda item: near.index(item.path.stem) if item.path.stem in near else len(near))
        for item, following in zip(items, items[1:] + [None], strict=True):
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return False
        return True


def run(work, jobs, suite=None, tell=lambda done, total, alive: None):
    """Survivors of `work`, and None or what went wrong."""
    import pytest

    names = sorted({name for near in NEAREST.values() for name in near})
    files = suite or [str(SUITE / f"{name}.py") for name in names if (SUITE / f"{name}.py").is_file()]
    plugin = Run(jobs, work, tell)
    pytest.main([*files, "-qq", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-header"], plugins=[plugin])
    return plugin.survivors, plugin.fault


def stale(names, equivalent):
    """Keys of the table that the code no longer has."""
    unknown = []
    for name in names:
        keys = {key for key, _, _ in mutants((PACKAGE / (name + ".py")).read_text(encoding="utf-8"), False)}
        unknown.extend(f"{name}: {key}" for key in equivalent.get(name, {}) if key not in keys)
    return unknown


def planned(names, equivalent):
    """Every mutant of these modules but the equivalent ones: [(module, key, line, code)]."""
    work = []
    for name in names:
        path = PACKAGE / (name + ".py")
        found = mutants(path.read_text(encoding="utf-8"))
        excused = equivalent.get(name, {})
        work.extend(
            (name, key, line, compile(tree, str(path), "exec")) for key, line, tree in found if key not in excused
        )
    return work


def progress(done, total, alive):
    """One line that is written over."""
    if sys.stderr.isatty() or done % 100 == 0:
        print(f"\r{done}/{total} mutants, {alive} survived", end="", file=sys.stderr, flush=True)


def main(argv=None):
    """The command; returns its exit code."""
    from tools.mutants_equivalent import EQUIVALENT

    parser = argparse.ArgumentParser(description="Mutation run over the safety path.")
    parser.add_argument("modules", nargs="*", help=f"of {', '.join(NEAREST)}; all of them by default")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--list", action="store_true", help="only tell what would be tried")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args(argv)
    for name in options.modules:
        if name not in NEAREST:
            print(f"mutate: no module {name!r} (known: {', '.join(NEAREST)})", file=sys.stderr)
            return 2
    names = options.modules or list(NEAREST)
    work, unknown = planned(names, EQUIVALENT), stale(names, EQUIVALENT)
    if options.list:
        for name, key, line, _ in work:
            print(f"{name}.py:{line}: {key}")
        return 0
    survivors, fault = run(work, options.jobs, tell=progress)
    if fault:
        print(f"\nmutate: {fault}", file=sys.stderr)
        return 2
    survivors = sorted(f"{name}.py:{line}: {key}" for name, key, line, _ in survivors)
    excused = sum(len(table) for table in EQUIVALENT.values())
    if options.json:
        print(json.dumps({"tried": len(work), "survived": survivors, "equivalent": excused, "unknown": unknown}))
    else:
        print(f"\n{len(work)} mutants tried, {len(survivors)} survived; {excused} listed as equivalent")
        print("\n".join(survivors + [f"in the table but not in the code: {text}" for text in unknown]))
    return 1 if survivors or unknown else 0


if __name__ == "__main__":
    sys.exit(main())
