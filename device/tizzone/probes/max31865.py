"""MAX31865: platinum resistance (Pt100, Pt1000) to digital, 15 bits of R/Rref, SPI with registers.

Wiring: 3.3 V, GND, SCK, MOSI (SDI), MISO (SDO), CS; the board's solder links must match "wires" 2, 3 or 4.
SPI mode 1,
5 MHz at most (clock from memory). Pin map: type "pt100" or "pt1000", "wires", "rref_ohm" (400 or 430 for Pt100,
ten times that for Pt1000), "hz" 50 or 60.
Limits: the chip adds about 0.5 K (its 0.5 °C of the front page, from memory), the sensor its class (B: 0.3
K + 0.5 %). With 400 ohm the code
reaches 850 °C. THE SENSOR IS THE LIMIT: a film element ends near 500 °C (from memory) and drifts there; only a
wire-wound class B element rated to 600 °C can serve 480 °C. Two wires add their own resistance (0.4 ohm is
1 K).
Conversion 21 ms at most in continuous mode. A fault cycle (open FORCE, open or shorted RTDIN) runs at
start and every 40 readings.
"""

from tizzone.probes.bus import echo_fault, shift, spi_bus
from tizzone.probes.reading import (
    GARBLED,
    NO_VALUE_MC,
    NONE,
    NONE_YET,
    OPEN,
    RANGE,
    SHORT_GROUND,
    SHORT_SUPPLY,
    SILENT,
    STUCK,
    WRONG_CHIP,
    Reading,
)
from tizzone.probes.rtd import Platinum

RANGE_C = {"pt100": (-50, 600), "pt1000": (-50, 600)}
ACCURACY_K = 0.5
RESOLUTION_K = 0.035  # one code at 0 °C with Rref = 4 x R0; 0.04 K at 500 °C
DETECTS = ("open", "short_ground", "short_supply")
CONVERSION_MS = 21

_VBIAS_AUTO = 0xC0
_FAULT_CYCLE = 0x84  # VBIAS on, automatic fault-detection cycle
_3WIRE = 0x10
_50HZ = 0x01
_CYCLE_EVERY = 40  # readings


def build(spec, buses):
    """The probe of a pin map entry: bus with mosi, cs, type, wires, rref_ohm, hz."""
    from machine import Pin

    spi = spi_bus(spec["bus"], 1, 1000000, buses)
    cs = Pin(spec["cs"], Pin.OUT, value=1)
    kind = spec.get("type", "pt100")
    rref = spec.get("rref_ohm", 4000 if kind == "pt1000" else 400)
    return MAX31865(spi, cs, Reading(), kind, rref, spec.get("wires", 3), spec.get("hz", 50))


class MAX31865:
    """One chip on an SPI bus. `cs` is an output Pin at 1; `reading` is filled in place."""

    period_ms = 100  # a fault cycle must have ended before the next reading

    def __init__(self, spi, cs, reading, type="pt100", rref_ohm=400, wires=3, hz=50):
        if type not in RANGE_C:
            raise ValueError("MAX31865: type %s is not supported (pt100 and pt1000 are)" % type)
        r0_ohm = 1000 if type == "pt1000" else 100
        if not 3 * r0_ohm < rref_ohm <= 5 * r0_ohm:
            raise ValueError("MAX31865: rref_ohm must be 3 to 5 times R0 (%d ohm)" % r0_ohm)
        if wires not in (2, 3, 4) or hz not in (50, 60):
            raise ValueError("MAX31865: wires must be 2, 3 or 4, hz 50 or 60")
        self.spi = spi
        self.cs = cs
        self.reading = reading
        self.platinum = Platinum(rref_ohm, r0_ohm)
        options = (_3WIRE if wires == 3 else 0) | (_50HZ if hz == 50 else 0)
        self.run = _VBIAS_AUTO | options
        self.cycle = _FAULT_CYCLE | options
        self.expected = self.run
        self.reads = 0
        # Thresholds at the ends of the table: a lead that opens or shorts between two cycles passes them.
        high = min(32767, self.platinum.code_high) << 1
        low = self.platinum.code_low << 1
        self.limits = bytearray((0x83, high >> 8, high & 255, low >> 8, low & 255))
        self.order = bytearray((0x80, 0))
        self.drop2 = bytearray(2)
        self.drop5 = bytearray(5)
        self.ask = bytearray(9)  # address 00h, then 8 registers
        self.buf = bytearray(9)

    def write_config(self, value):
        """Write the configuration register."""
        self.order[1] = value
        shift(self.spi, self.cs, self.order, self.drop2)

    def configure(self):
        """Thresholds, then clear faults and run."""
        shift(self.spi, self.cs, self.limits, self.drop5)
        # Writing the clear bit needs bits 5, 3 and 2 at 0 (datasheet p.13).
        self.write_config(self.run | 0x02)
        self.expected = self.run
        self.reads = 0

    def check(self):
        """Set the chip up; 0, or the fault when it is missing or does not keep what was written."""
        self.configure()
        fault = self.read().fault
        self.write_config(self.cycle)  # answered by the next reading
        self.expected = self.cycle & 0xF3
        return fault if fault in (SILENT, STUCK, WRONG_CHIP) else 0

    def read(self):
        """Read all 8 registers at once; returns the Reading."""
        if shift(self.spi, self.cs, self.ask, self.buf):
            self.decode(self.buf)
        else:
            self.reading.begin(0xFFFF, 0xFFFF, SILENT)
        self.after(self.reading.fault)
        return self.reading

    def after(self, fault):
        """What the chip must do next: run again, a fault cycle, or be set up anew."""
        if fault == WRONG_CHIP:
            self.configure()
        elif self.expected != self.run or fault:
            # Fault bits are latched in the chip: clear them, so that a probe put back is seen.
            self.write_config(self.run | 0x02)
            self.expected = self.run
        else:
            self.reads += 1
            if self.reads >= _CYCLE_EVERY:
                self.reads = 0
                self.write_config(self.cycle)
                self.expected = self.cycle & 0xF3  # the cycle bits read 0 when it has ended

    def decode(self, buf):
        """Fill the Reading from 9 bytes: one that has no meaning, then registers 00h..07h."""
        r = self.reading
        word = (buf[2] << 8) | buf[3]
        r.begin(word, buf[8])
        r.fault = self.frame_fault(buf)
        if r.fault:
            return
        if word == 0:
            r.fault = NONE_YET  # before the first conversion
            return
        r.value_mc = self.platinum.temperature_mc(word >> 1)
        if r.value_mc == NO_VALUE_MC:
            r.fault = RANGE

    def frame_fault(self, buf):
        """Fault code of the registers: bus, settings, then the fault status register 07h."""
        if buf[1] & 0xFD != self.expected or not self.has_limits(buf):
            return echo_fault(buf)
        status = buf[8]
        if status & 0x04:  # over- or undervoltage
            return SHORT_SUPPLY
        if status & 0x40:  # below the low threshold
            return SHORT_GROUND
        if status & 0x80 or status & 0x30:  # above the high threshold; REFIN-, FORCE- open
            return OPEN
        if status & 0x08:  # RTDIN-: FORCE- open or shorted low
            return SHORT_GROUND
        return GARBLED if status or buf[3] & 1 else NONE

    def has_limits(self, buf):
        """True when the thresholds read back as written."""
        for i in range(1, 5):
            if buf[3 + i] != self.limits[i]:
                return False
        return True
