"""`tizzone practise`: a simulated board behind a serial port of its own, to try deploy, watch and commission on."""

import argparse

from tools import ToolError

HELP = "a simulated board behind a serial port, to practise loading and watching without hardware (Linux)"
EXAMPLE = """\
examples:
  tizzone practise                        an empty board, as bought: prints its port; elsewhere: deploy --port ...
  tizzone practise --loaded --speed 10    with our program on it, ten times as fast as the clock

Ends with Ctrl-C. Needs MicroPython's Linux build: the extra 'micropython'."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--board", default="pico", help="pin map: a file or its name (default: pico)")
    parser.add_argument("--loaded", action="store_true", help="with our files on it; else empty, as bought")
    parser.add_argument("--speed", type=float, default=1.0, help="device seconds per second (default: 1)")


def run(options: argparse.Namespace) -> int:
    """Serve until Ctrl-C; 0, 2 for a wrong option or no MicroPython, ToolError without pseudo-terminals."""
    if not 0.01 <= options.speed <= 1000.0:
        raise ToolError("--speed: 0.01 to 1000")
    try:
        from host.board_pty.__main__ import main
    except ImportError:
        raise ToolError("pseudo-terminals are made on Linux only; here: tizzone watch --simulated") from None
    arguments = ["--board", options.board, "--speed", str(options.speed)]
    return main(arguments + ["--loaded"] * options.loaded)
