"""The simulated board under real MicroPython: a process that talks to its parent over two pipes.

    micropython child.py IN OUT      file descriptors; the parent's first message is JSON, see remote.py

Port and machine are the same files as under CPython; what is outside the board lives in the parent, in
lock-step: each piece of time is one request and one answer, which brings input levels, serial bytes and
the frames of read-only chips along.
"""

import gc
import json
import struct
import sys


def fill(source, buffer):
    """Read until the buffer is full; the process ends with its parent."""
    count = source.readinto(buffer)
    while count != len(buffer):
        if not count:
            sys.exit()
        rest = bytearray(len(buffer) - count)
        more = source.readinto(rest)
        if not more:
            sys.exit()
        buffer[count : count + more] = rest[:more]
        count += more


def message(source):
    """One message of the parent: JSON behind its length."""
    head = bytearray(4)
    fill(source, head)
    text = bytearray(struct.unpack("<I", head)[0])
    fill(source, text)
    return json.loads(bytes(text))


# Compiling leaves garbage between what stays: collected early, it does not break the heap into crumbs.
# A board that loads compiled files has none of it.
gc.threshold(4096)

SOURCE = open("/dev/fd/" + sys.argv[1], "rb")  # noqa: SIM115 - both live as long as the process
SINK = open("/dev/fd/" + sys.argv[2], "wb")  # noqa: SIM115
CONFIG = message(SOURCE)
# Ours first: else the builtin modules of these names are found.
sys.path[:] = CONFIG["path"]

import simboard  # noqa: E402
from life import MODES, Life, whole  # noqa: E402
from mainsphase import sensed_level  # noqa: E402
from port import Port  # noqa: E402

READ_ONLY_BYTES = 4


class RemoteOutside:
    """Outside's surface, answered by the parent."""

    def __init__(self, source, sink, config):
        self._source = source
        self._sink = sink
        self._head = bytearray(22)
        self._now_us = 0
        self._quiet_us = 0
        self._gathered_us = 0
        self._driving = 0
        self.watched = config["watched"]
        self._edges = config["edges"]
        self._sense_pins = tuple(config["sense_pins"])
        self._waves = bytearray(2)
        self.host_reading = config["host_reading"]
        self.rx = bytearray()
        self.orders = []
        self._tx = bytearray()
        self._closed = config["closed"]
        self._chips = {bus: tuple(pins) for bus, pins in config["selects"].items()}
        self._order = [(bus, select) for bus, select in config["frames"]]
        self._frames = {key: bytearray(READ_ONLY_BYTES) for key in self._order}
        self._take_frames(bytes(config["frame_bytes"]), 0)

    def advance(self, dt_us, levels, rose):
        """One piece of time; a short one in which nothing can change is only noted."""
        driven = high = 0
        for pin in levels:
            driven |= 1 << pin
            if levels[pin]:
                high |= 1 << pin
        watched = high & self.watched
        self._now_us += dt_us
        if self._now_us < self._quiet_us and watched == self._driving and not rose & self._edges:
            self._gathered_us += dt_us
            return False
        self._driving = watched
        tx = self._tx
        self._sink.write(struct.pack("<HBQQQQQ", 41 + len(tx), 65, self._gathered_us, dt_us, driven, high, rose) + tx)
        self._gathered_us = 0
        if tx:
            self._tx = bytearray()
        head = self._head
        fill(self._source, head)
        self._quiet_us, self._closed, flags, waves, rx_count, count = struct.unpack_from("<QQBBHH", head)
        self._waves[0] = waves & 3
        self._waves[1] = waves >> 2
        self.host_reading = bool(flags & 1)
        if count:
            extra = bytearray(count)
            fill(self._source, extra)
            if rx_count:
                self.rx = self.rx + extra[:rx_count]
            at = rx_count
            if flags & 2:
                at = self._take_frames(extra, at)
            if flags & 4:
                self.orders = self.orders + json.loads(bytes(extra[at:]))
        return True

    def rest(self, dt_us):
        """Note a piece in which nothing can change, the levels being as they were; else False."""
        if self._now_us + dt_us >= self._quiet_us:
            return False
        self._now_us += dt_us
        self._gathered_us += dt_us
        return True

    def level(self, pin):
        """0 = closed to GND, None = open."""
        return sensed_level(pin, self._closed, self._sense_pins, self._waves, self._now_us)

    def selects(self, bus):
        """Chip-select pins of a bus."""
        return self._chips.get(bus, ())

    def transfer(self, bus, select, out, count):
        """A read-only chip's frame is here already; others are asked."""
        frame = self._frames.get((bus, select)) if self._order else None
        if frame is not None:
            return frame if count == READ_ONLY_BYTES else bytes(frame[:count]) + bytes(max(0, count - READ_ONLY_BYTES))
        return bytes(self._ask("transfer", bus, select, None if out is None else list(out), count))

    def i2c(self, bus, address, out, count):
        """Write then read; None when nothing acknowledges."""
        answer = self._ask("i2c", bus, address, list(out), count)
        return None if answer is None else bytes(answer)

    def analog(self, pin):
        """0..65535."""
        return self._ask("analog", pin)

    def serial_out(self, data):
        """Goes with the next piece of time."""
        self._tx += data

    def turn_done(self, mode, report, notes):
        """Tell the parent that a piece of the board's life is over; no answer."""
        raw = b"" if report is None else bytes(report)
        text = json.dumps(notes).encode() if notes else b""
        tx = bytes(self._tx)
        self._tx = bytearray()
        self._sink.write(
            struct.pack(
                *("<HBQBHH", 14 + len(raw) + len(tx) + len(text), 68),
                *(self._gathered_us, mode, len(raw), len(tx)),
            )
            + raw
            + tx
            + text
        )
        self._gathered_us = 0

    def _ask(self, name, *arguments):
        text = json.dumps([name, arguments]).encode()
        self._sink.write(struct.pack("<HB", 1 + len(text), 74) + text)
        return message(self._source)

    def _take_frames(self, data, at):
        for key in self._order:
            frame = self._frames[key]
            for index in range(READ_ONLY_BYTES):
                frame[index] = data[at + index]
            at += READ_ONLY_BYTES
        return at


def boot():
    """The device's boot file, afresh."""
    with open(CONFIG["device"] + "/boot.py") as file:
        exec(file.read(), {"__name__": "boot"})


def main():
    """Live until the parent closes the pipes."""
    outside = RemoteOutside(SOURCE, SINK, CONFIG)
    port = simboard.port = Port(outside, CONFIG["mcu"])
    told = [0]

    def make_app(stream):
        from tizzone import app  # the threshold stays as device/main.py leaves it

        whole(life, app, stream, turn_done)

    def turn_done():
        notes = life.notes
        for us, text in port.refusals[told[0] :]:
            notes.append([us, "refused", text])
        told[0] = len(port.refusals)
        if life.trace:
            print(life.trace)  # for RemoteBoard.printed()
            life.trace = ""
        report = life.app.report if life.app is not None and life.mode == "run" else None
        outside.turn_done(MODES.index(life.mode), report, notes)
        if notes:
            life.notes = []

    life = Life(port, boot, make_app)
    while True:
        life.turn()
        turn_done()


main()
