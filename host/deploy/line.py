"""One board at the end of a cable: its link lines and its prompt, over mpremote's serial transport.

Every wait has an end. A board that goes away raises LinkLost, whatever the serial library calls it.
"""

from __future__ import annotations

import contextlib
import io
import os
import struct
import time
from dataclasses import dataclass
from typing import Any

import serial
from mpremote.transport import TransportError, TransportExecError
from mpremote.transport_serial import SerialTransport

from host.deploy import DeployError
from host.link import LinkLost, PortError
from host.link.client import OLDER, LineClient
from host.link.ports import why_not

try:
    import termios

    TERMINAL_ERROR: type[Exception] = termios.error
except ImportError:  # Windows
    TERMINAL_ERROR = OSError

GONE = (OSError, TERMINAL_ERROR, TransportError, struct.error)
PROMPT = b">>> "
REPLIES = {"status": "ok pv_mc=", "version": "ok version=", "maintenance": "ok resetting"}  # how they begin
CHUNK = 768  # bytes a write: a few kB of the board's memory while it is taken apart
NOISE = 4096  # last bytes of what was no reply, for the reason of a failure
LOOK_S = 0.02
LET_GO_S = 2.0  # until a port that is busy is said to be


@dataclass
class Timing:
    """Waits in seconds; the defaults suit boards, whose grace window is 3 s."""

    reply_s: float = 0.6  # one attempt at a line
    quiet_s: float = 2.5  # silence before Ctrl-C is sent
    boot_s: float = 15.0  # from a reset to the first reply, the USB port's return included
    way_in_s: float = 45.0
    exec_s: float = 15.0  # one piece of code at the prompt


