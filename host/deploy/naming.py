"""Short names for what one module of the device keeps to itself, before it is compiled.

Each different name is a string in the board's memory, some 18 bytes. Parameters that nobody gives by their name, names
that begin with an underscore, and others that no second module speaks of become short ones, which the modules share.
File and line of a traceback stay as they are; of a function it tells the short name.

A name is left as it is where another module might mean it: reached through anything but `self`, imported, told as
text, given by keyword, or spoken by whoever else has to do with the board (`spoken`). Modules whose classes inherit
from each other share one set of short names.
"""

from __future__ import annotations

import ast
import builtins
import itertools
import string
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from host.deploy.edits import Edit, edited

# What MicroPython itself calls on an object that is a stream, a block device or a file system.
PROTOCOLS = ("read", "readinto", "readline", "write", "ioctl", "readblocks", "writeblocks", "close", "open", "mount")


def shortened(sources: Mapping[str, str], spoken: Iterable[str] = ()) -> dict[str, str]:
    """{module: source} with short names for its own; as many lines as before. `spoken`: sources of whatever else runs
    on the board or is run there from outside: what they name is left as it is."""
    trees = {name: ast.parse(source) for name, source in sources.items()}
    kept = set(PROTOCOLS).union(*(_meant_elsewhere(tree) for tree in trees.values()))
    for text in spoken:
        kept |= set(_all_names(ast.parse(text))) | set(_meant_elsewhere(ast.parse(text)))
    taken = set().union(*(_all_names(tree) for tree in trees.values()))
    short = [name for name in itertools.islice(_short_names(), 600) if name not in taken]
    made = {}
    for family in _families(trees):
        count = Counter(name for module in family for name in _its_own(trees[module]) if name not in kept)
        new = dict(zip((name for name, _ in count.most_common()), short, strict=False))
        for module in family:
            edits = _renamed(trees[module], sources[module], new) + _parameters(trees[module], kept, short)
            made[module] = edited(sources[module], edits)
    return made


def _short_names() -> Iterator[str]:
    for length in (1, 2):
        for letters in itertools.product(string.ascii_lowercase, repeat=length):
            yield "_" + "".join(letters)


def _is_private(name):
    return name.startswith("_") and not name.startswith("__") and len(name) > 2


def _all_names(tree):
    for node in ast.walk(tree):
        for field in ("id", "attr", "arg", "name", "asname"):
            value = getattr(node, field, None)
            if isinstance(value, str):
                yield value


def _meant_elsewhere(tree):
    """Names that another module, or whoever asks by text, might mean."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and not (isinstance(node.value, ast.Name) and node.value.id == "self"):
            yield node.attr
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.keyword) and node.arg:
            yield node.arg
        elif isinstance(node, ast.Import | ast.ImportFrom):
            for alias in node.names:
                yield alias.name
                yield alias.asname or ""


def _families(trees):
    """Sets of modules whose classes inherit from each other; most stand alone."""
    family = {name: {name} for name in trees}
    for name, tree in trees.items():
        bases = {base.id for node in ast.walk(tree) if isinstance(node, ast.ClassDef)
                 for base in node.bases if isinstance(base, ast.Name)}  # fmt: skip
        for node in tree.body:
            if not isinstance(node, ast.ImportFrom) or node.module not in trees:
                continue
            if bases & {alias.asname or alias.name for alias in node.names}:
                joined = family[name] | family[node.module]
                for member in joined:
                    family[member] = joined
    return [sorted(members) for name, members in family.items() if name == min(members)]


def _its_own(tree):
    """Each private name, and each that the module binds for more than one function, once for each time it is met."""
    bound = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            bound.add(node.attr)
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            bound.add(node.name)
        if isinstance(node, ast.Module | ast.ClassDef):
            for statement in node.body:
                if isinstance(statement, ast.Assign):
                    names = [item for target in statement.targets for item in ast.walk(target)]
                    bound |= {item.id for item in names if isinstance(item, ast.Name)}
    unchanged = {name for name in bound if name.startswith("__") or len(name) < 4 or hasattr(builtins, name)}
    return [name for name in _all_names(tree) if _is_private(name) or name in bound - unchanged]


def _renamed(tree, source, new):
    """Edits that give private names their short ones."""
    lines = source.encode().splitlines()
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in new:
            found.append(Edit.at(node.lineno, node.col_offset, node.id, new[node.id]))
        elif isinstance(node, ast.Attribute) and node.attr in new:
            found.append(Edit.at(node.end_lineno, node.end_col_offset - len(node.attr), node.attr, new[node.attr]))
        elif isinstance(node, ast.arg) and node.arg in new:
            found.append(Edit.at(node.lineno, node.col_offset, node.arg, new[node.arg]))
        elif isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name in new:
            column = lines[node.lineno - 1].index(node.name.encode(), node.col_offset + 4)
            found.append(Edit.at(node.lineno, column, node.name, new[node.name]))
        elif isinstance(node, ast.Global | ast.Nonlocal):
            raise ValueError("a module of the device has no global statement")
    return found


def _parameters(tree, kept, short):
    """Edits of the parameters that nobody gives by their name."""
    found = []
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef):
            continue
        inner = list(function.args.args)  # defaults belong to the scope around
        for statement in function.body:
            inner += ast.walk(statement)
        if any(isinstance(node, ast.FunctionDef | ast.Lambda | ast.ClassDef) for node in inner):
            continue
        mine = [arg.arg for arg in function.args.args if arg.arg not in kept and arg.arg != "self"]
        mine = [name for name in mine if not _is_private(name)]
        new = dict(zip(mine, reversed(short[-len(mine) :] if mine else []), strict=True))
        for node in inner:
            if isinstance(node, ast.Name) and node.id in new:
                found.append(Edit.at(node.lineno, node.col_offset, node.id, new[node.id]))
            elif isinstance(node, ast.arg) and node.arg in new:
                found.append(Edit.at(node.lineno, node.col_offset, node.arg, new[node.arg]))
    return found
