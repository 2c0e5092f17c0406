"""A line of the protocol on the laptop's side: `text*HHHH` out, `~text*HHHH` back (device/tizzone/link/frames.py).

The checksum is CRC-16/CCITT-FALSE of the text, four capital hex digits.
"""

import binascii

LONGEST = 4096  # bytes without a line end: not our board


def crc16(text: str) -> int:
    """CRC-16/CCITT-FALSE of ASCII text (start 0xFFFF), by the standard library."""
    return binascii.crc_hqx(text.encode("ascii", "replace"), 0xFFFF)


def with_checksum(line: str) -> str:
    """The line with `*HHHH`, added unless it ends with a star and four characters already."""
    return line if line[-5:-4] == "*" else f"{line}*{crc16(line):04X}"


def on_wire(line: str) -> bytes:
    """The bytes of a line to the board: checksum added where it is missing, line end."""
    return (with_checksum(line) + "\n").encode("ascii", "replace")


def unframed(line: str) -> str | None:
    """The text of a whole reply, None for anything else. Noise that stands before the mark is skipped."""
    _, mark, framed = line.rpartition("~")
    text, star, check = framed.strip().rpartition("*")
    return text if mark and star and check == f"{crc16(text):04X}" else None


class LineCutter:
    """Cuts the bytes that come into whole lines; `rest` is what has no line end yet."""

    def __init__(self) -> None:
        self.rest = b""

    def lines(self, data: bytes) -> list[str]:
        """The lines that `data` completes, as text without their ends."""
        *whole, self.rest = (self.rest + data).split(b"\n")
        if len(self.rest) > LONGEST:
            self.rest = b""
        return [raw.decode("ascii", "replace").rstrip("\r") for raw in whole]
