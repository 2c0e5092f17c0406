"""The laptop's end of the line protocol: one question, one checked reply, over a serial port or a simulated board.

    with open_board("/dev/ttyACM0") as board:        LinkError says in one line what to do
        board.ask("status")                          "ok pv_mc=..." or "no <reason>"
        board.wait(1.0)                              wall seconds here, simulated ones on a simulated board

A reply is believed only with its mark and checksum; boot noise, tracebacks and damaged lines are skipped. Questions
are repeated, acts never: an act whose reply was lost may have been done.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any, Protocol

from host.link import LinkError, LinkLost, OtherProgram, ports
from host.link.frames import LONGEST, LineCutter, on_wire, unframed, unframed_older

REPLY_S = 2.0  # a board reads one line a tick (250 ms); a flash write may take longer
SPOKEN = 2  # the protocol of the frames; `version` says the board's as link=
OLDER = b"checksum missing: end the line with *HHHH"  # what boards said before the lines had their bar
QUESTIONS = ("status", "glance", "alarms", "permissives", "version", "log")


def is_question(line: str) -> bool:
    """Asking changes nothing on the board."""
    words = line.split()
    if not words:
        return False
    return words[0] in QUESTIONS or words == ["witness"] or words[:2] == ["witness", "step"]


class LineClient:
    """Speaks over `port`: any object with write(bytes), read(count) -> bytes (b"" after a short time) and close().

    `clock` and `sleep`: seconds; replaced in tests."""

    def __init__(
        self, port: Any, reply_s: float = REPLY_S, clock: Any = time.monotonic, sleep: Callable = time.sleep
    ) -> None:
        self.port = port
        self.reply_s = reply_s
        self.clock = clock
        self.sleep = sleep
        self.skipped = 0  # lines that were no replies
        self.is_older = False  # speak as boards did before the lines had their bar: enough to load them anew
        self.last_heard = b""  # what came while the newest question waited, replies and noise
        self._cutter = LineCutter()
        self._syncs = 0
        self._is_unsure = False  # a reply is overdue and may still come: it must not be taken for the next one

    @property
    def now_s(self) -> float:
        """Seconds of the clock that `wait` follows."""
        return self.clock()

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        self.sleep(max(0.0, seconds))

    def ask(self, line: str) -> str:
        """Send one line and return its reply without mark and checksum; LinkLost if none comes."""
        for attempt in range(3 if is_question(line) else 1):
            reply = self._ask_once(line)
            if reply is not None and not (attempt < 2 and is_question(line) and reply.startswith("no checksum")):
                return reply
        raise LinkLost(f"no reply to '{line.split(' ')[0]}': is the program running? Press the board's reset")

    def _ask_once(self, line):
        try:
            self._drain()
            if self._is_unsure:
                # The board answers in order and repeats a name that it does not know: what came before is overdue.
                self._syncs += 1
                mark = f"sync{self._syncs}"
                self._is_unsure = self.exchange(f"setting {mark} 0", lambda reply: f" {mark} " in reply) is None
            reply = None if self._is_unsure else self.exchange(line, lambda reply: True)
        except OSError as error:  # serial.SerialException is one
            raise LinkLost(f"the port has gone ({error.strerror or error})") from None
        self._is_unsure = reply is None
        return reply

    def exchange(self, line: str, is_ours: Callable, reply_s: Any = None, ends_with: bytes | None = None) -> str | None:
        """Send a line; the first whole reply that `is_ours` takes, None if it does not come in time.

        `ends_with`: bytes after which no reply is to be waited for, a prompt, say."""
        self.port.write(on_wire(line, self.is_older))
        self.last_heard = b""
        until = self.clock() + (self.reply_s if reply_s is None else reply_s)
        while self.clock() < until:
            data = self.port.read(max(1, getattr(self.port, "in_waiting", 0)))
            self.last_heard = (self.last_heard + data)[-LONGEST:]
            for text in self._cutter.lines(data):
                reply = unframed_older(text) if self.is_older else unframed(text)
                if reply is None:
                    self.skipped += 1
                elif is_ours(reply):
                    return reply
            if ends_with is not None and self._cutter.rest.endswith(ends_with):
                return None
        return None

    def forget_unfinished(self) -> None:
        """A line that was begun belongs to an earlier question."""
        self._cutter.rest = b""

    def _drain(self):
        """Forget late replies: each belongs to an earlier question."""
        self.forget_unfinished()
        for _ in range(64):
            if not getattr(self.port, "in_waiting", 0):
                return
            self.port.read(self.port.in_waiting)

    def close(self) -> None:
        """Let the port go."""
        try:
            self.port.close()
        except OSError:  # it has gone already
            self.port = None

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self.close()


class Rehearsed(Protocol):
    """A simulated board with its oven, as a Rehearsal is."""

    @property
    def now_s(self) -> float:
        """Simulated seconds since power-up."""

    def advance(self, seconds: float) -> None:
        """Let simulated time pass."""

    def send(self, line: str) -> str:
        """The board's reply, with its mark."""

    def close(self) -> None:
        """End it."""


class SimulatedClient:
    """The same over a Rehearsal; time is the rehearsal's, `speed` times the wall's where somebody watches."""

    def __init__(
        self, rehearsal: Rehearsed, speed: float = 1.0, sleep: Callable[[float], object] | None = None
    ) -> None:
        self.rehearsal = rehearsal
        self.speed = speed
        self.sleep = sleep  # None: simulated time costs no wall time
        self.skipped = 0

    @property
    def now_s(self) -> float:
        """Simulated seconds since power-up."""
        return self.rehearsal.now_s

    def wait(self, seconds: float) -> None:
        """Let simulated time pass."""
        self.rehearsal.advance(seconds * self.speed)
        if self.sleep is not None:
            self.sleep(max(0.0, seconds))

    def ask(self, line: str) -> str:
        """As LineClient.ask."""
        reply = self.rehearsal.send(line)
        if not reply:
            raise LinkLost(f"no reply to '{line.split(' ')[0]}': the simulated board does not run its program")
        return reply[1:]

    def close(self) -> None:
        """End the rehearsal."""
        self.rehearsal.close()

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self.close()


def open_board(name: str | None = None, reply_s: float = REPLY_S) -> LineClient:
    """A LineClient that a Tizzone board has answered; LinkError in one line otherwise."""
    name = ports.choose(name)
    client = LineClient(ports.open_port(name), reply_s)
    try:
        reply = client.ask("version")
    except LinkLost as error:
        client.close()
        if OLDER in client.last_heard:
            raise OtherProgram(
                f"{name}: an older program, whose lines this laptop no longer speaks: with heat off and the dome "
                "below 80 °C, load it with tizzone deploy --board YOUR_MAP.py"
            ) from None
        raise LinkError(
            f"{name}: opens, but no controller answers ({error}); or load the board first: tizzone deploy"
        ) from None
    if "version=" not in reply:
        client.close()
        raise LinkError(f"{name}: something answers, but not our program: load the board with tizzone deploy")
    link = re.search(r" link=(\d+)", reply)
    if link and int(link[1]) > SPOKEN:
        client.close()
        raise OtherProgram(
            f"{name}: a newer program (link={link[1]}, this laptop speaks {SPOKEN}): update the laptop's"
        )
    return client
