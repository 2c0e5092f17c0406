"""A board on the bench: pins and clock of the simulated board, with nothing or little outside."""

from pathlib import Path

import pytest

from host.pins import pin_map
from host.shim.loader import world
from host.shim.port import Port
from host.shim.simfs import SimFS

SMALL = Path(__file__).parent / "small"


class Bench:
    """What is outside a board of which only pins and time matter; keeps what it was told."""

    def __init__(self):
        self.rx = bytearray()
        self.orders = []
        self.host_reading = True
        self.told = []
        self.grounded = set()
        self.chips = {}
        self.sent = b""

    def advance(self, dt_us, levels, rose=0):
        self.told.append((dt_us, dict(levels), rose))
        return True

    def level(self, pin):
        return 0 if pin in self.grounded else None

    def selects(self, bus):
        return tuple(key[1] for key in self.chips if key[0] == bus)

    def transfer(self, bus, select, out, count):
        return self.chips[bus, select][:count]

    def i2c(self, bus, address, out, count):
        return None if address != 0x48 else bytes(range(count))

    def analog(self, pin):
        return 1234

    def serial_out(self, data):
        self.sent += bytes(data)


class Board:
    """Modules of the device's side, bound to one Port."""

    def __init__(self, mcu="rp2040"):
        self.outside = Bench()
        self.world = world(SMALL / "device")
        self.port = Port(self.outside, mcu, pin_map.read(SMALL / "board.py"), SimFS())
        self.machine = self.world.modules["machine"]
        self.time = self.world.modules["time"]


@pytest.fixture
def make_board():
    """Call with an MCU name: a Board that is the current one until the test ends."""
    contexts = []

    def make(mcu="rp2040"):
        made = Board(mcu)
        context = made.world.running(made.port)
        context.__enter__()
        contexts.append(context)
        return made

    yield make
    for context in reversed(contexts):
        context.__exit__(None, None, None)


@pytest.fixture
def board(make_board):
    """An rp2040."""
    return make_board()
