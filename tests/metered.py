"""A laptop on the device's own time: nothing here depends on how fast or how busy this machine is."""

from host.link.client import LineClient
from host.link.ports import open_port

REPLY_S = 15.0  # of the device's time
TICK_S = 0.25


class MeteredPort:
    """A real serial port; to wait for a byte is to let the device live through one tick more."""

    def __init__(self, board, port):
        self.board = board
        self.port = port
        self.write = self.port.write
        self.close = self.port.close

    @property
    def in_waiting(self):
        return self.port.in_waiting

    def read(self, count):
        if not self.port.in_waiting:
            self.board.live(TICK_S)
        return self.port.read(max(1, min(count, self.port.in_waiting)))


class OnDevicesTime(LineClient):
    """A serial client whose seconds are the device's, for replies too: a busy laptop changes nothing."""

    def __init__(self, board, port=None):
        self.board = board
        super().__init__(
            MeteredPort(board, port or open_port(board.link)), REPLY_S, clock=lambda: self.now_s, sleep=board.live
        )

    @property
    def now_s(self):
        return self.board.outside.now_us / 1e6


def lived_until(board, is_so, longest_s, step_s=1.0):
    """Whether it comes to be within so much of the device's own time; looked at every `step_s` of it."""
    end_us = board.outside.now_us + longest_s * 1e6
    while not is_so():
        if board.outside.now_us > end_us:
            return False
        board.live(step_s)
    return True
