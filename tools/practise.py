"""`tizzone practise`: the panel on a simulated oven, to learn before the night; or a board behind a serial port."""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import textwrap
import time
from collections.abc import Callable
from typing import Any

from host.link import LinkError
from host.panel.practise import KEYS, SPEEDS, Practice, played
from host.panel.practise_page import PractisePage
from host.panel.scenes import SCENES
from host.watch.keys import Keyboard
from tools import ToolError

HELP = "the panel on a simulated oven, with scenes to learn from; --serial: a board behind a port (Linux)"
EXAMPLE = f"""\
scenes: {", ".join(SCENES)}

examples:
  tizzone practise                               start a cold oven at the panel, in this terminal
  tizzone practise --scene welded-relay          a relay welds: what would you do?
  tizzone practise --scene six-breads --speed 20 --page    the same with buttons in a browser of this laptop
  tizzone practise --scene lost-probe --show     a good helper plays the scene
  tizzone practise --serial --loaded --speed 10  a board with our program behind a serial port, for watch --port ...

Keys: {", ".join(f"{key} {what}" for key, what in KEYS.items())}.
The arrows turn the knob and Enter pushes it. --serial ends with Ctrl-C and needs MicroPython's Linux build: the extra
'micropython'."""

LOOK_S = 0.1
NEXT = "tizzone practise --scene NAME for another scene, or tizzone next"
ARROWS = {"\x1b[C": ">", "\x1b[D": "<", "\x1b[A": ">", "\x1b[B": "<"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--scene", default="first-heat", metavar="NAME", help="which scene (default: first-heat)")
    parser.add_argument("--speed", type=float, default=1.0, help="simulated seconds per second (default: 1)")
    parser.add_argument("--show", action="store_true", help="a good helper plays the scene; nothing waits for keys")
    parser.add_argument("--page", action="store_true", help="buttons and display in a browser of this laptop too")
    parser.add_argument("--port-number", type=int, default=0, metavar="N", help="the page's port (default: a free one)")
    parser.add_argument("--runtime", choices=("cpython", "micropython"), default="cpython", help="what runs the board")
    parser.add_argument("--serial", action="store_true", help="instead: a simulated board behind a serial port (Linux)")
    parser.add_argument("--board", default="pico", help="--serial: pin map, a file or its name (default: pico)")
    parser.add_argument("--loaded", action="store_true", help="--serial: with our files on it; else empty, as bought")
    parser.add_argument("--json", action="store_true", help="with --show: one JSON object about what happened")


def run(options: argparse.Namespace) -> int:
    """Until the scene ends or Ctrl-C; 0, 2 for a wrong option."""
    if not 0.01 <= options.speed <= 1000.0:
        raise ToolError("--speed: 0.01 to 1000")
    if options.loaded and not options.serial:
        raise ToolError("--loaded belongs to the board behind a serial port: say --serial too")
    if options.serial:
        return behind_a_port(options)
    if options.scene not in SCENES:
        raise ToolError(f"no scene {options.scene!r}; there are: {', '.join(SCENES)}")
    if options.speed > SPEEDS[-1]:
        raise ToolError(f"--speed: at most {SPEEDS[-1]} at the panel")
    if options.json and not options.show:
        raise ToolError("--json belongs to --show")
    if SCENES[options.scene].begins != "cold":
        print("heating the simulated oven first (about half a minute) ...", file=sys.stderr)
    try:
        practice = Practice(options.scene, options.speed, options.runtime)
    except (ValueError, OSError) as error:
        raise ToolError(str(error)) from None
    try:
        return shown(options, practice) if options.show else worked(options, practice)
    except KeyboardInterrupt:
        return 0
    finally:
        practice.close()


def behind_a_port(options: argparse.Namespace) -> int:
    """Serve a board behind a serial port until Ctrl-C; ToolError without pseudo-terminals."""
    try:
        from host.board_pty.__main__ import main
    except ImportError:
        raise ToolError("pseudo-terminals are made on Linux only; here: tizzone watch --simulated") from None
    arguments = ["--board", options.board, "--speed", str(options.speed)]
    return main(arguments + ["--loaded"] * options.loaded, "tizzone practise")


def shown(options: argparse.Namespace, practice: Practice) -> int:
    """A helper who knows plays it: what was on the display whenever its words changed, and the end."""
    before = None
    for _ in played(practice):
        words = practice.words()[1:]
        if not options.json and words != before:
            print(picture(practice), end="\n\n")
        before = words
    if options.json:
        evening = practice.rehearsal
        told = {"scene": practice.name, "state": evening.state, "trip": evening.trip, "board": practice.board_did()}
        print(json.dumps({**told, "right": practice.scene.question is None or practice.answer is not None}))
    return 0


def worked(options: argparse.Namespace, practice: Practice) -> int:
    """Keys, time and display, until q."""
    try:
        page = PractisePage(options.port_number) if options.page else None
    except LinkError as error:
        raise ToolError(str(error)) from None
    if not sys.stdin.isatty() and page is None:
        raise ToolError("practise needs a terminal for its keys (or --page, or --show)")
    if page:
        print(f"page: {page.url}", file=sys.stderr)
    try:
        with Keyboard() as keyboard:
            rounds(practice, keyboard, page)
    finally:
        if page:
            page.close()
    return 0


def rounds(
    practice: Practice,
    keyboard: Any,
    page: PractisePage | None,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], object] = time.sleep,
) -> None:
    """The loop: simulated time follows `clock` at the practice's speed; a slow laptop falls behind and says nothing
    wrong, since the hand's movements are made in simulated time."""
    before_s = clock()
    while not practice.quit:
        for key in keys_of(keyboard.read()) + (page.keys() if page else ""):
            practice.press(key)
        now_s = clock()
        practice.live(min(now_s - before_s, 1.0) * practice.speed)
        before_s = now_s
        if page:
            page.show(practice)
        if sys.stdout.isatty():
            print("\x1b[H\x1b[2J" + picture(practice) + "\n" + legend(), end="", flush=True)
        sleep(LOOK_S)


def keys_of(text: str) -> str:
    """Arrows as turns of the knob; everything else as it is."""
    for code, key in ARROWS.items():
        text = text.replace(code, key)
    return text


def picture(practice: Practice) -> str:
    """Display and words, as wide as the terminal."""
    width = max(40, min(100, shutil.get_terminal_size().columns - 1))
    lines = [part for line in practice.words() for part in textwrap.wrap(line, width, subsequent_indent="  ") or [""]]
    return practice.text() + "\n" + "\n".join(lines)


def legend() -> str:
    """The keys in two lines."""
    return textwrap.fill("   ".join(f"{key} {what}" for key, what in KEYS.items()), 79) + "\n"
