"""Both boards at their prompts: the ends of the harness check, and the way of the player's files onto the player.

The user's board is taken there by the way in of `tizzone deploy` (refused while heat is on), and stays there. The
player has no program of ours that could be on: it is stopped with Ctrl-C.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from host.deploy.entry import Entry
from host.deploy.line import Line, Timing
from host.player import PlayerError

BOARD = Path(__file__).parent / "board"  # what runs on the player
LETS_GO_MS = 3000
HELPERS = f"""
import machine
from machine import Pin
_o = None
try:
    _k = machine.Timer(-1)
except (ValueError, TypeError):
    _k = machine.Timer(0)
def _rest(pins, pull):
    global _o
    _o = None
    _k.deinit()
    pull = {{"up": Pin.PULL_UP, "down": Pin.PULL_DOWN}}.get(pull)
    for n in pins:
        Pin(n, Pin.IN, pull)
def _free(_t):
    if _o is not None:
        Pin(_o, Pin.IN, None)
def _move(n, level):
    global _o
    _o = n
    Pin(n, Pin.OUT, value=level)
    _k.init(period={LETS_GO_MS}, mode=machine.Timer.ONE_SHOT, callback=_free)
def _look(pins):
    print(*[Pin(n).value() for n in pins])
"""
IS_BOARD = """
import os
try:
    os.stat("tizzone")
    print(1)
except OSError:
    print(0)
"""
MAKE = """
import os
try:
    os.mkdir({!r})
except OSError:
    pass
"""


class PromptEnd:
    """One board at its raw prompt as an End of the harness check (host/player/wiggle.py)."""

    def __init__(self, line: Line) -> None:
        self.line = line
        line.run(HELPERS)

    def rest(self, pins: list[int], pull: str) -> None:
        """Every pin an input with this pull."""
        self.line.run(f"_rest({pins}, {pull!r})")

    def move(self, pin: int, level: int) -> None:
        """Drive one; it lets go by itself after three seconds."""
        self.line.run(f"_move({pin}, {level})")

    def look(self, pins: list[int]) -> dict[int, int]:
        """The level of every pin."""
        levels = [int(word) for word in self.line.run(f"_look({pins})").split()]
        if len(levels) != len(pins):
            raise PlayerError("a board at its prompt does not tell its pins: unplug it, plug it in and run this again")
        return dict(zip(pins, levels, strict=True))


@contextlib.contextmanager
def board_at_prompt(
    port: str, timing: Timing | None = None, is_cold: bool = False, say: Callable = print
) -> Iterator[Line]:
    """The user's board with nothing armed; it stays there afterwards. Its program would find no probe and no contact
    while nobody plays, trip on all of them at once, and then want ten hours without heat."""
    line = Line(port, timing)
    try:
        Entry(line, is_cold, say).go()
        line.enter()
        yield line
    finally:
        line.close()


@contextlib.contextmanager
def player_at_prompt(port: str, timing: Timing | None = None) -> Iterator[Line]:
    """The player, its program stopped; started again afterwards. PlayerError for a port that is the user's board."""
    line = Line(port, timing)
    try:
        if not any(line.interrupt() for _ in range(4)):
            raise PlayerError(
                f"{port}: no prompt comes: is MicroPython on this Pico? Unplug it, plug it in, run this again"
            )
        line.enter()
        if line.run(IS_BOARD).strip() == "1":
            raise PlayerError(f"{port}: that is a board that bakes, not the player: exchange --player and --port")
        yield line
        line.reset()
    finally:
        line.close()


def files() -> dict[str, bytes]:
    """{path on the player: bytes}, main.py last."""
    paths = [path for path in sorted(BOARD.rglob("*.py")) if "__pycache__" not in path.parts]
    found = {path.relative_to(BOARD).as_posix(): path.read_bytes() for path in paths}
    return {**{path: data for path, data in found.items() if path != "main.py"}, "main.py": found["main.py"]}


def load(port: str, timing: Timing | None = None) -> dict[str, Any]:
    """Put the player's program onto a Pico that has MicroPython; {"files", "bytes"}."""
    todo = files()
    with player_at_prompt(port, timing) as line:
        for folder in sorted({path.rpartition("/")[0] for path in todo} - {""}):
            line.run(MAKE.format(folder))
        for path, data in todo.items():
            line.put(path, data)
    return {"files": len(todo), "bytes": sum(map(len, todo.values()))}
