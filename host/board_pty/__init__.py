"""`from host.board_pty import BoardPty`: real MicroPython behind a pseudo-terminal (see board.py)."""

from host.board_pty.board import BoardPty

__all__ = ["BoardPty"]
