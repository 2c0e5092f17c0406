"""`tizzone learn`: the board learns its oven while you look on; then the tuning is kept or the old one put back."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import Any

from host.link import LinkError
from host.talk import Refused, asked, learning
from tools import ToolError, onboard

HELP = "let the board learn its oven, look on, then keep or drop the tuning"
EXAMPLE = """\
examples:
  tizzone learn                      begins after a yes, tells how it goes, asks whether to keep the tuning
  tizzone learn --status             how the last learning ended; nothing is begun
  tizzone learn --yes --keep         without questions but the board's own: is somebody there?

A cold oven (below 100 °C), released to 260 °C or more; it stays at or below 250 °C and takes 40 minutes to 2 1/2 hours.
Somebody stays with it. Ctrl-C stops it, the heat goes off and the tuning in force stays. Exit code: 0 learned,
1 not learned or refused (the reason is said), 2 wrong use."""
NEXT = "tizzone bake list, then tizzone bake send NAME"
EVERY_S = 1.0
TELL_S = 30.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--status", action="store_true", help="only say how the last learning ended")
    parser.add_argument("--yes", action="store_true", help="somebody is with the oven: begin without asking")
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--keep", action="store_true", help="keep what is learned without asking")
    choice.add_argument("--drop", action="store_true", help="put the old tuning back without asking")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 learned, 1 refused or failed; ToolError for wrong use or no board."""
    if options.status:
        return onboard.answered("learn", options, lambda: status(options))
    if not options.yes and not onboard.confirmed("The oven heats to 250 °C. Is somebody with it?", False):
        raise ToolError("not begun")
    try:
        return onboard.answered("learn", options, lambda: learned(options))
    except KeyboardInterrupt:
        print("left; stop was sent, the tuning in force stays. Look at the oven", file=sys.stderr)
        return 1


def status(options: argparse.Namespace) -> dict:
    """How the last learning ended and the tuning that is held."""
    with onboard.board(options) as client:
        words, tuning = learning.said(client), learning.tuning(client)
    tell = onboard.teller(options)
    tell(f"learning: {words}")
    tell("tuning: " + ", ".join(f"{name} {value:g}" for name, value in tuning.items()))
    return {"learning": words, "tuning": tuning}


def learned(options: argparse.Namespace) -> dict:
    """Begin, look on, keep or drop."""
    tell = onboard.teller(options)
    with onboard.board(options) as client:
        before = learning.tuning(client)
        asked(client, "learn start")
        tell("learning has begun: 40 minutes to 2 1/2 hours, at or below 250 °C; no bread, door shut. Ctrl-C stops it")
        words = looked_on(client, tell)
        if not words.startswith("done"):
            raise Refused(f"not learned, {words}; the tuning in force stays")
        after = learning.tuning(client)
        for name, value in after.items():
            tell(f"  {name:<13} {before[name]:>10g} -> {value:g}")
        keep = options.keep or (not options.drop and onboard.confirmed("Keep this tuning?", options.yes))
        if not keep:
            learning.back_to_idle(client, tell)
            changed = learning.put_back(client, before)
            tell(f"put back: {', '.join(changed)}; press the board's reset, the learned tuning is in force until then")
        else:
            tell("kept")
    return {"learned": words, "before": before, "after": after, "kept": keep}


def confirm_presence(client: Any, tell: Callable[[str], None]) -> None:
    """Pass the board's question on. Never answered by itself: unanswered, the board takes the heat off."""
    if not sys.stdin.isatty():
        tell("  the board asks whether somebody is with the oven: confirm at its panel, or it takes the heat off")
    elif onboard.confirmed("The board asks: is somebody with the oven?", False):
        asked(client, "present")


def looked_on(client: Any, tell: Callable[[str], None]) -> str:
    """The live view; how it ended. Ctrl-C sends stop."""
    told_s = -TELL_S
    words = ""
    try:
        for now in learning.rounds(client, EVERY_S):
            words = now["learning"]
            if now["at_s"] - told_s >= TELL_S:
                told_s = now["at_s"]
                dome = "no reading" if now["pv_c"] is None else f"dome {now['pv_c']:.0f} °C"
                tell(f"  {now['at_s'] / 60:5.1f} min  {dome}, output {now['out_pct']:.0f} %, {now['stage']}, {words}")
            if words.startswith("running") and learning.asks_for_presence(client):
                confirm_presence(client, tell)
    except KeyboardInterrupt:
        try:
            client.ask("stop")
        except LinkError as error:
            print(f"tizzone learn: stop was NOT confirmed ({error}): stop at the oven", file=sys.stderr)
        raise
    return words
