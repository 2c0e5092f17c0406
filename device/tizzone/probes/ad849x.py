"""AD8495, AD8497: type K amplifier of 5 mV/K, read by the board's own analog input.

Wiring: 3.3 V, GND, OUT to an analog input through 1 kohm and 100 nF; T- to GND through 1 Mohm or as the
board has it, insulated junction. Pin map: {"chip": "ad849x", "bus": {"adc": 26}, "supply_mv": 3300,
"vref_mv": 0}.
Limits: the amplifier is within 2 K from -25 to +400 °C (from memory) and adds 0.025 K per K of board
temperature; the board's converter (12 bits, about 9 of them good, its supply as reference: from memory)
adds 10 K and more at
450 °C. IT CANNOT SERVE 480 °C as the controlling probe; as a second opinion only. It sees no short
circuit, and an
open probe only as an output at the supply; a stuck analog input looks like a temperature.
No conversion time to wait for; 16 samples are averaged.
"""

from tizzone.probes.reading import NO_VALUE_MC, OPEN, RANGE, SILENT, STUCK, Reading
from tizzone.probes.thermocouple import Thermocouple

RANGE_C = {"K": (0, 400)}
ACCURACY_K = 10.0
RESOLUTION_K = 0.6  # 12 bits of 3.3 V at 5 mV/K, averaging aside
DETECTS = ("open",)
CONVERSION_MS = 1

# AN-1087 (from memory): V = 122.4 x E + 1.25 mV + VREF, E against 0 °C. 1/122.4 mV = 1250/153 nV per µV.
_OFFSET_UV = 1250
LOW_UV = 5000  # 1 °C: an output at ground is an amplifier without supply
OPEN_UV = 3000000  # 600 °C: an open input drives the output to its supply
_SAMPLES = 16


def build(spec, buses):
    """The probe of a pin map entry: bus {"adc": pin}, supply_mv, vref_mv."""
    from machine import ADC, Pin

    adc = ADC(Pin(spec["bus"]["adc"]))
    return AD849X(
        adc, Reading(), spec.get("type", "K"), spec.get("supply_mv", 3300),
        spec.get("vref_mv", 0),
    )  # fmt: skip


class Amplifier:
    """Output of the amplifier in µV -> temperature."""

    def __init__(self, type, vref_mv):
        if type != "K":
            raise ValueError("AD849x: type %s is not supported (K is)" % type)
        if not 0 <= vref_mv <= 500:
            raise ValueError("AD849x: vref_mv must be 0 to 500")
        self.couple = Thermocouple(type)
        self.vref_uv = vref_mv * 1000

    def fill(self, reading, out_uv):
        """Set value or fault of a Reading that has begun; out_uv: the amplifier's output, µV."""
        if out_uv < LOW_UV:
            reading.fault = STUCK
        elif out_uv > OPEN_UV:
            reading.fault = OPEN
        else:
            gained = out_uv - self.vref_uv - _OFFSET_UV
            emf_nv = gained // 153 * 1250 + gained % 153 * 1250 // 153
            reading.value_mc = self.couple.temperature_mc(emf_nv)
            if reading.value_mc == NO_VALUE_MC:
                reading.fault = RANGE


class AD849X:
    """The amplifier on an analog input of the board; `reading` is filled in place."""

    period_ms = CONVERSION_MS

    def __init__(self, adc, reading, type="K", supply_mv=3300, vref_mv=0):
        if not 1000 <= supply_mv <= 3600:
            raise ValueError("AD849x: supply_mv must be 1000 to 3600")
        self.adc = adc
        self.reading = reading
        self.supply_mv = supply_mv
        self.amplifier = Amplifier(type, vref_mv)

    def check(self):
        """0, or STUCK when the input rests at ground. No chip tells its name here."""
        fault = self.read().fault
        return fault if fault == STUCK else 0

    def read(self):
        """Average 16 samples; returns the Reading."""
        total = 0
        try:
            for _ in range(_SAMPLES):
                total += self.adc.read_u16()
        except OSError:  # a converter that another part of the chip has taken
            self.reading.begin(0, 0)
            self.reading.fault = SILENT
            return self.reading
        self.decode(total)
        return self.reading

    def decode(self, total):
        """Fill the Reading from the sum of 16 samples of 0..65535."""
        r = self.reading
        r.begin(total >> 4, total & 15)
        # total/16 x mV x 1000 / 65536 = total x mV x 125 / 131072, in two steps below 2**30.
        r_uv = ((total >> 4) * self.supply_mv >> 6) * 125 >> 7
        self.amplifier.fill(r, r_uv)
