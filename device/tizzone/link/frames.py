"""Text lines over USB serial: framing, checksum, bounded and never blocking. What a line does is in
commands.py.

    in:  text|HHHH             HHHH = CRC-16/CCITT-FALSE of text, four hex digits
    in:  text                  a question, which changes nothing, may come without; an act never
    out: ~done ...|HHHH        '~' marks a reply, so that boot noise and tracebacks can be skipped
    out: ~refused: why|HHHH

Lines are ASCII; whatever bytes come, they are read as bytes and never raise. 0x03 is never eaten (Ctrl-C goes on
interrupting). The loop never waits for a reader: a reply goes out in the pauses between two ticks, each byte only once
there is room for it, and what nobody takes is dropped and counted.
"""

import select
import sys
from array import array

from micropython import const

MARK = "~"
_ASKS = ("status", "permissives", "alarms", "version", "log", "counters", "pace", "bread", "handover")
_ASKS_ALONE = ("plan", "night", "learn", "stone", "witness")
_LINE_MAX = const(120)
_BYTES_A_TICK = const(160)
PIECE = const(64)  # bytes of a reply between two looks at the clock
PATIENCE = const(4)  # pauses without a byte taken after which the rest of a reply is dropped


def _remainders():
    """CRC-16/CCITT-FALSE of each single byte: bit by bit a reply took longer than the rest of its tick."""
    table = array("H", bytes(512))
    for byte in range(256):
        crc = byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021) & 0xFFFF if crc & 0x8000 else crc << 1
        table[byte] = crc
    return table


_REMAINDERS = _remainders()
del _remainders  # 200 bytes that nobody needs again


def crc16(text):
    """CRC-16/CCITT-FALSE (polynomial 0x1021, start 0xFFFF) of ASCII text."""
    table = _REMAINDERS
    crc = 0xFFFF
    for byte in text.encode():  # bytes: taking a string apart would intern each character on the board
        crc = ((crc << 8) & 0xFFFF) ^ table[(crc >> 8) ^ byte]
    return crc


def framed(text):
    """text|HHHH"""
    return "%s|%04X" % (text, crc16(text))


def asks(line):
    """Whether a line changes nothing on the board, whatever was lost of it on the way."""
    words = line.split()
    return len(words) > 0 and (words[0] in _ASKS or line in _ASKS_ALONE or (words[0] == "setting" and len(words) == 2))


def unframed(line):
    """(text, None) of a whole line, or (None, what is wrong with it)."""
    bar = line.rfind("|")
    if bar < 0:
        return (line, None) if asks(line) else (None, "checksum missing: end an act with |HHHH")
    try:
        wanted = int(line[bar + 1 :], 16)
    except ValueError:
        return None, "checksum not readable"
    if len(line) - bar != 5 or wanted != crc16(line[:bar]):
        return None, "checksum wrong"
    return line[:bar], None


class UsbStreams:
    """The board's own serial port, polled; `console` (stdin, stdout, poll) stands in for sys and select."""

    def __init__(self, console=None):
        stdin = sys.stdin if console is None else console.stdin
        stdout = sys.stdout if console is None else console.stdout
        poll = select.poll if console is None else console.poll
        # Bytes on both sides: text would be decoded, and one byte that is no UTF-8 would raise in mid-tick.
        self._source = stdin.buffer
        self._sink = stdout.buffer
        self._byte = bytearray(1)
        self._in = poll()
        self._in.register(stdin, select.POLLIN)
        self._out = poll()
        self._out.register(stdout, select.POLLOUT)

    def any(self):
        """A byte is waiting."""
        for _ in self._in.ipoll(0):
            return True
        return False

    def read1(self):
        """One byte as an integer."""
        self._source.readinto(self._byte)
        return self._byte[0]

    def write(self, data, start, end):
        """Send data[start:end] as far as there is room, each byte only when the poll has just said so: a write without
        room blocks up to half a second. Returns the index of the first byte that was not sent."""
        ready = self._out.ipoll
        write = self._sink.write
        one = self._byte
        at = start
        while at < end:
            for _ in ready(0):
                one[0] = data[at]
                write(one)
                at += 1
                break
            else:
                break
        return at


class Link:
    """One line in, one reply out, per tick at most."""

    def __init__(self, streams):
        self.streams = streams
        self.dropped = 0  # replies nobody took, whole or in part
        self._line = bytearray(_LINE_MAX)
        self._count = 0
        self._too_long = False
        self._reply = b""  # going out
        self._sent = 0
        self._refused = 0

    def next_line(self):
        """(text, fault): a whole line that has arrived, a fault to be told, or (None, None). Never waits."""
        streams = self.streams
        line = self._line
        for _ in range(_BYTES_A_TICK):
            if not streams.any():
                break
            byte = streams.read1()
            if byte in (10, 13):
                count = self._count
                too_long = self._too_long
                self._count = 0
                self._too_long = False
                if too_long:
                    return None, "line longer than 120 characters"
                if count:
                    return unframed(str(line[:count], "utf-8"))
            elif self._count >= _LINE_MAX:
                self._too_long = True
            else:
                # whatever is not printable spoils the checksum, so that a garbled line never acts
                line[self._count] = byte if 32 <= byte < 127 else 63
                self._count += 1
        return None, None

    def reply(self, text):
        """Send one marked line in the pauses to come, or drop it while the one before is still going out."""
        if self._reply:
            self.dropped += 1
            return False
        # The commands say ok and no; on the wire it is done and refused.
        text = "done" + text[2:] if text.startswith("ok") else "refused: " + text[3:]
        self._reply = (MARK + framed(text) + "\n").encode()
        self._sent = 0
        self._refused = 0
        return True

    def is_sending(self):
        """Part of a reply has not gone out yet."""
        return len(self._reply) > 0

    def send(self):
        """One piece of the reply that is going out, as far as the PC takes it; False if it took nothing."""
        data = self._reply
        sent = self.streams.write(data, self._sent, min(len(data), self._sent + PIECE))
        moved = sent > self._sent
        self._sent = sent
        if sent >= len(data):
            self._reply = b""
        return moved

    def pause_over(self, moved):
        """A pause has passed in which the PC took something of the reply, or nothing."""
        self._refused = 0 if moved else self._refused + 1
        if self._reply and self._refused >= PATIENCE:  # the next reply begins with a mark: what is cut is skipped
            self._reply = b""
            self.dropped += 1
