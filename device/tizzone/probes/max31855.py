"""MAX31855: thermocouple to digital, 14 bits, read-only SPI, three fault bits.

Wiring: 3.0..3.6 V, GND, SCK, MISO (the chip's SO), CS; no MOSI. SPI mode 0, up to 5 MHz (clock
limit from memory); T+ and T- to the probe, insulated junction only: a grounded one trips
"short_ground". 10 nF across T+ and T- at the chip. The last letter of the part is its type (K, J,
N, T, S ...): `type` in the pin map must be that letter. Limits: codes reach -270..+1800 °C; a
type K part serves 480 °C. +-2 °C from -200 to +700 °C (datasheet 19-5793 p.1), to which its
straight line adds up to 3.5 K LOW at 113..471 °C unless corrected: done here. Conversion 70 ms
typical, 100 ms at most (from memory); CS low stops the conversion: not oftener than 100 ms.
"""

from tizzone.probes.bus import shift, spi_bus
from tizzone.probes.reading import (
    GARBLED,
    NO_VALUE_MC,
    NONE,
    OPEN,
    RANGE,
    SHORT_GROUND,
    SHORT_SUPPLY,
    SILENT,
    STUCK,
    WRONG_CHIP,
    Reading,
    level_fault,
)
from tizzone.probes.thermocouple import NO_EMF_NV, Thermocouple

RANGE_C = {"K": (-50, 1200), "N": (-50, 1200), "J": (-50, 1200), "T": (-50, 400), "S": (-40, 1200)}
ACCURACY_K = 2.0  # of the chip alone, -200..+700 °C, cold junction included; datasheet p.1
RESOLUTION_K = 0.25
DETECTS = ("open", "short_ground", "short_supply")
CONVERSION_MS = 100

# Slope of the chip's straight line, nV per K: datasheet p.8 (K); others from memory, each =
# E(1000 °C)/1000 of ITS-90 (T: E(400 °C)/400).
GAIN_NV_PER_K = {"K": 41276, "J": 57953, "N": 36256, "T": 52180, "S": 9587}


def thermocouple_code(hi):
    """D31..D18 as a signed number of 0.25 °C (datasheet table 2 and 4)."""
    code = hi >> 2
    return code - 16384 if code & 0x2000 else code


def junction_code(lo):
    """D15..D4 as a signed number of 0.0625 °C (datasheet table 2 and 5)."""
    code = lo >> 4
    return code - 4096 if code & 0x800 else code


def build(spec, buses):
    """The probe of a pin map entry: bus, cs, type (K)."""
    from machine import Pin

    spi = spi_bus(spec["bus"], 0, 1000000, buses)
    cs = Pin(spec["cs"], Pin.OUT, value=1)
    return MAX31855(spi, cs, Reading(), spec.get("type", "K"))


class MAX31855:
    """One chip on an SPI bus. `cs` is an output Pin at 1; `reading` is filled in place."""

    period_ms = CONVERSION_MS

    def __init__(self, spi, cs, reading, type="K"):
        if type not in GAIN_NV_PER_K:
            raise ValueError("MAX31855: type %s is not supported (K N J T S are)" % type)
        self.spi = spi
        self.cs = cs
        self.reading = reading
        self.couple = Thermocouple(type)
        gain = GAIN_NV_PER_K[type]
        # Per 1/16 K, in a whole and a remainder, so that no product reaches 2**30.
        self.gain_whole = gain >> 4
        self.gain_rest = gain & 15
        self.buf = bytearray(4)

    def check(self):
        """0, or the fault of a chip that is missing or is another one (read once, at start).

        An open or shorted probe is an answer of the right chip: not reported here. The chip has no
        identity register: a frame with its reserved bits at zero is all that can be asked. Half a
        frame of zeros (probe at 0.00 or chip at 0.0000 °C to the last digit) is refused at start;
        while running, conditioning sees it as a jump.
        """
        r = self.read()
        fault = r.fault
        if fault == GARBLED:
            return WRONG_CHIP
        if fault == 0 and (r.code_hi == 0 or r.code_lo == 0):
            return GARBLED
        return fault if fault in (SILENT, STUCK) else 0

    def read(self):
        """Read one frame; returns the Reading."""
        buf = self.buf
        if not shift(self.spi, self.cs, None, buf):
            self.reading.begin(0xFFFF, 0xFFFF, SILENT)
            return self.reading
        self.decode((buf[0] << 8) | buf[1], (buf[2] << 8) | buf[3])
        return self.reading

    def decode(self, hi, lo):
        """Fill the Reading from the two halves of a frame."""
        r = self.reading
        r.begin(hi, lo)
        r.fault = level_fault(hi, lo)
        if r.fault:
            return
        r.fault = frame_fault(hi, lo)
        if r.fault == GARBLED:
            return
        junction = junction_code(lo)
        r.junction_mc = junction * 125 >> 1
        if r.fault:
            return
        # The chip works from -40 to +125 °C (datasheet p.2): any other junction is not a
        # measurement.
        if junction < -640 or junction > 2000:
            r.junction_mc = NO_VALUE_MC
            r.fault = RANGE
            return
        # Datasheet p.8: V = gain x (T_R - T_AMB). ITS-90: E(T) = V + E(T_AMB).
        difference = (thermocouple_code(hi) << 2) - junction  # 1/16 K, at most +-34816
        emf_nv = difference * self.gain_whole + (difference * self.gain_rest >> 4)
        cold_nv = self.couple.emf_nv(r.junction_mc)
        if cold_nv != NO_EMF_NV:
            r.value_mc = self.couple.temperature_mc(emf_nv + cold_nv)
        if r.value_mc == NO_VALUE_MC:
            r.fault = RANGE


def frame_fault(hi, lo):
    """Fault code of a frame: its own bits first, then what a whole frame cannot be."""
    if lo & 1:  # D0 OC
        return OPEN
    if lo & 2:  # D1 SCG
        return SHORT_GROUND
    if lo & 4:  # D2 SCV
        return SHORT_SUPPLY
    if hi & 3 or lo & 8:  # D17 and D3 are always 0; D16 without a cause is no frame of this chip
        return GARBLED
    return NONE
