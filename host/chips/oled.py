"""Fake SSD1306 and SH1106 displays: they take the real I2C bytes and give what the glass shows.

Commands from the SSD1306 datasheet rev. 1.1 (table 9-1, 8.1.5 for the control byte) and the SH1106 datasheet rev. 2.3
(command table). Whatever the chip would not understand is noted in `wrong`, never ignored.
"""

from __future__ import annotations

import numpy as np

WIDTH, HEIGHT, PAGES = 128, 64, 8
# First byte of a command with values after it: how many. Where the chips differ, each has its own.
LONG = {0x81: 1, 0xA8: 1, 0xD3: 1, 0xD5: 1, 0xD9: 1, 0xDA: 1, 0xDB: 1}
LONG_OF = {"ssd1306": {0x20: 1, 0x8D: 1}, "sh1106": {0xAD: 1}}
COLUMNS = {"ssd1306": 128, "sh1106": 132}
SHOWN_FROM = {"ssd1306": 0, "sh1106": 2}  # of an upright SH1106 module, the glass is in the middle of its columns


class FakeOled:
    """One display. `image()` gives 64x128 booleans; `fault` "silent": nothing acknowledges."""

    faults = ("silent",)

    def __init__(self, chip: str) -> None:
        if chip not in COLUMNS:
            raise ValueError(f"no display chip {chip!r} (known: {', '.join(COLUMNS)})")
        self.chip = chip
        self.long = LONG | LONG_OF[chip]
        self.fault: str | None = None
        self.wrong: list[str] = []
        self.transfers: list[int] = []  # bytes of each, for who asks how long the bus was taken
        self.restart()

    def restart(self) -> None:
        """Power-up: display off, memory of any content (ones here), settings as after reset."""
        self.memory = np.full((PAGES, COLUMNS[self.chip]), 0xFF, np.uint8)
        self.page = self.column = 0
        self.is_on = self.is_inverted = self.is_all_on = False
        self.values = {0xA8: 63, 0xD3: 0, 0x81: 0x7F, 0x20: 2, 0x8D: 0x10, 0xAD: 0x8A, 0xDA: 0x12}
        self.start_line = 0
        self.is_remapped = self.is_scanned_up = False

    def set_fault(self, name: str | None) -> None:
        """Switch a fault on (a name of `faults`) or off (None)."""
        if name is not None and name not in self.faults:
            raise ValueError(f"a display has no fault {name!r}; it has {', '.join(self.faults)}")
        self.fault = name

    def i2c_write(self, data: bytes) -> int:
        """One transfer: a control byte, then commands or picture data to its end."""
        if self.fault == "silent":
            raise OSError(5, "no acknowledge")
        self.transfers.append(len(data))
        control, body = data[0], data[1:]
        if control == 0x40:
            self._store(body)
        elif control == 0x00:
            self._obey(list(body))
        else:
            self.wrong.append(f"control byte {control:#04x}")
        return len(data)

    def i2c_read(self, count: int) -> bytes:
        """The status byte: bit 6 = display off."""
        if self.fault == "silent":
            raise OSError(5, "no acknowledge")
        return bytes([0x00 if self.is_on else 0x40]) * count

    def _store(self, body):
        for value in body:
            if self.column >= COLUMNS[self.chip]:
                self.wrong.append(f"data beyond column {self.column}")
                return
            self.memory[self.page, self.column] = value
            self.column += 1
        if self.chip == "ssd1306" and self.column == WIDTH:
            self.column = 0  # page addressing: the pointer goes round (10.1.3)

    def _obey(self, body):
        while body:
            code = body.pop(0)
            if code in self.long:
                if not body:
                    self.wrong.append(f"command {code:#04x} without its value")
                    return
                self.values[code] = body.pop(0)
            elif code < 0x10:
                self.column = self.column & 0xF0 | code
            elif code < 0x20:
                self.column = self.column & 0x0F | (code & 0x0F) << 4
            elif 0x40 <= code < 0x80:
                self.start_line = code & 63
            elif 0xB0 <= code < 0xB8:
                self.page = code & 7
            elif code in (0xA0, 0xA1):
                self.is_remapped = code == 0xA1
            elif code in (0xC0, 0xC8):
                self.is_scanned_up = code == 0xC8
            elif code in (0xA4, 0xA5):
                self.is_all_on = code == 0xA5
            elif code in (0xA6, 0xA7):
                self.is_inverted = code == 0xA7
            elif code in (0xAE, 0xAF):
                self.is_on = code == 0xAF
            else:
                self.wrong.append(f"{self.chip} has no command {code:#04x}")

    @property
    def is_lit(self) -> bool:
        """Display on, and its own supply of the glass running."""
        pump = self.values[0x8D] & 0x04 if self.chip == "ssd1306" else self.values[0xAD] & 0x01
        return self.is_on and bool(pump)

    def image(self) -> np.ndarray:
        """What the glass shows, 64 rows of 128 points, True = lit; A1 and C8 are upright."""
        if not self.is_lit:
            return np.zeros((HEIGHT, WIDTH), bool)
        if self.is_all_on:
            return np.ones((HEIGHT, WIDTH), bool)
        first = SHOWN_FROM[self.chip]
        rows = np.unpackbits(self.memory[:, first : first + WIDTH, None], axis=2, bitorder="little")
        picture = rows.transpose(0, 2, 1).reshape(HEIGHT, WIDTH).astype(bool)
        picture = np.roll(picture, -self.start_line - self.values[0xD3], axis=0)
        if not self.is_remapped:
            picture = picture[:, ::-1]
        if not self.is_scanned_up:
            picture = picture[::-1]
        return ~picture if self.is_inverted else picture
