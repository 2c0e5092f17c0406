"""One MicroPython process on a terminal of its own, with two pipes: from one start of the board to the next.

The terminal is the process's controlling terminal, with ISIG and NOFLSH and without ECHO, ICANON and OPOST: so Ctrl-C
interrupts a running program and nothing doubles line ends, as on a board's USB port. Linux only.

`lived_s` is the clock by which it is judged: the wall's while it waits, its own processor time while it computes. A
program that a busy laptop does not let run has not lived, and neither hangs nor keeps anybody waiting.
"""

from __future__ import annotations

import json
import os
import select
import struct
import subprocess
import termios
import time
from pathlib import Path
from typing import Any

from host.shim.remote import find_micropython

HERE = Path(__file__).parent
FRAME = 768  # bytes of an answer: as in child.py
CONFIG_FRAME = 4096
CTRL_C = 3
LAST_S = 5.0
LOOK_S = 0.01  # the clock of its life is read anew after so long
TURN_S = 0.1  # what one look adds at most: whoever looks may have been kept waiting himself
# The shell opens the terminal as a session leader without one, which makes it the controlling terminal.
OPEN_TERMINAL = 'exec "$0" "$@" <"$BOARD_TTY" >"$BOARD_TTY" 2>&1'


def set_terminal(descriptor: int, interrupts: bool) -> None:
    """Bytes as they are; `interrupts`: Ctrl-C is a signal, and no other key is."""
    mode = termios.tcgetattr(descriptor)
    mode[0] = 0
    mode[1] = 0
    mode[2] |= termios.CS8 | termios.CREAD | termios.CLOCAL
    mode[3] = (termios.ISIG | termios.NOFLSH) if interrupts else 0
    for key in (termios.VQUIT, termios.VSUSP):
        mode[6][key] = b"\0"
    mode[6][termios.VMIN], mode[6][termios.VTIME] = b"\1", b"\0"
    termios.tcsetattr(descriptor, termios.TCSANOW, mode)


class BoardProcess:
    """A running interpreter. `terminal` and `pipe`: descriptors to poll for output and for messages."""

    def __init__(self, config: dict[str, Any], heap: str) -> None:
        self.terminal, slave = os.openpty()
        set_terminal(slave, interrupts=True)
        to_child, self._sink = os.pipe()
        self.pipe, from_child = os.pipe()
        command = ["/bin/sh", "-c", OPEN_TERMINAL, find_micropython(), "-X", f"heapsize={heap}", "-i"]
        self._process = subprocess.Popen(
            [*command, str(HERE / "child.py"), str(to_child), str(from_child)],
            pass_fds=(to_child, from_child),
            start_new_session=True,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            env={**os.environ, "BOARD_TTY": os.ttyname(slave)},
        )
        # Kept open until the child has opened it: else the first read would find a terminal that nobody has.
        self._slave: int | None = slave
        os.close(to_child)
        os.close(from_child)
        os.set_blocking(self.terminal, False)
        self._data = b""
        self._code: int | None = None
        self._lived_s = self._computed_s = 0.0
        self._seen_s = time.monotonic()
        self._send([0, config], CONFIG_FRAME)

    def lived_s(self) -> float:
        """Seconds it has lived: of the wall while it waits for time, a key or a reader; of computing else."""
        now_s = time.monotonic()
        if now_s - self._seen_s >= LOOK_S:
            computed_s, waits = self.doing()
            self._lived_s += min(now_s - self._seen_s, TURN_S) if waits else computed_s - self._computed_s
            self._seen_s, self._computed_s = now_s, computed_s
        return self._lived_s

    def doing(self) -> tuple[float, bool]:
        """(seconds of processor time so far, whether it waits for something and has said all it had to say)."""
        text = Path(f"/proc/{self._process.pid}/stat").read_text(encoding="utf-8", errors="replace")
        fields = text.rpartition(")")[2].split()  # proc(5): state, then from the 14th field on utime and stime
        # first whether it sleeps, then whether it has asked: one that sleeps over an unheard request waits for us
        has_asked = bool(select.select([self.pipe], [], [], 0)[0])
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK"), fields[0] == "S" and not has_asked

    def answer(self, number: int, value: Any) -> None:
        """Answer the request of this number."""
        self._send([number, value], FRAME)

    def _send(self, value, size):
        text = json.dumps(value, separators=(",", ":")).encode()
        if len(text) > size:
            raise ValueError(f"an answer of {len(text)} bytes does not fit into {size}")
        try:
            os.write(self._sink, text.ljust(size))
        except BrokenPipeError:
            pass  # the process has ended; its pipe tells

    def messages(self) -> list[list[Any]] | None:
        """Whole messages that have come, each [name, number, ...]; None once the process has ended."""
        more = os.read(self.pipe, 65536)
        if not more:
            return None
        if self._slave is not None:
            os.close(self._slave)
            self._slave = None
        self._data += more
        found = []
        while len(self._data) >= 4:
            end = 4 + struct.unpack_from("<I", self._data)[0]
            if len(self._data) < end:
                break
            found.append(json.loads(self._data[4:end]))
            self._data = self._data[end:]
        return found

    def interrupts(self) -> bool:
        """Whether Ctrl-C is a signal just now: the interpreter's line editor takes it as a byte."""
        return bool(termios.tcgetattr(self.terminal)[3] & termios.ISIG)

    def read(self) -> bytes | None:
        """What the board has printed, b"" if nothing waits, None once its terminal is gone."""
        try:
            return os.read(self.terminal, 4096)
        except BlockingIOError:
            return b""
        except OSError:
            return None

    def write(self, data: bytes) -> int:
        """Type to the board; how many bytes it took."""
        try:
            return os.write(self.terminal, data)
        except BlockingIOError:
            return 0
        except OSError:
            return len(data)  # it has ended: what was typed is lost

    def end(self) -> None:
        """Kill it; nothing if it has ended already."""
        if self._code is None:
            self._process.kill()
            self.wait()

    def wait(self) -> int:
        """The exit code of a process that ends by itself (it gets a moment); 0 is a soft reset."""
        if self._code is None:
            try:
                self._code = self._process.wait(LAST_S)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._code = self._process.wait()
            for descriptor in (self.terminal, self.pipe, self._sink, self._slave):
                if descriptor is not None:
                    os.close(descriptor)
            self._slave = None
        return self._code
