"""Four bands of 16 rows on a picture of 128x64 points; one band is drawn in one bounded piece.

A band is a tuple (kind, text, inverted):
  TALL   up to 16 letters, twice as high as framebuf's: strokes of two points both ways, read from arm's length
  WIDE   up to 8 letters, twice as high and twice as wide
  BAR    "pm|label": a bar of so many per mille and up to 5 letters beside it
  BIG    "number|above|below": three digits of 30 rows over two bands, and two TALL texts of 9 letters beside them
  UNDER  the band below a BIG one: nothing to draw
"""

from micropython import const

TALL, WIDE, BAR, BIG, UNDER = range(5)
_WIDTH = const(128)
_BESIDE_X = const(56)  # of the texts beside the digits
_BAR_W = const(86)
_CELL = const(19)
# Every bit of four doubled: 0b0101 -> 0b00110011.
_DOUBLE = b"\x00\x03\x0c\x0f\x30\x33\x3c\x3f\xc0\xc3\xcc\xcf\xf0\xf3\xfc\xff"
# Strokes of a digit: top, upper left, upper right, middle, lower left, lower right, bottom, from bit 0 on.
_DIGITS = b"\x77\x24\x5d\x6d\x2e\x6b\x7b\x25\x7f\x6f"
_DASH = const(0x08)
# x, y, width, height of each in a cell of 16x30; bytes: tuples would cost the heap ten times as much.
_STROKES = (
    b"\x01\x00\x0e\x05\x00\x01\x04\x0e\x0c\x01\x04\x0e\x01\x0c\x0e\x05\x00\x0f\x04\x0e\x0c\x0f\x04\x0e\x01\x19\x0e\x05"
)


class Canvas:
    """`pixels` and `frame`: the picture; `strip` and `line`: 128 bytes and their frame, one row of letters."""

    def __init__(self, pixels, frame, strip, line):
        self.pixels = pixels
        self.frame = frame
        self._strip = strip
        self._line = line

    def draw(self, number, band):
        """Draw band 0..3; returns the pages that it has changed, a bit each."""
        kind, text, inverted = band
        if kind == UNDER:
            return 0
        pages = 3 << 2 * number
        page = 2 * number
        if kind == BIG:
            self._big(page, text)
            return pages | pages << 2
        if kind == BAR:
            self._bar(page, text)
        else:
            self._letters(page, text, 0, 2 if kind == WIDE else 1, _WIDTH)
        if inverted:
            pixels = self.pixels
            for i in range(page * _WIDTH, (page + 2) * _WIDTH):
                pixels[i] ^= 0xFF
        return pages

    def _letters(self, page, text, x, wide, width):
        """`text` twice as high, each column `wide` times, over `width` columns from x on."""
        self._line.fill(0)
        self._line.text(text, 0, 0, 1)
        strip, pixels, double = self._strip, self.pixels, _DOUBLE
        at = page * _WIDTH + x
        for column in range(width // wide):
            bits = strip[column]
            upper, lower = double[bits & 15], double[bits >> 4]
            for _ in range(wide):
                pixels[at] = upper
                pixels[at + _WIDTH] = lower
                at += 1

    def _bar(self, page, text):
        share_pm, _, label = text.partition("|")
        y = page * 8
        self._letters(page, label, _BAR_W + 2, 1, _WIDTH - _BAR_W - 2)
        frame = self.frame
        frame.fill_rect(0, y, _BAR_W + 2, 16, 0)
        frame.rect(0, y + 2, _BAR_W, 13, 1)
        frame.fill_rect(2, y + 4, (_BAR_W - 4) * int(share_pm) // 1000, 9, 1)

    def _big(self, page, text):
        number, above, below = text.split("|")
        self._letters(page, above, _BESIDE_X, 1, _WIDTH - _BESIDE_X)
        self._letters(page + 2, below, _BESIDE_X, 1, _WIDTH - _BESIDE_X)
        frame = self.frame
        frame.fill_rect(0, page * 8, _BESIDE_X, 32, 0)
        x = 0
        for digit in number:
            strokes = _DIGITS[int(digit)] if digit.isdigit() else _DASH if digit == "-" else 0
            shift = 6 if digit == "1" else 0  # to the middle of its cell
            for i in range(0, 28, 4):
                if strokes >> (i >> 2) & 1:
                    left, top, wide, high = _STROKES[i : i + 4]
                    frame.fill_rect(x + left - shift, page * 8 + 1 + top, wide, high, 1)
            x += _CELL