class Line:
    """The connection to `port`; PortError if it does not open."""

    def __init__(self, port: str, timing: Timing | None = None) -> None:
        self.port = port
        self.timing = timing or Timing()
        self.noise = b""
        self.saw_prompt = False
        self.is_older = False  # the program speaks as boards did before the lines had their bar
        self._transport: Any = None
        self._open_once_let_go()

    def _open_once_let_go(self):
        """Open the port; what held it a moment ago (the load before, a process that has just begun) gets a moment."""
        end = time.monotonic() + LET_GO_S
        while True:
            try:
                return self.open()
            except PortError as reason:
                if ": busy: " not in str(reason) or time.monotonic() > end:
                    raise
                time.sleep(LOOK_S)

    def open(self) -> None:
        """(Re)open the port, whose device file may be another one by now."""
        self.close()
        device = os.path.realpath(self.port) if os.path.islink(self.port) else self.port
        try:
            self._transport = SerialTransport(device)
            self._transport.serial.timeout = 2.0  # sets the port up anew: a board that restarts may be gone by now
            self._transport.serial.write_timeout = 5.0
        except (*GONE, ValueError):
            self.close()
            raise PortError(self._reason(device)) from None

    def open_when_back(self) -> None:
        """Reopen the port of a board that restarts; PortError if it does not come back in time."""
        end = time.monotonic() + self.timing.boot_s
        while True:
            try:
                self.open()
                return
            except PortError:
                if time.monotonic() > end:
                    raise
                time.sleep(LOOK_S)

    def _reason(self, device):
        try:
            serial.serial_for_url(device, exclusive=True).close()
        except (*GONE, ValueError) as error:
            return why_not(self.port, error)
        return f"{self.port}: cannot be opened; try again"

    def close(self) -> None:
        """Let the port go; a port that is gone already is none to close."""
        transport, self._transport = self._transport, None
        if transport is None:
            return
        with contextlib.suppress(*GONE):
            if transport.in_raw_repl:
                transport.exit_raw_repl()
        with contextlib.suppress(*GONE):
            transport.close()
        with contextlib.suppress(*GONE):
            transport.serial.close()

    def _call(self, function, *arguments, **named):
        """Call into the library, quietly; LinkLost when the board went away."""
        if self._transport is None:
            raise LinkLost("the port is closed")
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                return function(*arguments, **named)
        except TransportExecError:
            raise
        except GONE as error:
            raise LinkLost(f"the board went away ({' '.join(str(error).split()) or type(error).__name__})") from None

    # --- the program's link --------------------------------------------------------------------------

    def ask(self, text: str, timeout_s: float | None = None, wanted: str | None = None) -> str | None:
        """The reply to one link line ("ok ..." or "no ..."), None if none comes; `saw_prompt` tells of a prompt.

        Replies bear no number: one that says ok, but not as `wanted` begins, is a late one to an earlier line."""
        reply, heard = self._ask_once(text, timeout_s, wanted)
        if reply is None and OLDER in heard and not self.is_older:  # a program of before: it has to be loaded as well
            self.is_older = True
            reply, heard = self._ask_once(text, timeout_s, wanted)
        elif reply is None:
            self.is_older = False
        return reply

    def _ask_once(self, text, timeout_s, wanted):
        """(reply or None, what was heard)."""
        wanted = wanted or REPLIES.get(text, "ok")
        self.saw_prompt = False  # also where the board goes away now
        client = LineClient(_PortOf(self), timeout_s or self.timing.reply_s)
        client.is_older = self.is_older
        self.noise = (self.noise + self._waiting())[-NOISE:]
        reply = client.exchange(
            text, lambda reply: reply.startswith(wanted) or not reply.startswith("ok"), ends_with=PROMPT
        )
        self.saw_prompt = reply is None and client.last_heard.endswith(PROMPT)
        if reply is None:
            self.noise = (self.noise + client.last_heard)[-NOISE:]
        return reply, client.last_heard

    def write(self, data: bytes) -> None:
        """Send bytes as they are."""
        self._call(self._transport.serial.write, data)

    def _waiting(self):
        port = self._transport.serial
        count = self._call(lambda: port.in_waiting)
        return self._call(port.read, count) if count else b""

    def read_some(self) -> bytes:
        """What has come, b"" after a short time if nothing has."""
        data = self._waiting()
        if not data:
            time.sleep(LOOK_S)
        return data

    # --- the prompt ----------------------------------------------------------------------------------

    def interrupt(self) -> bool:
        """Ctrl-C and leave any raw prompt; whether the prompt came."""
        self.write(b"\r\x03")
        data = self._wait_for(PROMPT, self.timing.reply_s)
        self.write(b"\r\x02")
        data += self._wait_for(PROMPT, self.timing.reply_s)
        return PROMPT in data

    def wait_prompt(self, timeout_s: float) -> bool:
        """Wait until a starting board is at its prompt, over a port that goes and comes; whether it is."""
        end = time.monotonic() + timeout_s
        while time.monotonic() < end:
            try:
                if self._transport is None:
                    self.open()
                self.write(b"\r")
                if self._wait_for(PROMPT, self.timing.reply_s).endswith(PROMPT):
                    return True
            except (LinkLost, PortError):
                self.close()
                time.sleep(LOOK_S)
        return False

    def _wait_for(self, wanted, timeout_s):
        end = time.monotonic() + timeout_s
        data = b""
        while time.monotonic() < end and not data.endswith(wanted):
            data += self.read_some()
        self.noise = (self.noise + data)[-NOISE:]
        return data

    def enter(self) -> None:
        """The raw prompt, through a soft reset: boot.py runs and puts the outputs to safe levels, main.py does not."""
        self._call(self._transport.enter_raw_repl, soft_reset=True)

    def run(self, code: str) -> str:
        """Run code at the raw prompt; what it printed, as text. DeployError with the board's own words if it raised."""
        try:
            out, err = self._call(self._transport.exec_raw, code, timeout=self.timing.exec_s)
        except TransportExecError as error:
            err, out = str(error).encode(), b""
        if err:
            last = err.decode(errors="replace").strip().splitlines()
            raise DeployError(f"the board says: {last[-1] if last else 'nothing'}")
        return out.decode(errors="replace")

    def put(self, path: str, data: bytes) -> None:
        """Write a file, piece by piece."""
        self.run(f"_f=open({path!r},'wb')\n_w=_f.write")
        for at in range(0, len(data), CHUNK):
            self.run(f"_w({data[at : at + CHUNK]!r})")
        self.run("_f.close()\ndel _f,_w")

    def reset(self, code: str = "") -> None:
        """Run `code` and restart the chip; the port is closed."""
        # It waits a little, so that the acknowledgement gets out before the chip goes.
        code += "\nimport machine, time\ntime.sleep_ms(100)\nmachine.reset()\n"
        try:
            self._call(self._transport.exec_raw_no_follow, code)
        except LinkLost:
            pass  # it went before it could acknowledge
        if self._transport is not None:
            self._transport.in_raw_repl = False
        self.close()


class _PortOf:
    """The connection as the port of a LineClient."""

    def __init__(self, line: Line) -> None:
        self.line = line

    def write(self, data: bytes) -> None:
        """Send bytes."""
        self.line.write(data)

    def read(self, count: int) -> bytes:
        """What has come."""
        return self.line.read_some()
