"""Modules that are loaded for one use: the board's memory is for what every tick needs."""

import sys

COMPILED = globals().get("__file__", "").endswith(".mpy")  # a source takes ten times as long to load


def let_go(*names):
    """Take modules out of the memory; whoever imports one next loads it anew. What they have made lives on."""
    for name in names:
        sys.modules.pop(name, None)
        package, _, last = name.rpartition(".")
        if hasattr(sys.modules[package], last):
            delattr(sys.modules[package], last)
