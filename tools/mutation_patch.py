"""Puts one changed function into modules that are loaded already: a tenth of the time that loading them afresh takes.

What was called while the modules were loaded is not called again, so that only the death of such a mutant counts: who
survives is tried on modules loaded afresh.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from host.shim.loader import World

ROOT = Path(__file__).parents[1]


def patched(worlds: Iterable[World], path: Path, name: str, plain: CodeType, changed: CodeType) -> bool:
    """Give the function `name` (as in a mutant's key) of the file `path` its changed code, in whatever has it loaded.

    `plain`, `changed`: code of the whole file. False where more than that function differs or nobody has it.
    """
    parts = name.split(".")
    found = 0
    for module in loaded(worlds, path):
        new, old, holder = changed, plain, module.__dict__
        for part in parts:
            if not same_shell(new, old):
                return False
            inner, before = named(new, part), named(old, part)
            if inner is None or before is None:
                return False
            new, old = inner, before
            target: Any = holder.get(part)
            if isinstance(target, type):
                holder = target.__dict__  # type: ignore[assignment]
                continue
            target = target.fget if isinstance(target, property) else getattr(target, "__func__", target)
            if not isinstance(target, FunctionType) or len(target.__code__.co_freevars) != len(new.co_freevars):
                return False
            target.__code__ = new
            found += 1
            break
    return found > 0


def loaded(worlds: Iterable[World], path: Path) -> Iterator[ModuleType]:
    """Every module that was made from this file, in our own table and in those of simulated boards."""
    tables = [sys.modules, *(world.modules for world in worlds)]
    for table in tables:
        for module in list(table.values()):
            if getattr(module, "__file__", None) == str(path):
                yield module


def named(code: CodeType, name: str) -> CodeType | None:
    """The one code of this name directly within another; None where there is none, or more than one."""
    found = [part for part in code.co_consts if isinstance(part, CodeType) and part.co_name == name]
    return found[0] if len(found) == 1 else None


def same_shell(one: CodeType, other: CodeType) -> bool:
    """Do two codes do the same, apart from the functions and classes within them?"""

    def plain(code):
        return [repr(part) for part in code.co_consts if not isinstance(part, CodeType)], code.co_code, code.co_names

    return plain(one) == plain(other)


def forget(root: Path) -> None:
    """Take tests and device out of our table of modules, so that they are loaded afresh."""
    for name, module in list(sys.modules.items()):
        file = getattr(module, "__file__", None) or ""
        if file.startswith((str(root / "tests"), str(root / "device"))):
            del sys.modules[name]


def renew(world: World) -> None:
    """Execute every device module of a World anew, each in the module object that tests may hold."""
    from host.shim.loader import DeviceModule

    device = str(ROOT / "device")
    held = {
        name: module for name, module in world.modules.items()
        if isinstance(module, DeviceModule) and str(getattr(module, "__file__", "")).startswith(device)
    }  # fmt: skip
    for name in held:
        del world.modules[name]
    made = world._fresh

    def fresh(name, path):
        module = made(name, path)
        if name in held:
            held[name].__dict__.clear()
            held[name].__dict__.update(vars(module))
        return held.get(name, module)

    world._fresh = fresh  # type: ignore[method-assign]
    for name in held:
        world.load(name)
