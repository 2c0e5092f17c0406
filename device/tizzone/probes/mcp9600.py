"""MCP9600, MCP9601: thermocouple to digital, linearised inside, I2C.

Wiring: 3.3 V, GND, SDA, SCL with pull-ups; 100 kHz at most (datasheet DS20005426 p.1), so every chip on
this bus runs at 100 kHz. Pin map: "address" 0x60..0x67 (ADDR pin), type (B E J K N R S T).
Limits: +-0.5 K typical, +-1.5 K at most for the hot junction; types K J N S R E B serve 480 °C, T ends at
400 °C.
Only the MCP9601 sees an open or shorted probe; the MCP9600 reports no more than an input out of range, and
an open probe may read like a cold one: use it beside a second probe only. Variants with the letters L and
RL are
coarser (4 and 8 K).
Conversion: 16 bits 80 ms (from memory) and 63 ms for the cold junction at 0.25 K; 18 bits would take 320 ms,
longer than a tick. The update flag tells a new result: none, and the Reading's serial stands still.
"""

from tizzone.probes.bus import i2c_bus, read_register, signed, write_register
from tizzone.probes.reading import (
    GARBLED,
    NONE,
    OPEN,
    RANGE,
    SHORT_GROUND,
    SILENT,
    WRONG_CHIP,
    Reading,
    level_fault,
)

# Register 05h, bits 6:4: position in this string (datasheet, register 5-6).
TYPES = "KJTNSEBR"
RANGE_C = {
    "K": (-200, 1372), "J": (-150, 1200), "T": (-200, 400), "N": (-150, 1300),
    "S": (250, 1664), "E": (-200, 1000), "B": (1000, 1800), "R": (250, 1664),
}  # fmt: skip
ACCURACY_K = 1.5  # maximum, DS20005426 p.1
RESOLUTION_K = 0.2  # 16 bits: 8 µV of type K (from memory); the register shows 0.0625 K
DETECTS = ("open", "short_ground")  # the MCP9601 only
CONVERSION_MS = 150
IDENTITIES = {"mcp9600": 0x40, "mcp9601": 0x41}

_HOT = 0x00
_COLD = 0x02
_STATUS = 0x04
_SENSOR = 0x05
_DEVICE = 0x06
_IDENTITY = 0x20
_DEVICE_VALUE = 0xA0  # cold junction 0.25 K, 16 bits, normal mode (registers 5-7)
_UPDATED = 0x40


def build(spec, buses):
    """The probe of a pin map entry: chip, bus, address, type."""
    i2c = i2c_bus(spec["bus"], buses)
    address = spec.get("address", 0x67)
    return MCP9600(i2c, address, Reading(), spec.get("type", "K"), spec["chip"])


class MCP9600:
    """One chip on an I2C bus; `reading` is filled in place."""

    period_ms = CONVERSION_MS

    def __init__(self, i2c, address, reading, type="K", chip="mcp9600"):
        if len(type) != 1 or type not in TYPES:
            raise ValueError("MCP9600: type %s is not supported (%s are)" % (type, TYPES))
        if chip not in IDENTITIES or not 0x60 <= address <= 0x67:
            raise ValueError("MCP9600: chip mcp9600 or mcp9601, address 0x60 to 0x67")
        self.i2c = i2c
        self.address = address
        self.reading = reading
        self.identity = IDENTITIES[chip]
        self.sees_open = chip == "mcp9601"
        self.low_mc = min(RANGE_C[type][0], -50) * 1000
        self.high_mc = RANGE_C[type][1] * 1000
        self.sensor = bytearray((_SENSOR, TYPES.index(type) << 4))  # no filter: conditioning does that
        self.device = bytearray((_DEVICE, _DEVICE_VALUE))
        self.clear = bytearray((_STATUS, 0))
        self.hot = bytearray(2)
        self.cold = bytearray(2)
        self.one = bytearray(1)

    def configure(self):
        """Write type and resolution. False when nobody acknowledges."""
        return write_register(self.i2c, self.address, self.sensor) and write_register(
            self.i2c, self.address, self.device
        )

    def check(self):
        """Set the chip up; 0, or the fault when it is missing or is another one (register 20h)."""
        if not read_register(self.i2c, self.address, _IDENTITY, self.cold):
            return SILENT
        if self.cold[0] != self.identity:
            fault = level_fault(self.cold[0] * 257, self.cold[1] * 257)
            return fault if fault else WRONG_CHIP
        if not self.configure():
            return SILENT
        return self.settings_fault()

    def settings_fault(self):
        """NONE when both configuration registers read back as written."""
        if not read_register(self.i2c, self.address, _SENSOR, self.one):
            return SILENT
        first = self.one[0]
        if not read_register(self.i2c, self.address, _DEVICE, self.one):
            return SILENT
        if self.one[0] == _DEVICE_VALUE and first == self.sensor[1]:
            return NONE
        fault = level_fault(self.one[0] * 257, first * 257)
        return fault if fault else WRONG_CHIP

    def read(self):
        """Read the newest result; the Reading stays as it is while there is none."""
        r = self.reading
        fault = self.settings_fault()
        if fault:
            r.begin(0, 0, fault)
            if fault != SILENT:
                self.configure()  # a chip that lost its supply for a moment (both registers at 0)
            return r
        if not read_register(self.i2c, self.address, _STATUS, self.one):
            r.begin(0, 0, SILENT)
            return r
        status = self.one[0]
        if not status & _UPDATED:
            return r
        if not (
            read_register(self.i2c, self.address, _HOT, self.hot)
            and read_register(self.i2c, self.address, _COLD, self.cold)
            and write_register(self.i2c, self.address, self.clear)
        ):
            r.begin(0, 0, SILENT)
            return r
        self.decode(status, (self.hot[0] << 8) | self.hot[1], (self.cold[0] << 8) | self.cold[1])
        return r

    def decode(self, status, hot, cold):
        """Fill the Reading from the status byte and two 16-bit registers of 0.0625 K."""
        r = self.reading
        r.begin(hot, cold, self.status_fault(status))
        if r.fault == GARBLED:
            return
        junction_mc = signed(cold, 16) * 125 >> 1
        if junction_mc < -40000 or junction_mc > 125000:  # the chip's own range
            r.fault = r.fault if r.fault else RANGE
            return
        r.junction_mc = junction_mc
        if r.fault:
            return
        value_mc = signed(hot, 16) * 125 >> 1
        if value_mc < self.low_mc or value_mc > self.high_mc:
            r.fault = RANGE
        else:
            r.value_mc = value_mc

    def status_fault(self, status):
        """Fault code of register 04h: bit 4 input range (9600) or open (9601), bit 5 short (9601)."""
        if self.sees_open:
            if status & 0x10:
                return OPEN
            if status & 0x20:
                return SHORT_GROUND
        elif status & 0x10:
            return RANGE
        # Bits 3..0 are alerts, which are never switched on here.
        return GARBLED if status & 0x2F else NONE
