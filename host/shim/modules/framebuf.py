"""`framebuf` for CPython: MONO_VLSB alone, what the panel uses and no more. MicroPython itself uses its own.

Letters are those of MicroPython's font_petme128_8x8.h (MIT licence); tests compare both point by point.
"""

from framefont import COLUMNS

MONO_VLSB = 0


class FrameBuffer:
    """A picture on `buffer`: a page of 8 rows after the other, a byte a column, lowest bit on top."""

    def __init__(self, buffer, width, height, form):
        if form != MONO_VLSB:
            raise ValueError("only MONO_VLSB is simulated")
        if width < 1 or height < 1 or len(buffer) < (height + 7) // 8 * width:
            raise ValueError("buffer too small")
        self._buffer = buffer
        self._width = width
        self._height = height

    def pixel(self, x, y, colour=None):
        """Read (no colour) or set a point; outside: nothing."""
        if not (0 <= x < self._width and 0 <= y < self._height):
            return None
        at, bit = (y >> 3) * self._width + x, 1 << (y & 7)
        if colour is None:
            return 1 if self._buffer[at] & bit else 0
        if colour:
            self._buffer[at] |= bit
        else:
            self._buffer[at] &= ~bit & 0xFF
        return None

    def fill(self, colour):
        """Every point."""
        self.fill_rect(0, 0, self._width, self._height, colour)

    def fill_rect(self, x, y, width, height, colour):
        """A filled rectangle, cut at the edges."""
        for row in range(max(0, y), min(self._height, y + height)):
            at, bit = (row >> 3) * self._width, 1 << (row & 7)
            for column in range(max(0, x), min(self._width, x + width)):
                if colour:
                    self._buffer[at + column] |= bit
                else:
                    self._buffer[at + column] &= ~bit & 0xFF

    def rect(self, x, y, width, height, colour):
        """An outline one point thick."""
        self.fill_rect(x, y, width, 1, colour)
        self.fill_rect(x, y + height - 1, width, 1, colour)
        self.fill_rect(x, y, 1, height, colour)
        self.fill_rect(x + width - 1, y, 1, height, colour)

    def text(self, text, x, y, colour=1):
        """Letters of 8x8 points, cut at the edges."""
        for letter in text:
            code = ord(letter)
            first = (code if 32 <= code <= 127 else 127) - 32
            for column in range(8):
                bits = COLUMNS[first * 8 + column]
                for row in range(8):
                    if bits >> row & 1:
                        self.pixel(x + column, y + row, colour)
            x += 8
