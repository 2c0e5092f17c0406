"""ADS1115 with an AD8495 or AD8497: 16-bit converter on I2C reading a type K amplifier of 5 mV/K.

Wiring: both at 3.3 V and GND, SDA, SCL with pull-ups, amplifier OUT to an input; 100 nF there. Pin map:
{"chip": "ads1115", "bus": {"i2c": 0, "sda": 4, "scl": 5}, "address": 0x48, "channel": 0,
"vref_mv": 0}; address 0x48..0x4B by the ADDR pin.
Limits: the converter adds under 1 K; the amplifier is within 2 K from -25 to +400 °C (from memory): ITS-90
correction included, it is not stated above. IT CANNOT SERVE 480 °C as the controlling probe. It sees no
short circuit,
and an open probe only as an output at the supply.
Conversion 125 ms at 8 samples a second, the slowest rate: the most mains rejection. Continuous.
"""

from tizzone.probes.ad849x import Amplifier
from tizzone.probes.bus import i2c_bus, read_register, signed, write_register
from tizzone.probes.reading import NONE, RANGE, SILENT, WRONG_CHIP, Reading, level_fault

RANGE_C = {"K": (0, 400)}
ACCURACY_K = 3.0
RESOLUTION_K = 0.025  # 125 µV of 5 mV/K
DETECTS = ("open",)
CONVERSION_MS = 125

_CONVERSION = 0x00
_CONFIG = 0x01
# Single ended, +-4.096 V (125 µV a code), continuous, 8 samples a second, comparator off.
_SETTINGS = 0x4203
_OS = 0x8000  # reads as the converter's state
UV_PER_CODE = 125


def build(spec, buses):
    """The probe of a pin map entry: bus, address, channel, vref_mv."""
    i2c = i2c_bus(spec["bus"], buses)
    return ADS1115(
        i2c, spec.get("address", 0x48), Reading(), spec.get("type", "K"),
        spec.get("channel", 0), spec.get("vref_mv", 0),
    )  # fmt: skip


class ADS1115:
    """One input of the converter; `reading` is filled in place. Only one probe per converter:
    in continuous mode a second input would have to wait for the first."""

    period_ms = CONVERSION_MS

    def __init__(self, i2c, address, reading, type="K", channel=0, vref_mv=0):
        if not 0x48 <= address <= 0x4B or channel not in (0, 1, 2, 3):
            raise ValueError("ADS1115: address 0x48 to 0x4B, channel 0 to 3")
        self.i2c = i2c
        self.address = address
        self.reading = reading
        self.amplifier = Amplifier(type, vref_mv)
        self.config = _SETTINGS | channel << 12
        self.order = bytearray((_CONFIG, self.config >> 8, self.config & 0xFF))
        self.code = bytearray(2)
        self.echo = bytearray(2)

    def check(self):
        """Set the chip up; 0, or the fault when it is missing or does not keep what was written."""
        if not write_register(self.i2c, self.address, self.order):
            return SILENT
        if not read_register(self.i2c, self.address, _CONFIG, self.echo):
            return SILENT
        return self.echo_fault()

    def echo_fault(self):
        """NONE when the configuration register read back as written."""
        word = (self.echo[0] << 8) | self.echo[1]
        if word & ~_OS & 0xFFFF == self.config:
            return NONE
        fault = level_fault(word, word)
        return fault if fault else WRONG_CHIP

    def read(self):
        """Read the newest conversion; returns the Reading."""
        r = self.reading
        if not (
            read_register(self.i2c, self.address, _CONFIG, self.echo)
            and read_register(self.i2c, self.address, _CONVERSION, self.code)
        ):
            r.begin(0, 0, SILENT)
            return r
        fault = self.echo_fault()
        self.decode((self.code[0] << 8) | self.code[1], fault)
        if fault == WRONG_CHIP:
            write_register(self.i2c, self.address, self.order)  # it lost its supply for a moment
        return r

    def decode(self, word, fault=0):
        """Fill the Reading from the conversion register (two's complement, 125 µV)."""
        r = self.reading
        r.begin(word, 0, fault)
        if fault:
            return
        if word == 0x7FFF or word == 0x8000:
            r.fault = RANGE
        else:
            self.amplifier.fill(r, signed(word, 16) * UV_PER_CODE)
