"""`tizzone say`: one line to the board, as a person types it, and its reply."""

import argparse

from host.link.frames import spoken
from host.talk import Refused, remedy
from tools import ToolError, onboard

HELP = "send the board any line of the link and print its reply"
EXAMPLE = """\
examples:
  tizzone say status
  tizzone say alarms door-open
  tizzone say setpoint 300
  tizzone say --list                  the lines that the board knows

The checksum is added. Exit code: 0 done, 1 the board refuses, 2 no board. `start`, `resume` and `learn start` bring
heat: they ask back once (--yes: somebody is with the oven)."""
HEATS = (["start"], ["resume"], ["learn", "start"])
LONGEST = 110
NEXT = "tizzone next"
AFTER = {"start": "tizzone watch", "resume": "tizzone watch", "learn": "tizzone watch",
         "stop": "tizzone watch, until it is cool", "correction": "press the board's reset, then tizzone next",
         "handover": "turn the transfer switch as it says; the plan's reversal sheet lists what goes back where",
         "unlock": "find the cause first: tizzone fetch log", "acknowledge": "tizzone next"}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("line", nargs="*", metavar="WORD", help="the line")
    parser.add_argument("--list", action="store_true", help="list the lines that the board knows")
    parser.add_argument("--yes", action="store_true", help="somebody is with the oven: do not ask back")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 done, 1 refused; ToolError for a line that cannot be sent or no board."""
    words = " ".join(options.line).split()
    if bool(words) == options.list:
        raise ToolError("say a line, such as: tizzone say status; or --list")
    line = " ".join(words)
    if not line.isascii() or not line.isprintable() or len(line) > LONGEST:
        raise ToolError(f"a line has at most {LONGEST} plain letters, digits and signs")
    if words in HEATS and not onboard.confirmed("Heat follows. Is somebody with the oven?", options.yes):
        raise ToolError("not sent")
    options.following = AFTER.get(words[0] if words else "", NEXT)
    return onboard.answered("say", options, lambda: sent(options, line))


def sent(options: argparse.Namespace, line: str) -> dict:
    """{"line", "reply"}; Refused with the board's reason."""
    with onboard.board(options) as client:
        reply = client.ask("known" if options.list else line) or ""
    if options.list:
        names = reply.partition("known: ")[2].split()
        onboard.teller(options)("\n".join(names))
        return {"lines": names}
    if reply.startswith("no"):
        raise Refused(f"the board refuses: {reply[3:]}{remedy(reply)}")
    reply = spoken(reply)
    onboard.teller(options)(reply)
    return {"line": line, "reply": reply}
