"""The player's own code on CPython, with the fakes in place of MicroPython's modules: `fresh()` -> namespace."""

import importlib
import sys
import types
from pathlib import Path

HERE = Path(__file__).parent
BOARD = HERE.parents[2] / "host" / "player" / "board"


class Time:
    """`time` of the player, in microseconds that a test moves."""

    def __init__(self):
        self.us = 0

    def ticks_us(self):
        return self.us & (1 << 30) - 1

    def ticks_ms(self):
        return self.us // 1000 & (1 << 30) - 1

    def ticks_diff(self, a, b):
        return (a - b + (1 << 29) & (1 << 30) - 1) - (1 << 29)

    def ticks_add(self, a, b):
        return a + b & (1 << 30) - 1

    def sleep_ms(self, ms):
        self.us += ms * 1000


def fresh():
    """Modules of the player, newly imported: play, chip, mains, edges, pio, talk; and machine, rp2, time."""
    made = types.SimpleNamespace(time=Time())
    micropython = types.ModuleType("micropython")
    micropython.const = lambda value: value
    names = ("machine", "rp2", "time", "micropython", "player")
    kept = {name: sys.modules.pop(name, None) for name in list(sys.modules)
            if name in names or name.startswith("player.")}  # fmt: skip
    path = list(sys.path)
    try:
        sys.path[:0] = [str(HERE), str(BOARD)]
        sys.modules["time"], sys.modules["micropython"] = made.time, micropython
        made.machine, made.rp2 = importlib.import_module("machine"), importlib.import_module("rp2")
        for name in ("talk", "pio", "chip", "mains", "edges", "play"):
            setattr(made, name, importlib.import_module("player." + name))
    finally:
        sys.path[:] = path
        for name in list(sys.modules):
            if name in names or name.startswith("player."):
                del sys.modules[name]
        sys.modules.update({name: module for name, module in kept.items() if module is not None})
    return made
