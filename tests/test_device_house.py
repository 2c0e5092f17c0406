"""Rules of the house for the device: nobody writes into what a module holds; permit and limits are safety's alone."""

import ast

import pytest
from house import DEVICE, short, told, tree


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


def test_device_code_never_writes_into_what_a_module_holds():
    """A rehearsal copies whole boards: what modules and classes hold are tables that nobody writes into."""
    breaches = [f"{short(path)}:{line}: {name}" for path in DEVICE for line, name in module_state_changed(tree(path))]
    assert not breaches, told(breaches)


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


def test_device_code_outside_safety_writes_no_permit_and_no_limit():
    outside = [path for path in DEVICE if path.parent.name != "safety"]
    breaches = [f"{short(path)}:{line}: {name}" for path in outside for line, name in guarded_writes(tree(path))]
    assert len(outside) < len(DEVICE) and not breaches, told(breaches)


@pytest.mark.parametrize(
    "text",
    ["permit.granted = 0", "app.supervisor._limit_mc -= 1", "a.x, sup.armed = 1, 1", 'setattr(sup, "armed", 1)',
     "sup._ceiling_inverted = 2"],
)  # fmt: skip
def test_check_of_permit_and_limit_finds_what_it_is_there_for(text):
    assert len(list(guarded_writes(ast.parse(text)))) == 1


def too_new(parsed):
    """(line, what) of what one of the two runtimes does not have: `match`, texts inside the braces of an f-string."""
    for node in ast.walk(parsed):
        if isinstance(node, ast.Match):
            yield node.lineno, "match"
        if isinstance(node, ast.FormattedValue):
            inner = (part for part in ast.walk(node.value) if isinstance(part, ast.Constant))
            if any(isinstance(part.value, str) for part in inner):
                yield node.lineno, "a text inside the braces of an f-string"


def test_device_code_has_nothing_that_a_runtime_lacks():
    breaches = [f"{short(path)}:{line}: {what}" for path in DEVICE for line, what in too_new(tree(path))]
    assert not breaches, told(breaches)


@pytest.mark.parametrize("text", ["match x:\n    case 1:\n        pass\n", "y = f\"{x['a']}\"\n"])
def test_check_of_new_syntax_finds_what_it_is_there_for(text):
    assert len(list(too_new(ast.parse(text)))) == 1


def test_device_code_subtracts_tick_counts_in_the_loop_and_for_one_wait_alone():
    """Everybody else is told how long a tick was; the contacts wait for their next sample of the currents."""
    users = {
        short(path)
        for path in DEVICE
        for node in ast.walk(tree(path))
        if isinstance(node, (ast.Attribute, ast.Name))
        and "ticks_diff" in (getattr(node, "attr", ""), getattr(node, "id", ""))
    }
    assert users == {"device/tizzone/app.py", "device/tizzone/board_io/contacts.py"}
