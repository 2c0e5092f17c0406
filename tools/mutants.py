"""What a mutation run changes: small slips of one operator, and slips of another kind that a tired person makes.

    for key, line, tree in mutants(source, tables): ...

Small: an operator, a comparison, a number by one, an operand left out, a statement that does nothing. Other: two
neighbouring statements exchanged, two arguments exchanged or one left out, a guard removed or always taken, a kind of
error no longer caught, a `finally` dropped, a name left out of a row, a constant of another name of the same table, a
factor of a unit lost. `tables`: {alias: [[names of one kind], ...]} of what a module imports, see
tools/mutant_tables.py.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from typing import Any

COMPARE = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
ARITHMETIC = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult, ast.Div: ast.Mult,
    ast.Mod: ast.FloorDiv, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.LShift: ast.RShift, ast.RShift: ast.LShift,
}  # fmt: skip
FACTORS = (10, 60, 100, 1000, 3600, 60_000, 0.1, 0.01, 0.001)
SMALL, OTHER = "small", "other"


def changed(node: ast.AST, **values: Any) -> Any:
    """A copy of a node with other fields."""
    new = copy.deepcopy(node)
    for name, value in values.items():
        setattr(new, name, value)
    return new


def small(node: ast.AST) -> list[ast.AST]:
    """Small slips of one node: new nodes."""
    made = []
    if isinstance(node, ast.Compare):
        for i, operator in enumerate(node.ops):
            made.append(changed(node, ops=[*node.ops[:i], COMPARE[type(operator)](), *node.ops[i + 1 :]]))
    elif isinstance(node, ast.BoolOp):
        made.append(changed(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And()))
        for i in range(len(node.values)):  # and each operand left out
            left = node.values[:i] + node.values[i + 1 :]
            made.append(changed(node, values=left) if len(left) > 1 else copy.deepcopy(left[0]))
    elif isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in ARITHMETIC:
        text = isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod) and isinstance(node.left, ast.Constant)
        if not text:  # "%d" % value is no arithmetic
            made.append(changed(node, op=ARITHMETIC[type(node.op)]()))
        if isinstance(node, ast.AugAssign):
            made.append(ast.Pass())
    elif isinstance(node, ast.UnaryOp):
        made.append(copy.deepcopy(node.operand))
    elif isinstance(node, ast.IfExp):
        made += [copy.deepcopy(node.body), copy.deepcopy(node.orelse)]
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


def other(node: ast.AST, tables: dict[str, list[list[str]]]) -> list[ast.AST]:
    """Slips of another kind of one node: new nodes."""
    made = []
    if isinstance(node, ast.If):
        made.extend(changed(node, test=ast.Constant(value)) for value in (True, False))
        following = node.orelse[0] if len(node.orelse) == 1 else None
        if isinstance(following, ast.If):  # which of two is asked first
            first = changed(following, orelse=[changed(node, orelse=following.orelse)])
            made.append(first)
    elif isinstance(node, ast.Call):
        args = node.args
        for i in range(len(args) - 1):
            if ast.dump(args[i]) != ast.dump(args[i + 1]):
                made.append(changed(node, args=[*args[:i], args[i + 1], args[i], *args[i + 2 :]]))
        for i in range(len(node.keywords)):
            made.append(changed(node, keywords=node.keywords[:i] + node.keywords[i + 1 :]))
    elif isinstance(node, ast.Return) and isinstance(node.value, ast.Call):
        made.append(ast.Return(ast.Constant(True)))
    elif isinstance(node, ast.Try) and node.finalbody:
        made.append(changed(node, finalbody=[ast.Pass()]))
    elif isinstance(node, ast.Tuple) and len(node.elts) > 1 and all(isinstance(e, _WORDS) for e in node.elts):
        if isinstance(node.ctx, ast.Load):
            made.extend(changed(node, elts=node.elts[:i] + node.elts[i + 1 :]) for i in range(len(node.elts)))
    elif isinstance(node, ast.BinOp) and isinstance(node.op, (ast.Mult, ast.Div, ast.FloorDiv)):
        for side, rest in ((node.right, node.left), (node.left, node.right)):
            if isinstance(side, ast.Constant) and side.value in FACTORS:
                made.append(copy.deepcopy(rest))
    elif isinstance(node, ast.Constant) and type(node.value) is float:
        made += [
            ast.Constant(node.value * 2 if node.value else 1.0),
            ast.Constant(node.value / 4 if node.value else -1.0),
        ]
    elif isinstance(node, (ast.Attribute, ast.Name)) and isinstance(node.ctx, ast.Load):
        made.extend(_other_name(node, tables))
    return made


_WORDS = (ast.Constant, ast.Name, ast.Attribute)


def _other_name(node, tables):
    """The next constant of the same kind in the same table."""
    if isinstance(node, ast.Attribute):
        if not isinstance(node.value, ast.Name):
            return
        rows, name = tables.get(node.value.id, ()), node.attr
    else:
        rows, name = tables.get("", ()), node.id
    for row in rows:
        if name in row and len(row) > 1:
            new = row[(row.index(name) + 1) % len(row)]
            yield changed(node, attr=new) if isinstance(node, ast.Attribute) else changed(node, id=new)
            return


def exchanges(body: list[ast.stmt]) -> Iterator[int]:
    """Positions i of a statement list where i and i + 1 may be exchanged with an effect."""
    for i in range(len(body) - 1):
        pair = body[i : i + 2]
        if any(isinstance(s, _STILL) or is_docstring(s) for s in pair):
            continue
        if _meet(*pair) or (_acts(pair[0]) and _acts(pair[1])):
            yield i


_STILL = (ast.FunctionDef, ast.ClassDef, ast.Import, ast.ImportFrom, ast.Return, ast.Raise, ast.Pass, ast.Break,
          ast.Continue)  # fmt: skip


def is_docstring(node: ast.AST) -> bool:
    """Is it a bare constant, as a docstring is?"""
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _acts(node):
    """Does a statement call something for its effect, or leave the function?"""
    return any(isinstance(n, (ast.Return, ast.Raise)) or (isinstance(n, ast.Expr) and isinstance(n.value, ast.Call))
               for n in ast.walk(node))  # fmt: skip


def _meet(first, second):
    """Does one write what the other reads or writes?"""
    writes, reads = zip(*(_names(node) for node in (first, second)), strict=True)
    return writes[0] & (reads[1] | writes[1]) or writes[1] & reads[0]


def _names(node):
    written, read = set(), set()
    for part in ast.walk(node):
        if isinstance(part, (ast.Name, ast.Attribute, ast.Subscript)):
            text = ast.unparse(part)
            (written if isinstance(part.ctx, ast.Store) else read).add(text)
            if isinstance(part.ctx, ast.Store) and isinstance(part, ast.Subscript):
                written.add(ast.unparse(part.value))
    if isinstance(node, ast.AugAssign):
        read |= written
    return written, read


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str, int | None, ast.AST, str]]:
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


def mutants(
    source: str, tables: dict[str, list[list[str]]] | None = None, with_trees: bool = True
) -> list[tuple[str, int, str, ast.AST | None]]:
    """[(key, line, kind, changed tree or None)]. A key tells function, change and which of its kind."""
    found = []
    counts = {}
    tree = ast.parse(source)
    tables = tables or {}
    everything = list(places(tree))

    def add(name, before, after, line, kind, change, restore):
        text = f"{name or 'module'}: {before} -> {after}"
        counts[text] = counts.get(text, 0) + 1
        made = None
        if with_trees:
            change()
            made = ast.fix_missing_locations(copy.deepcopy(tree))
            restore()
        found.append((text if counts[text] == 1 else f"{text} #{counts[text]}", line, kind, made))

    for parent, field, index, node, name in everything:
        for kind, news in ((SMALL, small(node)), (OTHER, other(node, tables))):
            for new in news:
                add(  # type: ignore[call-arg]  # _told gives two
                    name, *_told(node, new, parent), getattr(node, "lineno", 0), kind,
                    lambda p=parent, f=field, i=index, n=new: put(p, f, i, n),
                    lambda p=parent, f=field, i=index, n=node: put(p, f, i, n),
                )  # fmt: skip
    for node, name in [(tree, ""), *((node, name) for _, _, _, node, name in everything)]:
        for field in ("body", "orelse", "finalbody"):
            body: Any = getattr(node, field, None)
            for i in exchanges(body) if isinstance(body, list) else ():

                def swap(body=body, i=i):
                    body[i], body[i + 1] = body[i + 1], body[i]

                before, after = _head(body[i]), _head(body[i + 1])
                add(name, before, "after " + after, body[i].lineno, OTHER, swap, swap)
    return found


def _told(node, new, parent):
    """How a change is written: one line each."""
    before, after = _head(node), _head(new)
    if isinstance(node, ast.Constant):  # a bare number says little: show what it stands in
        before = f"{before} in {_head(parent)}"
    elif isinstance(node, ast.If) and isinstance(new, ast.If):
        after = _head(new) if before != _head(new) else "its own second branch"
    elif isinstance(node, (ast.Name, ast.Attribute)):
        before = f"{before} in {_head(parent)}"
    elif isinstance(node, ast.Try):
        before, after = "finally", "dropped"
    return before, after


def _head(node):
    return ast.unparse(node).splitlines()[0][:100] if ast.unparse(node) else ""


def put(parent: ast.AST, field: str, index: int | None, node: ast.AST) -> None:
    """Replace one child."""
    if index is None:
        setattr(parent, field, node)
    else:
        getattr(parent, field)[index] = node
