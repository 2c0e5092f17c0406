"""Lines of the player: `text|HHHH` in, `~text|HHHH` out, CRC-16/CCITT-FALSE in hex, as on the board that it tests.

A line without a good checksum is answered `refused`, and changes nothing. Never more than one reply waits to be sent.
"""

import select
import sys

from micropython import const

_LONGEST = const(900)


_NIBBLES = (0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50A5, 0x60C6, 0x70E7,
            0x8108, 0x9129, 0xA14A, 0xB16B, 0xC18C, 0xD1AD, 0xE1CE, 0xF1EF)  # fmt: skip


def crc16(text):
    """CRC-16/CCITT-FALSE of ASCII text, half a byte at a time."""
    crc = 0xFFFF
    table = _NIBBLES
    for byte in text.encode():
        crc = (crc << 4 & 0xFFFF) ^ table[(crc >> 12) ^ (byte >> 4)]
        crc = (crc << 4 & 0xFFFF) ^ table[(crc >> 12) ^ (byte & 15)]
    return crc


class Talk:
    """`console`: (read: one byte as bytes, or None; write text), by default the USB port."""

    def __init__(self, console=None):
        self._read, self._write = console or _usb()
        self._line = bytearray()

    def line(self):
        """The next whole line without its checksum, None if there is none yet; ValueError for a damaged one."""
        line = self._line
        while True:
            byte = self._read()
            if byte is None:
                return None
            if byte not in b"\r\n":
                line += byte
                if len(line) > _LONGEST:
                    self._line = line = bytearray()
            elif line:
                break
        self._line = bytearray()
        try:
            text = bytes(line).decode()
        except UnicodeError:
            text = ""
        if len(text) < 6 or text[-5] != "|" or text[-4:] != "%04X" % crc16(text[:-5]):
            raise ValueError("checksum")
        return text[:-5]

    def reply(self, text):
        """Send one reply."""
        self._write("~%s|%04X\n" % (text, crc16(text)))


def _usb():
    poller = select.poll()
    poller.register(sys.stdin, select.POLLIN)
    stdin = sys.stdin.buffer  # bytes: text would raise at one that is no UTF-8

    def read():
        for _ in poller.ipoll(0):
            return stdin.read(1)
        return None

    return read, sys.stdout.write
