"""SSD1306 and SH1106 displays, 128x64, by I2C: page by page, so that one transfer is short. Never raises for a display
that is missing, loose or slow: the answer is False, and the caller tries again later.

Commands from the SSD1306 datasheet rev. 1.1 (command table, software flow) and the SH1106 datasheet rev. 2.3. Both take
page addressing; the SH1106 has 132 columns, of which the glass shows 2..129.
"""

from micropython import const

PAGES = 8
WIDTH = 128
CHIPS = ("ssd1306", "sh1106")
_COMMANDS = const(0x00)  # control byte: only commands follow
_DATA = const(0x40)  # control byte: only picture data follow
# Multiplex 1/64, no offset, start line 0, alternative COM pins, picture from memory, not inverted, clock as after
# reset. Then what differs: page addressing and charge pump of the SSD1306; the SH1106's converter and precharge.
_COMMON = b"\xa8\x3f\xd3\x00\x40\xda\x12\xa4\xa6\xd5\x80"
_OWN = {"ssd1306": b"\x20\x02\x8d\x14\xd9\xf1\xdb\x40", "sh1106": b"\xad\x8b\xd9\x22\xdb\x35"}
_FIRST_COLUMN = {"ssd1306": 0, "sh1106": 2}
_UPRIGHT = b"\xa1\xc8"
_TURNED = b"\xa0\xc0"  # by 180 degrees


class Oled:
    """`pixels`: 1024 bytes, a page of 128 columns after the other, lowest bit on top (framebuf's MONO_VLSB)."""

    def __init__(self, i2c, address, chip, pixels, turned=False, contrast=0x9F):
        """ValueError for a chip that is none of CHIPS."""
        if chip not in CHIPS:
            raise ValueError("panel: chip must be one of " + ", ".join(CHIPS))
        self.i2c = i2c
        self.address = address
        self._pixels = pixels
        way = _TURNED if turned else _UPRIGHT
        self._setup = bytes([_COMMANDS]) + _COMMON + way + _OWN[chip] + bytes([0x81, contrast & 0xFF, 0xAF])
        first = _FIRST_COLUMN[chip]
        self._place = bytearray([_COMMANDS, 0xB0, first & 15, 0x10 | first >> 4])
        self._line = bytearray(WIDTH + 1)
        self._line[0] = _DATA

    def setup(self):
        """Everything the chip must know, and display on. What it shows stays until the pages are sent."""
        return self._put(self._setup)

    def send(self, page):
        """One of the eight pages; about 3 ms at 400 kHz, 12 ms at 100 kHz."""
        self._place[1] = 0xB0 | page
        start = page * WIDTH
        self._line[1:] = self._pixels[start : start + WIDTH]
        return self._put(self._place) and self._put(self._line)

    def _put(self, data):
        try:
            self.i2c.writeto(self.address, data)
            return True
        except OSError:  # nobody acknowledges, or the bus is stuck
            return False
