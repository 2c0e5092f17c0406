"""What the panel's display shows, as PNG, SVG or text, from a frame of 64x128 booleans."""

from __future__ import annotations

import struct
import zlib

import numpy as np

SCALE = 3  # screen points a point of the display
MARGIN = 4  # points of dark glass around the frame
LIT, DARK = 0xFF, 0x14  # grey values


def png(frame: np.ndarray, scale: int = SCALE) -> bytes:
    """Bytes of a grey PNG (ISO/IEC 15948): signature, IHDR, IDAT, IEND."""
    height, width = frame.shape
    dark = bytes([DARK]) * (scale * (width + 2 * MARGIN))
    rows = [dark] * (scale * MARGIN)
    for row in frame:
        line = bytes([DARK]) * (scale * MARGIN)
        line += b"".join(bytes([LIT if point else DARK]) * scale for point in row)
        rows += [line + bytes([DARK]) * (scale * MARGIN)] * scale
    rows += [dark] * (scale * MARGIN)
    header = struct.pack(">IIBBBBB", len(dark), len(rows), 8, 0, 0, 0, 0)
    body = zlib.compress(b"".join(b"\0" + row for row in rows), 9)
    return b"\x89PNG\r\n\x1a\n" + _chunk(b"IHDR", header) + _chunk(b"IDAT", body) + _chunk(b"IEND", b"")


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def svg(frame: np.ndarray, scale: int = SCALE) -> str:
    """The same as an SVG text: one path, a run of lit points each."""
    height, width = frame.shape
    runs = []
    for y, row in enumerate(frame):
        x = 0
        while x < width:
            start = x
            while x < width and row[x]:
                x += 1
            if x > start:
                runs.append(f"M{start + MARGIN} {y + MARGIN}h{x - start}v1h-{x - start}z")
            x += 1
    wide, high = width + 2 * MARGIN, height + 2 * MARGIN
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide * scale}" height="{high * scale}" '
        f'viewBox="0 0 {wide} {high}"><rect width="{wide}" height="{high}" fill="#141414"/>'
        f'<path fill="#fff" d="{"".join(runs)}"/></svg>\n'
    )


def text(frame: np.ndarray) -> str:
    """Half-height block letters for a terminal."""
    blocks = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
    return "\n".join(
        "".join(blocks[bool(above), bool(below)] for above, below in zip(frame[y], frame[y + 1], strict=True))
        for y in range(0, len(frame), 2)
    )


# Dots of a braille cell (Unicode, block 2800): two columns, four rows.
DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))


def braille(frame: np.ndarray) -> str:
    """Braille cells, half as wide and a quarter as high as the frame: 64x16 characters fit any terminal."""
    lines = []
    for y in range(0, len(frame), 4):
        cells = (
            sum(DOTS[row][column] for row in range(4) for column in range(2) if frame[y + row][x + column])
            for x in range(0, len(frame[y]), 2)
        )
        lines.append("".join(chr(0x2800 + cell) for cell in cells))
    return "\n".join(lines)
