"""MAX6675: type K thermocouple to digital, 12 bits, read-only SPI, one fault bit.

Wiring: 3.0..5.5 V (upper figure from memory; use 3.3 V), GND, SCK, SO to MISO, CS; no MOSI. SPI mode 0. T-
must be
connected to GND, or the open-circuit detection does not work (datasheet 19-2235).
Limits: 0..+1023.75 °C, +-8 codes (+-2 K) from 0 to 700 °C at a board of -20..+85 °C: type K only; it can serve
480 °C, BUT it sees no short circuit: a shorted probe reads the board's temperature, and only the rules of
the supervisor
notice. The chip does not tell its own temperature, so its straight line is corrected for a board at
25 °C: +-0.3 K between 5 and 50 °C, and the box temperature must be watched by another probe's chip.
If the second half of its frames is lost as zeros it reads up to 8 K low; only the unchanging code tells.
Conversion 170 ms typical, 220 ms at most (from memory); CS low aborts the running one: not oftener than 220 ms.
"""

from tizzone.probes.bus import shift, spi_bus
from tizzone.probes.reading import GARBLED, NO_VALUE_MC, OPEN, RANGE, SILENT, STUCK, WRONG_CHIP, Reading
from tizzone.probes.thermocouple import Thermocouple

RANGE_C = {"K": (0, 1000)}
ACCURACY_K = 2.0  # 8 codes of 0.25 K, 0..700 °C, datasheet electrical characteristics
RESOLUTION_K = 0.25
DETECTS = ("open",)
CONVERSION_MS = 220

# Datasheet, "Operation": V = 41 µV/K x (T_R - T_AMB); a code is 0.25 K = 10250 nV.
NV_PER_CODE = 10250
ASSUMED_BOARD_MC = 25000


def build(spec, buses):
    """The probe of a pin map entry: bus, cs."""
    from machine import Pin

    spi = spi_bus(spec["bus"], 0, 1000000, buses)
    cs = Pin(spec["cs"], Pin.OUT, value=1)
    return MAX6675(spi, cs, Reading(), spec.get("type", "K"))


class MAX6675:
    """One chip on an SPI bus. `cs` is an output Pin at 1; `reading` is filled in place."""

    period_ms = CONVERSION_MS

    def __init__(self, spi, cs, reading, type="K"):
        if type != "K":
            raise ValueError("MAX6675: type %s is not supported (K is)" % type)
        self.spi = spi
        self.cs = cs
        self.reading = reading
        self.couple = Thermocouple(type)
        self.offset_nv = self.couple.emf_nv(ASSUMED_BOARD_MC) - ASSUMED_BOARD_MC * 41
        self.buf = bytearray(2)

    def check(self):
        """0, or the fault of a chip that is missing or is another one (read once, at start).

        The chip has no identity. Two more bytes are clocked: this chip leaves its output undriven after
        16 bits, a MAX31855 goes on with a plausible temperature of its own.
        """
        four = bytearray(4)
        if not shift(self.spi, self.cs, None, four):
            return SILENT
        lo = (four[2] << 8) | four[3]
        self.decode((four[0] << 8) | four[1])
        fault = self.reading.fault
        if fault in (SILENT, STUCK):
            return fault
        if fault == GARBLED or (0 < lo < 0xFFFF and lo & 8 == 0):
            return WRONG_CHIP
        return 0

    def read(self):
        """Read one frame; returns the Reading."""
        buf = self.buf
        if shift(self.spi, self.cs, None, buf):
            self.decode((buf[0] << 8) | buf[1])
        else:
            self.reading.begin(0xFFFF, 0xFFFF, SILENT)
        return self.reading

    def decode(self, word):
        """Fill the Reading from the 16 bits: D14..D3 code, D2 open, D15 = D1 = 0, D0 undriven."""
        r = self.reading
        r.begin(word, word)
        if word == 0xFFFF:
            r.fault = SILENT
        elif word <= 1:  # 0.00 °C to the last digit is taken for a dead chip
            r.fault = STUCK
        elif word & 0x8002:
            r.fault = GARBLED
        elif word & 4:
            r.fault = OPEN
        elif word >> 3 == 4095:
            r.fault = RANGE  # the top code: anything hotter reads the same
        else:
            r.value_mc = self.couple.temperature_mc((word >> 3) * NV_PER_CODE + self.offset_nv)
            if r.value_mc == NO_VALUE_MC:
                r.fault = RANGE
