"""Numbers in place of their names, before the device's modules are compiled.

MicroPython's compiler puts a `const()` in place of its name within one file only. Across files a number stays an entry
in a dict, its name a string in the board's memory, and each use two look-ups in the tick. Here every whole number that
a module of the device defines once is put where it is used, line by line, so that a traceback tells the same lines; a
definition that nobody reads any more is left out.

Doubt leaves a name as it is: bound twice or in an inner scope, met in an f-string, asked for by its name as text.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Mapping

from host.deploy.edits import Edit, edited

_SIMPLE = {
    ast.Add: lambda a, b: a + b,
    ast.Sub: lambda a, b: a - b,
    ast.Mult: lambda a, b: a * b,
    ast.FloorDiv: lambda a, b: a // b,
    ast.LShift: lambda a, b: a << b,
    ast.BitOr: lambda a, b: a | b,
}


class _Module:
    """One module: its syntax, what it binds and which numbers it can see."""

    def __init__(self, name: str, source: str) -> None:
        self.name = name
        self.source = source
        self.tree = ast.parse(source)
        self.bound = Counter(_bound(self.tree))
        self.own: dict[str, int] = {}  # numbers defined here
        self.numbers: dict[str, int] = {}  # own and imported ones, by their name here
        self.aliases: dict[str, str] = {}  # names of modules here -> module


def inlined(sources: Mapping[str, str]) -> dict[str, str]:
    """{module: source} as given, e.g. {"tizzone.safety.limits": "..."}, with the numbers in place of their names."""
    modules = {name: _Module(name, source) for name, source in sources.items()}
    for module in modules.values():
        _find_aliases(module, modules)
    while sum(_learn(module, modules) for module in modules.values()):
        pass  # a number may be made of another module's
    edits = {name: _uses(module, modules) for name, module in modules.items()}
    after = {name: edited(module.source, edits[name]) for name, module in modules.items()}
    still_read = set().union(*(_mentioned(ast.parse(text)) for text in after.values()))
    for name, module in modules.items():
        edits[name] += _dropped_imports(module, modules, after[name]) + _dropped_definitions(module, still_read)
    return {name: edited(module.source, edits[name]) for name, module in modules.items()}


# --- what a module binds and knows -------------------------------------------------------------------


def _bound(tree):
    """Every name that anything in the tree binds, in whatever scope, once for each binding."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, ast.ExceptHandler) and node.name:
            yield node.name
        elif isinstance(node, ast.Import | ast.ImportFrom):
            for alias in node.names:
                yield alias.asname or alias.name.partition(".")[0]
        elif isinstance(node, ast.Global | ast.Nonlocal):
            yield from node.names * 2


def _find_aliases(module, modules):
    for node in module.tree.body:
        if isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                here, there = alias.asname or alias.name, f"{node.module}.{alias.name}"
                if there in modules and module.bound[here] == 1:
                    module.aliases[here] = there


def _learn(module, modules):
    """Numbers that this pass has added."""
    before = len(module.numbers)
    for node in module.tree.body:
        if isinstance(node, ast.ImportFrom) and node.module in modules:
            for alias in node.names:
                here = alias.asname or alias.name
                if alias.name in modules[node.module].own and module.bound[here] == 1:
                    module.numbers[here] = modules[node.module].own[alias.name]
        elif isinstance(node, ast.Assign) and len(node.targets) == 1:
            for name, value in _defined(node, module, modules):
                if module.bound[name] == 1:
                    module.own[name] = module.numbers[name] = value
    return len(module.numbers) - before


def _defined(node, module, modules):
    """(name, number) of each that an assignment defines."""
    target, value = node.targets[0], node.value
    if isinstance(target, ast.Name):
        number = _number(value, module, modules)
        return [] if number is None else [(target.id, number)]
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Call) and isinstance(value.func, ast.Name):
        names = [item.id for item in target.elts if isinstance(item, ast.Name)]
        count = _number(value.args[0], module, modules) if len(value.args) == 1 else None
        if value.func.id == "range" and count == len(names) == len(target.elts):
            return [(name, i) for i, name in enumerate(names)]
    return []


def _number(node, module, modules):
    """The whole number that an expression is, None if it is not sure to be one."""
    if isinstance(node, ast.Constant):
        return node.value if type(node.value) is int else None
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "const":
        return _number(node.args[0], module, modules)
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inner = _number(node.operand, module, modules)
        return None if inner is None else -inner
    if isinstance(node, ast.BinOp) and type(node.op) in _SIMPLE:
        sides = [_number(side, module, modules) for side in (node.left, node.right)]
        return None if None in sides else _SIMPLE[type(node.op)](*sides)
    return _meant(node, module, modules)


def _meant(node, module, modules):
    """The number that a name or `module.NAME` stands for, or None."""
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
        return module.numbers.get(node.id)
    if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load) and isinstance(node.value, ast.Name):
        there = module.aliases.get(node.value.id)
        return modules[there].own.get(node.attr) if there else None
    return None


# --- what is changed ---------------------------------------------------------------------------------


def _uses(module, modules):
    """An edit for each use of a number by its name."""
    found = []
    waiting = [module.tree]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.JoinedStr):  # its parts do not tell where they stand before Python 3.12
            continue
        value = _meant(node, module, modules)
        if value is not None:
            found.append(Edit.of(node, str(value) if value >= 0 else f"({value})"))
        else:
            waiting.extend(ast.iter_child_nodes(node))
    return found


def _mentioned(tree):
    """Every name that is read, imported or told as text, apart from where it is defined."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            found.add(node.id)
        elif isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.add(node.value)
        elif isinstance(node, ast.ImportFrom) and node not in tree.body:
            found.update(alias.name for alias in node.names)
    return found


def _dropped_imports(module, modules, after):
    """Imports of numbers, and of modules for their numbers alone: nothing here reads them by their names any more."""
    read = {node.id for node in ast.walk(ast.parse(after)) if isinstance(node, ast.Name)}
    spare = (set(module.numbers) | set(module.aliases)) - read
    found = []
    for node in module.tree.body:
        if isinstance(node, ast.ImportFrom) and node.module in modules:
            rest = [a for a in node.names if (a.asname or a.name) not in spare]
            if len(rest) < len(node.names):
                words = ", ".join(f"{a.name} as {a.asname}" if a.asname else a.name for a in rest)
                found.append(Edit.of(node, f"from {node.module} import {words}" if rest else "pass"))
    return found


def _dropped_definitions(module, still_read):
    """Definitions that nobody reads any more: numbers, and tables that only the laptop looks at."""
    found = []
    for node in module.tree.body:
        if not isinstance(node, ast.Assign) or len(node.targets) != 1:
            continue
        names = [item.id for item in ast.walk(node.targets[0]) if isinstance(item, ast.Name)]
        rest = [name for name in names if name in still_read]
        if names and not rest and (all(name in module.own for name in names) or _is_literal(node.value)):
            found.append(Edit.of(node, "pass"))
        elif 0 < len(rest) < len(names) and all(name in module.own for name in names):
            values = ", ".join(str(module.own[name]) for name in rest)
            found.append(Edit.of(node, f"{', '.join(rest)} = {values}"))
    return found


def _is_literal(node):
    try:
        ast.literal_eval(node)
    except (ValueError, TypeError):
        return False
    return True
