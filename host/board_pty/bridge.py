"""Carries bytes between the board's terminal and the port that a PC program opens; knows what a USB port does.

Kept from the interpreter: what is typed before it listens; a second Ctrl-C on the heels of the first, which would
end it; and, for a moment, what follows a Ctrl-C or comes while a typed command still runs, since the interpreter
empties its input when it returns to the prompt. Kept from the PC: the start-up text of a prompt that is to be raw.
"""

from __future__ import annotations

import os
import select
from pathlib import Path

from host.board_pty.process import CTRL_C, BoardProcess, set_terminal

MARK = b"\x1b]board\x07"  # where the prompt begins: as in child.py
RAW = b"raw REPL; CTRL-B to exit\r\n"
FRIENDLY = b">>> "
UNREAD = 256  # bytes that wait for a PC which does not read; then the board's own writing waits
TYPED = 2048  # bytes from the PC that wait for the board
# The unix port raises KeyboardInterrupt out of a signal handler wherever it is, which ends it if that is its garbage
# collection. So a device that waits for time to pass is interrupted there; the signal is for one that hangs.
# All in seconds of the process's life: a busy laptop shortens none of them.
SIGNAL_S = 1.0
HOLD_S = 1.0  # how long a Ctrl-C may take to bring the prompt before what follows it is passed on
BUSY_S = 0.03  # likewise for a command at the prompt
ABSENT_S = 0.01  # how often to look whether a PC has opened the port


