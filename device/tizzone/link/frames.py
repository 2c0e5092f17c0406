"""Text lines over USB serial: framing, checksum, bounded and never blocking. What a line does is in
commands.py.

    in:  text*HHHH     HHHH = CRC-16/CCITT-FALSE of text, four hex digits
    out: ~text*HHHH    '~' marks a reply, so that boot noise and tracebacks can be skipped

ASCII only; 0x03 is never eaten (Ctrl-C goes on interrupting). A reply that the PC does not take is dropped
and counted: the loop
never waits for a reader.
"""

import select
import sys

from micropython import const

MARK = "~"
_LINE_MAX = const(120)
_BYTES_A_TICK = const(160)


def crc16(text):
    """CRC-16/CCITT-FALSE (polynomial 0x1021, start 0xFFFF) of ASCII text."""
    crc = 0xFFFF
    for byte in text.encode():  # bytes: taking a string apart would intern each character on the board
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021) & 0xFFFF if crc & 0x8000 else crc << 1
    return crc


def framed(text):
    """text*HHHH"""
    return "%s*%04X" % (text, crc16(text))


def unframed(line):
    """(text, None) of a whole line, or (None, what is wrong with it)."""
    star = line.rfind("*")
    if star < 0:
        return None, "checksum missing: end the line with *HHHH"
    try:
        wanted = int(line[star + 1 :], 16)
    except ValueError:
        return None, "checksum not readable"
    if len(line) - star != 5 or wanted != crc16(line[:star]):
        return None, "checksum wrong"
    return line[:star], None


class UsbStreams:
    """The board's own serial port (sys.stdin, sys.stdout), polled."""

    def __init__(self):
        self._in = select.poll()
        self._in.register(sys.stdin, select.POLLIN)
        self._out = select.poll()
        self._out.register(sys.stdout, select.POLLOUT)

    def any(self):
        """A byte is waiting."""
        return bool(self._in.poll(0))

    def read1(self):
        """One byte as an integer."""
        return ord(sys.stdin.read(1))

    def can_write(self):
        """The PC is taking output."""
        return bool(self._out.poll(0))

    def write(self, text):
        """Write text."""
        sys.stdout.write(text)


class Link:
    """One line in, one reply out, per tick at most."""

    def __init__(self, streams):
        self.streams = streams
        self.dropped = 0  # replies nobody took
        self._line = ""
        self._too_long = False

    def next_line(self):
        """(text, fault): a whole line that has arrived, a fault to be told, or (None, None). Never waits."""
        budget = _BYTES_A_TICK
        while budget > 0 and self.streams.any():
            budget -= 1
            byte = self.streams.read1()
            if byte in (10, 13):
                line = self._line
                too_long = self._too_long
                self._line = ""
                self._too_long = False
                if too_long:
                    return None, "line longer than 120 characters"
                if line:
                    return unframed(line)
            elif len(self._line) >= _LINE_MAX:
                self._too_long = True
            elif 32 <= byte < 127:
                self._line += chr(byte)
            else:
                self._line += "?"  # spoils the checksum, so that a garbled line never acts
        return None, None

    def reply(self, text):
        """Send one marked line, or drop it if nobody reads."""
        if not self.streams.can_write():
            self.dropped += 1
            return False
        self.streams.write(MARK + framed(text) + "\n")
        return True
