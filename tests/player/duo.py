"""Two Picos in software, joined pin to pin: the board with its real firmware, and the player with its own.

Emulated time moves in `run()` alone. What differs from silicon: levels are 0 or 1, edges have no slope, the SPI unit's
bytes are made bits by the rig, and the phase of the programmable I/O's waiting loops at an edge is not the chip's.
"""

import json
from pathlib import Path

from host.link.frames import unframed, with_checksum
from host.player.harness import HELD_DOWN
from tests.pico.emulator_process import Emulated
from tests.pico.image import loaded

EMULATOR = Path(__file__).parent / "emulator"
PLAYER = Path(__file__).parents[2] / "host" / "player" / "board"


def player_files(main=True):
    """{path on the player: bytes}."""
    files = {path.relative_to(PLAYER).as_posix(): path.read_bytes() for path in sorted(PLAYER.rglob("*.py"))}
    return files if main else {name: data for name, data in files.items() if name != "main.py"}


def of(harness):
    """What the emulator is told of a harness."""
    wires = [[w.name, w.pin, w.player, int(w.name in HELD_DOWN)] for w in harness.checked()]
    spi = {spec["bus"]["spi"]: {"sck": spec["bus"]["sck"], "miso": spec["bus"]["miso"]}
           for spec in harness.pins.PROBES.values()}  # fmt: skip
    return {"wires": wires, "spi": spi}


class Duo(Emulated):
    """`board`, `player`: flash images (bytes)."""

    def __init__(self, harness, board, player=None):
        images = {"board": board, "player": player or loaded(None, player_files())}
        super().__init__(EMULATOR / "duo.mjs", images, {"wires": json.dumps(of(harness))})
        self.events = []
        self.raw = {"board": b"", "player": b""}
        self.usb = {"board": 0, "player": 0}
        self.stats = {}

    def run(self, seconds):
        """Let emulated time pass."""
        got = self.op(op="run", s=seconds)
        self.t, self.stats = got["t"], got["stats"]
        self.events += [tuple(event) for event in got["events"]]
        for who in self.raw:
            self.raw[who] += got[who].encode("latin1")
            self.usb[who] = got[who + "_usb"]

    def ask(self, who, line, seconds=3.0):
        """The reply to a line, None if none comes."""
        self.op(op="send", who=who, data=with_checksum(line) + "\n")
        end = self.t + seconds
        while self.t < end:
            self.run(0.01)
            *whole, self.raw[who] = self.raw[who].split(b"\n")
            for text in whole:
                reply = unframed(text.decode("ascii", "replace"))
                if reply is not None:
                    return reply
        return None

    def until(self, condition, seconds, step=0.05):
        """Run until condition() holds; whether it did."""
        return self.until_python(condition, seconds, step)


class Port:
    """One board's serial port, for code that reads and writes ports; reading lets a little time pass."""

    def __init__(self, duo, who):
        self.duo, self.who = duo, who
        self.is_gone = False

    @property
    def in_waiting(self):
        if self.is_gone:
            raise OSError(5, "unplugged")
        return len(self.duo.raw[self.who])

    def read(self, count):
        if self.is_gone:
            raise OSError(5, "unplugged")
        if not self.duo.raw[self.who]:
            self.duo.run(0.004)
        data, self.duo.raw[self.who] = self.duo.raw[self.who][:count], self.duo.raw[self.who][count:]
        return data

    def write(self, data):
        if self.is_gone:
            raise OSError(5, "unplugged")
        self.duo.op(op="send", who=self.who, data=data.decode("latin1"))

    def close(self):
        pass


class OneOf:
    """One board of a Duo as tests/pico/cable.py takes a rig: for code that knows serial ports and mpremote."""

    def __init__(self, duo, who):
        self.duo, self.who = duo, who
        self.wrote = 0

    @property
    def t(self):
        """Emulated seconds."""
        return self.duo.t

    @property
    def now(self):
        """{"usb": whether its port is there}."""
        return {"usb": self.duo.usb[self.who]}

    @property
    def resets(self):
        """Its restarts so far."""
        return [event for event in self.duo.events if event[1:3] == ("reset", self.who)]

    @property
    def raw(self):
        """Bytes that have come."""
        return self.duo.raw[self.who]

    @raw.setter
    def raw(self, data):
        self.duo.raw[self.who] = data

    def run(self, seconds):
        """Let emulated time pass."""
        self.duo.run(seconds)

    def send(self, data):
        """Bytes to it."""
        self.duo.op(op="send", who=self.who, data=data.decode("latin1"))

    def take(self):
        """Forget what has come."""
        data, self.duo.raw[self.who] = self.duo.raw[self.who], b""
        return data
