"""A simulated board behind a serial port, to practise with: `python -m host.board_pty [--loaded]`. Linux only."""

from __future__ import annotations

import argparse
import signal
import sys

from host.board_pty.board import BoardPty
from host.deploy import DeployError, plan
from host.pins import pin_map
from host.shim.remote import RuntimeMissing


def device_files(board: str) -> dict[str, bytes]:
    """{path: bytes} of a board that has been loaded: what `tizzone deploy` brings."""
    return {file.path: file.data for file in plan.make(board).files}


def main(argv: list[str] | None = None, name: str = "board") -> int:
    """Run a board until Ctrl-C; 2 for a wrong option or a laptop without MicroPython, told under `name`."""
    parser = argparse.ArgumentParser(
        prog="python -m host.board_pty",
        description="A simulated board behind a serial port, to practise with; Linux only.",
    )
    parser.add_argument("--board", default="boards/pico.py", help="pin map: a file or its name (default: pico)")
    parser.add_argument("--loaded", action="store_true", help="with our files on it; else empty, as bought")
    parser.add_argument("--speed", type=float, default=1.0, help="device seconds per second (default: 1)")
    options = parser.parse_args(argv)
    try:
        files = device_files(options.board) if options.loaded else None
        board = BoardPty(options.board, files=files, speed=options.speed)
    except (pin_map.PinMapError, DeployError, RuntimeMissing) as error:
        print(f"{name}: {error}", file=sys.stderr)
        return 2
    for ending in (signal.SIGTERM, signal.SIGHUP):  # a closed terminal leaves no folder behind either
        signal.signal(ending, signal.default_int_handler)
    with board:
        print(f"port: {board.link}", flush=True)
        try:
            board.serve()
        except KeyboardInterrupt:
            print("stopped", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
