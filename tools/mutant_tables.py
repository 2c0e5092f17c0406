"""Tables of constants that a slip may take the wrong name from, and marks of functions: for tools/mutate.py."""

from __future__ import annotations

import ast
import hashlib
from pathlib import Path

from tools.mutants import is_docstring, places

UNITS = ("C", "MC", "MK", "MS", "S", "MIN", "PM", "PCT")  # what a name of a table may end in


def rows_of(source: str) -> list[list[str]]:
    """[[names], ...] of the constants in a module: those of one unit, or of one row `A, B = range(2)`."""
    units, rows = {}, []
    for node in ast.parse(source).body:
        if not isinstance(node, ast.Assign):
            continue
        target = node.targets[0]
        if isinstance(target, ast.Tuple) and all(isinstance(e, ast.Name) for e in target.elts):
            rows.append([e.id for e in target.elts])  # type: ignore[attr-defined]
        elif isinstance(target, ast.Name) and target.id.lstrip("_").isupper():
            number = _number(node.value)
            if number is not None:
                units.setdefault(_unit(target.id), {}).setdefault(number, target.id)
    return rows + [list(names.values()) for names in units.values()]


def _unit(name):
    unit = name.rpartition("_")[2]
    return unit if unit in UNITS else ""


def _number(node):
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "const":
        node = node.args[0]
    return node.value if isinstance(node, ast.Constant) and type(node.value) in (int, float) else None


def tables_of(source: str, folder: Path) -> dict[str, list[list[str]]]:
    """{alias: rows} of a module's own constants ("") and of those it imports from `folder`."""
    tables = {"": rows_of(source)}
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for name in node.names:
                path = folder.joinpath(*node.module.split("."), name.name).with_suffix(".py")
                if path.is_file():
                    tables[name.asname or name.name] = rows_of(path.read_text("utf-8"))
                else:
                    path = folder.joinpath(*node.module.split(".")).with_suffix(".py")
                    if path.is_file() and name.name.isupper():
                        tables[""] += [r for r in rows_of(path.read_text("utf-8")) if name.name in r]
    return tables


def marks(source: str) -> dict[str, str]:
    """{function name as in a key: mark of its code}: the mark changes with any edit but of comments and docstrings."""
    found = {}
    tree = ast.parse(source)
    for node, name in [(tree, "module"), *((n, name) for _, _, _, n, name in places(tree))]:
        if name and isinstance(node, (ast.Module, ast.FunctionDef, ast.ClassDef)) and node is not None:
            body = [s for s in node.body if not is_docstring(s)]
            if not isinstance(node, ast.FunctionDef):  # a class or module: without what has a mark of its own
                body = [s for s in body if not isinstance(s, (ast.FunctionDef, ast.ClassDef))]
            head = ast.dump(node.args) if isinstance(node, ast.FunctionDef) else ""
            text = head + "".join(ast.dump(s) for s in body)
            found[name] = hashlib.sha256(text.encode()).hexdigest()[:8]
    return found
