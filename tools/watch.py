"""`tizzone watch`: live view of a board over its serial link, or of a simulated one; recording and a page."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from host.files.writing import NotWritten
from host.link import LinkError
from host.link.client import SimulatedClient, open_board
from host.link.replies import in_unit
from host.runs.recording import RecordingError, clean
from host.simulator.rehearsal import Rehearsal
from host.watch import screen
from host.watch.hall import Hall
from host.watch.keys import Keyboard, Keys
from host.watch.record import Recorder, pull
from host.watch.serve import Page
from host.watch.watcher import Watcher
from tools import ToolError
from tools.rehearse import plant_named

if TYPE_CHECKING:
    from host.link.client import LineClient


HELP = "live view over the serial link, with recording and a page for the browser"
EXAMPLE = """examples:
  tizzone watch                                the one board that is plugged in
  tizzone watch --port /dev/ttyACM0 --record runs/club-night
  tizzone watch --simulated --speed 30         a simulated board and oven, thirty times as fast
  tizzone watch --page --port-number 8450      the same in a browser of this laptop, read-only
  tizzone watch --page --lan                   for phones in the hall too: read-only, until the evening ends
  tizzone watch --pull --out board.log         fetch the board's event log and leave

The page answers on 127.0.0.1 only. --allow-stop gives it one button that takes heat off; nothing else can be done from
it. The laptop may be closed or unplugged at any moment: the board goes on by itself. While mains is on, a USB isolator
belongs between laptop and board."""

LOOK_S = 0.1  # how often the keyboard is looked at ...
LOOKS = 10  # ... between two rounds of questions
LOG = "board.log"
WARM_C = 60.0  # hotter than that burns a hand: common practice, no source
NEXT = "tizzone next"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--port", metavar="P", help="serial port (default: the one board that is plugged in)")
    parser.add_argument("--simulated", action="store_true", help="a simulated board instead")
    parser.add_argument("--oven", default="standard", help="simulated: preset or random:SEED (default: standard)")
    parser.add_argument("--board", default="boards/pico.py", help="simulated: pin map (default: pico)")
    parser.add_argument("--speed", type=float, default=1.0, metavar="X", help="simulated: times real time, 0.1 to 100")
    parser.add_argument("--record", metavar="DIR", help="write a run folder")
    parser.add_argument("--page", action="store_true", help="serve the page on this laptop")
    parser.add_argument("--port-number", type=int, default=0, metavar="N", help="the page's port (default: a free one)")
    parser.add_argument("--lan", action="store_true", help="a read-only page for the hall's network too")
    parser.add_argument("--allow-stop", action="store_true", help="the page may stop heat")
    parser.add_argument("--pull", action="store_true", help="fetch the event log and leave")
    parser.add_argument("--out", metavar="FILE", help=f"where --pull writes (default: {LOG})")
    parser.add_argument("--samples", type=int, default=0, metavar="N", help="leave after N samples")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="one JSON object a sample instead of the view")


def run(options: argparse.Namespace) -> int:
    """Watch until told to leave; 0 done, 1 the board did not answer at the end, ToolError for wrong use."""
    checked(options)
    try:
        reopen, client = connected(options)
    except LinkError as error:
        raise ToolError(str(error)) from None
    if options.pull:
        return pulled(options, client)
    page = watcher = hall = None
    try:
        recorder = Recorder(options.record, practised(options, client)) if options.record else None
        watcher = Watcher(reopen, client, recorder)
        page = Page(watcher, options.port_number, options.allow_stop) if options.page else None
        if page:
            watcher.page_url = page.url
            print(f"page: {page.url}" + ("" if options.allow_stop else "  (read-only)"), file=sys.stderr)
        hall = opened(watcher) if options.lan else None
        watch(options, watcher, hall)
    except (RecordingError, LinkError) as error:
        raise ToolError(str(error)) from None
    except KeyboardInterrupt:  # the usual way to leave; what was recorded is on disk
        print("left", file=sys.stderr)
    finally:
        if page:
            page.close()
        if hall:
            hall.close()
        if watcher:
            watcher.close()
        else:
            client.close()
    if options.record:
        options.following = f"tizzone report {options.record}"
    if watcher is None:  # left before the first question
        return 0
    told_on_leaving(watcher.view)
    return 0 if watcher.view["connected"] else 1


def told_on_leaving(view: dict) -> None:
    """A heating oven is not left without a word, nor a hot one."""
    now = view["status"]
    if not now:
        return
    dome = "not known" if now["pv_c"] is None else in_unit(now["pv_c"], (view.get("cue") or {}).get("unit", "C"))
    if now["state"] in ("running", "held", "stopping") or now["heat_top"] or now["heat_deck"] or now["contactor"]:
        print(f"THE OVEN IS STILL {now['state'].upper()}, dome {dome}: the board goes on by itself, stay with it "
              "(tizzone bake stop takes the heat off)", file=sys.stderr)  # fmt: skip
    elif now["pv_c"] is None or now["pv_c"] >= WARM_C:
        print(f"no heat was on when you left, and the oven is still hot, dome {dome}: stay with it", file=sys.stderr)
    else:
        print(f"no heat was on when you left, dome {dome}; the board goes on by itself", file=sys.stderr)


def checked(options: argparse.Namespace) -> None:
    """ToolError for options that cannot be."""
    if options.simulated and options.port:
        raise ToolError("--port or --simulated, not both")
    if not 0.1 <= options.speed <= 100.0:
        raise ToolError("--speed: 0.1 to 100")
    if not 0 <= options.port_number <= 65535:
        raise ToolError("--port-number: 0 to 65535")
    if options.lan and not options.page:
        raise ToolError("--lan opens the page to the hall: say --page too")
    if options.lan and not (sys.stderr.isatty() and sys.stdin.isatty()):
        raise ToolError("--lan shows its address on a terminal alone, so that no log holds it")
    if options.allow_stop and not options.page:
        raise ToolError("--allow-stop is for the page: say --page too")


def opened(watcher: Watcher) -> Hall:
    """The hall's page, its address shown on the terminal until Enter is pressed."""
    hall = Hall(watcher)
    print(hall.picture() or "(no QR code: install the extra 'hall')", file=sys.stderr)
    print(f"for phones in the hall, read-only, until the evening ends: {hall.url}", file=sys.stderr)
    print("Whoever has this address can read it. Enter goes on.", file=sys.stderr)
    sys.stdin.readline()
    return hall


