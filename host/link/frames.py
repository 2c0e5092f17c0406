"""A line of the protocol on the laptop's side: `text|HHHH` out, `~done text|HHHH` or `~refused: why|HHHH` back
(device/tizzone/link/frames.py). Here a reply is `ok text` or `no why`, as the board's commands have it.

The checksum is CRC-16/CCITT-FALSE of the text, four capital hex digits.
"""

import binascii

REFUSED = "refused: "
LONGEST = 4096  # bytes without a line end: not our board


def crc16(text: str) -> int:
    """CRC-16/CCITT-FALSE of ASCII text (start 0xFFFF), by the standard library."""
    return binascii.crc_hqx(text.encode("ascii", "replace"), 0xFFFF)


def with_checksum(line: str) -> str:
    """The line with `|HHHH`, added unless it ends with a bar and four characters already."""
    return line if line[-5:-4] == "|" else f"{line}|{crc16(line):04X}"


def on_wire(line: str, is_older: bool = False) -> bytes:
    """The bytes of a line to the board: checksum added where it is missing, line end. `is_older`: as boards took it
    before the lines had their bar."""
    framed = f"{line}*{crc16(line):04X}" if is_older else with_checksum(line)
    return (framed + "\n").encode("ascii", "replace")


def unframed(line: str) -> str | None:
    """The text of a whole reply, None for anything else. Noise that stands before the mark is skipped; a mark may stand
    in noise and in the text too, so the checksum says which one it was."""
    noise, mark, framed = line.partition("~")
    while mark:
        text, bar, check = framed.strip().rpartition("|")
        if bar and check == f"{crc16(text):04X}":
            return short(text)
        noise, mark, framed = framed.partition("~")
    return None


def unframed_older(line: str) -> str | None:
    """The same of a board that ends its lines with a star; it says ok and no on the wire."""
    _, mark, framed = line.rpartition("~")
    text, star, check = framed.strip().rpartition("*")
    return text if mark and star and check == f"{crc16(text):04X}" else None


def short(text: str) -> str:
    """`ok ...` or `no ...` of a reply as it came over the wire."""
    if text == "done" or text.startswith("done "):
        return "ok" + text[4:]
    return "no " + text[len(REFUSED) :] if text.startswith(REFUSED) else text


def spoken(reply: str) -> str:
    """The other way round: a reply as it came over the wire."""
    if reply == "ok" or reply.startswith("ok "):
        return "done" + reply[2:]
    return REFUSED + reply[3:] if reply.startswith("no ") else reply


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
