"""The board's own link beside a bench that must go on: lines wait their turn, replies come when they come.

A port that goes away (a reset of the board, an unplugged cable) is opened again when it is back; a line that was
under way is then answered "".
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Any

from host.errors import HostError
from host.link.frames import LineCutter, on_wire, unframed

REPLY_S = 3.0
REOPEN_S = 0.5


class BoardLine:
    """`opens()` -> a port (write, read, in_waiting, close), or HostError or OSError while there is none."""

    def __init__(self, opens: Callable[[], Any], clock: Callable[[], float]) -> None:
        self.opens, self.clock = opens, clock
        self.port: Any = None
        self.noise: deque[str] = deque(maxlen=40)  # last lines that were no replies: a traceback, say
        self.losses = 0
        self._cutter = LineCutter()
        self._queue: deque[tuple[str, Callable[[str], Any]]] = deque()
        self._asked: tuple[str, Callable[[str], Any]] | None = None
        self._due_s = self._open_s = 0.0
        self._is_unsure = False
        self._syncs = 0
        self._mark = ""

    @property
    def is_waiting(self) -> bool:
        """Whether a reply is awaited."""
        return self._asked is not None or bool(self._queue)

    def say(self, line: str, then: Callable[[str], Any]) -> None:
        """Send a line when its turn has come; `then(reply)`, "" where none comes."""
        self._queue.append((line, then))

    def raw(self, data: bytes) -> None:
        """Bytes as they are: Ctrl-C, garbage."""
        if self.port is not None:
            self._try(lambda: self.port.write(data))

    def poll(self) -> None:
        """Take what has come, send what is due; never waits."""
        if self.port is None and not self._reopened():
            self._overdue()
            return
        waiting = self._try(lambda: getattr(self.port, "in_waiting", 0))
        data = self._try(lambda: self.port.read(waiting)) if waiting else b""
        for text in self._cutter.lines(data or b""):
            reply = unframed(text)
            if reply is None:
                self.noise.append(text)
            elif self._asked is not None and self._mark in reply:
                self._is_unsure = False
                self._answered(reply)
        self._overdue()
        if self._asked is None and self._queue and self.port is not None:
            self._send()

    def _send(self):
        """The next line; before it, where a reply is overdue, one whose reply nobody can mistake: the board answers in
        order and repeats a name that it does not know."""
        if self._is_unsure:
            self._syncs += 1
            self._mark = f" sync{self._syncs} "
            self._asked = (f"setting sync{self._syncs} 0", lambda reply: None)
        else:
            self._mark = ""
            self._asked = self._queue.popleft()
        self._due_s = self.clock() + REPLY_S
        line = self._asked[0]
        self._try(lambda: self.port.write(on_wire(line)))

    def _answered(self, reply):
        (_, then), self._asked = self._asked, None
        then(reply)

    def _overdue(self):
        if self._asked is not None and self.clock() >= self._due_s:
            self._is_unsure = True  # its reply may still come, and must not be taken for the next one
            self._answered("")
        if self.port is None:
            while self._queue:
                self._queue.popleft()[1]("")

    def _try(self, act):
        try:
            return act()
        except OSError:  # serial.SerialException is one
            self.losses += 1
            self._close()
            return None

    def _reopened(self):
        if self.clock() < self._open_s:
            return False
        self._open_s = self.clock() + REOPEN_S
        try:
            self.port = self.opens()
        except (HostError, OSError):
            return False
        self._cutter.rest = b""
        self._is_unsure = True  # what comes first may be for whoever asked before
        return True

    def _close(self):
        port, self.port = self.port, None
        if port is not None:
            try:
                port.close()
            except OSError:  # it has gone already
                self.losses += 0
        if self._asked is not None:
            self._due_s = self.clock()

    def close(self) -> None:
        """Let the port go."""
        self._close()