def connected(
    options: argparse.Namespace,
) -> tuple[Callable[[], LineClient | SimulatedClient], LineClient | SimulatedClient]:
    """(how to open again, the open client)."""
    if not options.simulated:
        client = open_board(options.port)
        name = options.port or client.port.name  # after a re-plug the same port, never another board
        return (lambda: open_board(name)), client
    try:
        rehearsal = Rehearsal(plant=plant_named(options.oven, 1), board=options.board)
    except (ValueError, OSError) as error:
        raise ToolError(str(error)) from None
    client = SimulatedClient(rehearsal, options.speed, time.sleep)  # type: ignore[assignment]  # of another kind
    rehearsal.advance(5.0)  # the board's start, with its grace window
    return (lambda: client), client


def practised(options: argparse.Namespace, client: LineClient | SimulatedClient) -> dict:
    """What a record says about a board that is none, {} for a real one: a pseudo-terminal is never a board on USB."""
    name = options.port or getattr(getattr(client, "port", None), "name", "")
    is_pty = os.path.realpath(name or "").startswith("/dev/pts/")
    return {"simulated": True} if options.simulated or is_pty else {}


def pulled(options: argparse.Namespace, client: LineClient | SimulatedClient) -> int:
    """Fetch the event log."""
    path = Path(options.out or LOG)
    try:
        with client:
            count = pull(client, path, options.force)
    except (LinkError, NotWritten) as error:
        raise ToolError(str(error)) from None
    print(json.dumps({"file": str(path), "lines": count}) if options.json else f"{count} lines: {path}")
    return 0


def watch(options: argparse.Namespace, watcher: Watcher, hall: Hall | None = None) -> None:
    """The loop: keys, a round of questions a second, the picture."""
    keys = Keys(watcher)
    if options.json or not sys.stdout.isatty():
        with Keyboard() as keyboard:
            rounds(options, watcher, keys, keyboard, lambda: told(options, watcher), hall)
        return
    try:
        from rich.console import Console
        from rich.live import Live
    except ImportError:
        raise ToolError("the live view needs rich: python -m pip install rich (or say --json)") from None
    console = Console()
    with Keyboard() as keyboard, Live(console=console, screen=True, auto_refresh=False) as live:

        def shown():
            live.update(screen.rich_screen(watcher, keys, console.width, console.height), refresh=True)

        rounds(options, watcher, keys, keyboard, shown, hall)


def rounds(
    options: argparse.Namespace,
    watcher: Watcher,
    keys: Keys,
    keyboard: Keyboard,
    show: Callable[[], object],
    hall: Hall | None = None,
) -> None:
    """Ask, show, wait for a second or a key."""
    count = 0
    looks = max(1, round(LOOKS / max(1.0, options.speed)))  # a fast simulation is asked as often in its own time
    while not keys.quit:
        answered = watcher.poll()
        count += answered
        show()
        if options.samples and count >= options.samples:
            return
        if hall:
            hall.follow(watcher.view["status"])
        for _ in range(looks):
            if keys.quit or watcher.waiting:
                break
            if watcher.client is not None and answered:
                watcher.client.wait(LOOK_S)
            else:
                time.sleep(LOOK_S)
            pressed = keyboard.read()
            for key in pressed:
                keys.press(key)
            if pressed:
                show()


def told(options: argparse.Namespace, watcher: Watcher) -> None:
    """One sample as a line."""
    if options.json:
        print(json.dumps(clean({**watcher.view, "age_s": watcher.age_s})), flush=True)
    else:
        print(screen.plain(watcher.view), flush=True)