class Bridge:
    """`link`: path of a symbolic link to the port, made here."""

    def __init__(self, link: Path) -> None:
        self.link = link
        self.port: str | None = None
        self.is_raw = False
        self._pc: int | None = None
        self._cut_at: int | None = None
        self._cuts_power = False
        self.has_cut_power = False
        self.typed = 0  # bytes from the PC so far
        self._has_pc = False
        self._screen = self._hidden = self._recent = b""
        self._out = self._in = b""
        self.plug_in()

    # --- the cable ---------------------------------------------------------------------------------

    def plug_in(self) -> None:
        """A fresh port, and the link to it, unless there is one; no cut is planned any more."""
        self._cut_at = None
        if self._pc is not None:
            return
        self._pc, slave = os.openpty()
        os.set_blocking(self._pc, False)
        set_terminal(slave, interrupts=False)
        self.port = os.ttyname(slave)
        os.close(slave)
        self.link.unlink(missing_ok=True)
        self.link.symlink_to(self.port)

    @property
    def is_plugged_in(self) -> bool:
        """Whether there is a port."""
        return self._pc is not None

    def unplug(self) -> None:
        """The port is gone for the PC, with all that was on the way."""
        if self._pc is not None:
            os.close(self._pc)
            self._pc = None
            self.link.unlink(missing_ok=True)
        self._out = b""
        self._has_pc = False

    def cut_after(self, count: int, and_power: bool) -> None:
        """Unplug once `count` more bytes have come from the PC; `and_power`: set `has_cut_power` then."""
        self._cut_at = count
        self._cuts_power = and_power
        self.has_cut_power = False

    def close(self) -> None:
        """Let the port go."""
        self.unplug()

    # --- the board's side ----------------------------------------------------------------------------

    def board_started(self, soft_to_raw: bool, is_soft: bool) -> None:
        """A new process; `soft_to_raw`: its prompt is to be raw, and only that is shown."""
        self._to_raw = soft_to_raw
        self._listens = False
        self._at_prompt = False
        self._screen = self._hidden = self._recent = b""
        self._has_typed = False
        self._hold_until = 0.0
        self.interrupt_due = 0.0  # a Ctrl-C that the device has to get, as a signal from this moment on
        self._last_in = 0.0
        if not is_soft:
            self.is_raw = False

    def board_listens(self) -> None:
        """It runs its boot file: Ctrl-C reaches it from here on."""
        self._listens = not self._to_raw

    def lose_input(self) -> None:
        """A reset loses what was typed."""
        self._in = b""

    def to_pc(self, data: bytes) -> None:
        """Send, or lose it where no PC has the port open."""
        if self._has_pc:
            self._out += data

    # --- carrying ------------------------------------------------------------------------------------

    def register(self, poll: select.poll, process: BoardProcess) -> float:
        """Tell `poll` what to wait for; seconds until something is to be looked at anyway."""
        wait_s = 1.0
        if len(self._out) < UNREAD:
            poll.register(process.terminal, select.POLLIN)
        if self.interrupt_due or (self._in and self._listens):
            wait_s = 0.001  # nothing tells when the interpreter takes its terminal back
        if self._pc is not None:
            if self._has_pc:
                wanted = (select.POLLIN if len(self._in) < TYPED else 0) | (select.POLLOUT if self._out else 0)
                poll.register(self._pc, wanted)
            else:
                wait_s = min(wait_s, ABSENT_S)
        return wait_s

    def carry(self, process: BoardProcess) -> None:
        """Move what can be moved now; never waits."""
        self._from_pc(process)
        self._type(process)
        while len(self._out) < UNREAD:
            data = process.read()
            if not data:
                break
            self.to_pc(self._shown(process, data))
        if self._out and self._pc is not None:
            try:
                self._out = self._out[os.write(self._pc, self._out) :]
            except OSError:  # not now, or nobody there: the next look tells
                pass

    def _from_pc(self, process):
        if self._pc is None:
            return
        poll = select.poll()
        poll.register(self._pc, select.POLLIN)
        state = dict(poll.poll(0)).get(self._pc, 0)
        self._has_pc = not state & select.POLLHUP
        if not self._has_pc:
            self._out = b""
        if not state & select.POLLIN or len(self._in) >= TYPED:
            return
        try:
            data = os.read(self._pc, 1024)
        except OSError:
            return
        self.typed += len(data)
        if self._cut_at is not None and len(data) >= self._cut_at:
            self._in += data[: self._cut_at]
            self._cut_at = None
            self.unplug()
            self.has_cut_power = self._cuts_power
            return
        if self._cut_at is not None:
            self._cut_at -= len(data)
        self._in += data
        self._last_in = process.lived_s()

    def _type(self, process):
        if not self.interrupt_due and not self._in:
            return
        now = process.lived_s()
        if self.interrupt_due:
            if not process.interrupts():
                self.interrupt_due = 0.0
            elif now > self.interrupt_due:
                self.interrupt_due = 0.0
                process.write(bytes([CTRL_C]))
        while self._in and self._listens:
            interrupts = process.interrupts()
            if interrupts and now < self._hold_until:
                if self._in[0] != CTRL_C:
                    return
                self._in = self._in[1:]  # a second one would end the interpreter
                continue
            if not interrupts:
                self._hold_until = 0.0
            elif self._at_prompt and self._in[0] != CTRL_C and now < self._last_in + BUSY_S:
                return
            if interrupts and self._in[0] == CTRL_C:
                self._in = self._in[1:]
                self.interrupt_due = now + SIGNAL_S
                self._hold_until = self.interrupt_due + HOLD_S
                return
            end = self._in.find(CTRL_C) if interrupts else -1
            taken = process.write(self._in if end < 0 else self._in[:end])
            if not taken:
                return
            self._in = self._in[taken:]

    def _shown(self, process, data):
        """What the PC gets of the board's output."""
        self._screen += data
        shown, mark, rest = self._screen.partition(MARK)
        if mark:
            self._at_prompt = True
            self._screen = b""
            if self._to_raw:
                self._hidden = rest
            else:
                shown += rest
        elif self._to_raw and self._at_prompt:
            self._hidden += self._screen
            self._screen = shown = b""
        else:
            keep = next((n for n in range(len(MARK) - 1, 0, -1) if self._screen.endswith(MARK[:n])), 0)
            shown, self._screen = self._screen[: len(self._screen) - keep], self._screen[len(self._screen) - keep :]
        if self._to_raw and self._at_prompt:
            shown += self._revealed(process)
        self._recent = (self._recent + shown)[-len(RAW) - len(FRIENDLY) :]
        raw, friendly = self._recent.rfind(RAW), self._recent.rfind(FRIENDLY)
        if raw >= 0 or friendly >= 0:
            self.is_raw = raw > friendly
        return shown

    def _revealed(self, process):
        """Turn the hidden friendly prompt into a raw one; what is to be seen of it."""
        if not self._has_typed and FRIENDLY in self._hidden:
            self._has_typed = True
            process.write(b"\x01")
        at = self._hidden.find(RAW)
        if at < 0:
            return b""
        shown, self._hidden = self._hidden[at:], b""
        self._to_raw = False
        self._listens = True
        return shown
