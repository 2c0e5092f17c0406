"""MAX31856: any thermocouple to digital, 19 bits, linearised inside, mains filter, SPI with registers.

Wiring: 3.3 V, GND, SCK, MOSI (SDI), MISO (SDO), CS. SPI mode 1, 5 MHz at most. Insulated junction; 100 nF
across T+ and
T- at the chip. Pin map: type (B E J K N R S T), "hz" 50 or 60 (default 50), "average" 1, 2 or 4 (default 1).
Limits: full-scale and linearity error +-0.15 % of the type's span and +-0.7 K of the cold junction
(-20..+85 °C): for type K
at 480 °C about +-2.5 K; types K N J S R E B serve 480 °C, T ends at 400 °C. It sees an open
circuit and an input beyond its supply, not a short between the two wires.
Conversion about 100 ms in continuous mode, and 40 ms more for each averaged sample at 50 Hz (from memory).
"""

from tizzone.probes.bus import echo_fault, shift, signed, spi_bus
from tizzone.probes.reading import (
    NONE,
    NONE_YET,
    OPEN,
    RANGE,
    SHORT_SUPPLY,
    SILENT,
    STUCK,
    WRONG_CHIP,
    Reading,
)

# Datasheet, table of thermocouple types: code of CR1 is the position; ranges of its look-up table.
TYPES = "BEJKNRST"
RANGE_C = {
    "B": (250, 1820), "E": (-200, 1000), "J": (-210, 1200), "K": (-200, 1372),
    "N": (-200, 1300), "R": (-50, 1768), "S": (-50, 1768), "T": (-200, 400),
}  # fmt: skip
ACCURACY_K = 2.5  # 0.15 % of type K's span (1572 K: 2.4 K) and the 0.7 K junction, root sum square
RESOLUTION_K = 0.0078125
DETECTS = ("open", "short_supply")
CONVERSION_MS = 100

_CR0_AUTO = 0x80  # CR0: convert continuously
_CR0_OPEN = 0x10  # open-circuit detection for less than 5 kohm in the leads
_CR0_50HZ = 0x01
_CR0_SELF_CLEARING = 0x42  # one-shot and fault clear read back as 0


def build(spec, buses):
    """The probe of a pin map entry: bus with mosi, cs, type, hz, average."""
    from machine import Pin

    spi = spi_bus(spec["bus"], 1, 1000000, buses)
    cs = Pin(spec["cs"], Pin.OUT, value=1)
    return MAX31856(spi, cs, Reading(), spec.get("type", "K"), spec.get("hz", 50), spec.get("average", 1))


class MAX31856:
    """One chip on an SPI bus. `cs` is an output Pin at 1; `reading` is filled in place."""

    def __init__(self, spi, cs, reading, type="K", hz=50, average=1):
        if len(type) != 1 or type not in TYPES:
            raise ValueError("MAX31856: type %s is not supported (%s are)" % (type, TYPES))
        if hz not in (50, 60) or average not in (1, 2, 4):
            raise ValueError("MAX31856: hz must be 50 or 60, average 1, 2 or 4")
        self.spi = spi
        self.cs = cs
        self.reading = reading
        self.period_ms = CONVERSION_MS + 40 * (average - 1)
        self.low_mc = RANGE_C[type][0] * 1000
        self.high_mc = RANGE_C[type][1] * 1000
        self.cr0 = _CR0_AUTO | _CR0_OPEN | (_CR0_50HZ if hz == 50 else 0)
        self.cr1 = {1: 0x00, 2: 0x10, 4: 0x20}[average] | TYPES.index(type)
        # Filter, type and averaging may only change while conversion is off (from memory): two writes.
        self.stop = bytearray((0x80, self.cr0 & 0x7F, self.cr1))
        self.start = bytearray((0x80, self.cr0))
        self.drop2 = bytearray(2)
        self.drop3 = bytearray(3)
        self.ask = bytearray(17)  # address 00h, then 16 registers
        self.buf = bytearray(17)

    def configure(self):
        """Write type, filter and averaging, then start converting."""
        shift(self.spi, self.cs, self.stop, self.drop3)
        shift(self.spi, self.cs, self.start, self.drop2)

    def check(self):
        """Set the chip up; 0, or the fault when it is missing or does not keep what was written."""
        self.configure()
        fault = self.read().fault
        return fault if fault in (SILENT, STUCK, WRONG_CHIP) else 0

    def read(self):
        """Read all 16 registers at once; returns the Reading."""
        if shift(self.spi, self.cs, self.ask, self.buf):
            self.decode(self.buf)
        else:
            self.reading.begin(0xFFFF, 0xFFFF, SILENT)
        if self.reading.fault == WRONG_CHIP:
            self.configure()  # a chip that lost its supply for a moment comes back with other settings
        return self.reading

    def decode(self, buf):
        """Fill the Reading from 17 bytes: one that has no meaning, then registers 00h..0Fh."""
        r = self.reading
        hot_hi = (buf[13] << 8) | buf[14]  # LTCBH, LTCBM: 0.0625 K
        cold = (buf[11] << 8) | buf[12]  # CJTH, CJTL: 1/256 K
        r.begin(hot_hi, (buf[15] << 8) | buf[12])
        r.fault = self.frame_fault(buf)
        # (`in (a, b)` would build a tuple at each tick)
        if r.fault == SILENT or r.fault == STUCK or r.fault == WRONG_CHIP:
            return
        if r.fault == 0 and hot_hi == 0 and buf[15] == 0 and cold == 0:
            r.fault = NONE_YET  # registers as they are before the first conversion
            return
        r.junction_mc = signed(cold, 16) * 125 >> 5
        if r.fault:
            return
        # 19 bits of 0.0078125 K in 24 (datasheet, registers 0Ch..0Eh).
        value_mc = ((signed(hot_hi, 16) << 3) | (buf[15] >> 5)) * 125 >> 4
        if value_mc < self.low_mc or value_mc > self.high_mc:
            r.fault = RANGE
        else:
            r.value_mc = value_mc

    def frame_fault(self, buf):
        """Fault code of the registers: bus, settings, then the status register 0Fh."""
        if buf[1] & ~_CR0_SELF_CLEARING & 0xFF != self.cr0 or buf[2] != self.cr1:
            return echo_fault(buf)
        status = buf[16]
        if status & 0x01:
            return OPEN
        if status & 0x02:  # over- or undervoltage at the inputs
            return SHORT_SUPPLY
        return RANGE if status else NONE
