"""What every probe gives: one `Reading`, reused in place, with a value or a named fault.

A probe has `read()` -> its Reading (never raises for a bad answer, never allocates), `check()` -> 0 or
the fault found at start, and `period_ms`, how often it may be read. Temperatures are integers in
0.001 °C. Each driver's module has RANGE_C {type: (low, high)} where its accuracy is stated, ACCURACY_K,
RESOLUTION_K, DETECTS (faults of the sensor that the chip itself sees) and CONVERSION_MS, as literals, so
that a pin map can be checked without running it. Builders' guide: boards/PROBES.md.
"""

FAULT_NAMES = (
    "none", "open", "short_ground", "short_supply", "silent", "stuck", "garbled", "range",
    "none_yet", "wrong_chip", "jump",
)  # fmt: skip

NONE = 0
OPEN = 1  # the sensor's circuit is broken
SHORT_GROUND = 2
SHORT_SUPPLY = 3
SILENT = 4  # nothing drives the data line (all ones), no acknowledgement, or the bus gave up
STUCK = 5  # the data line is held at zero: chip without supply, or shorted line
GARBLED = 6  # an answer that this chip cannot give
RANGE = 7  # beyond what the sensor, the chip or its table can measure
NONE_YET = 8  # no reading since start
WRONG_CHIP = 9  # something answers, but not the chip of the pin map, or not as it was set up
JUMP = 10  # faster than an oven can change (set by conditioning, never by a chip)

# Below absolute zero, so that it can never be taken for a temperature; far from 2**30 in any sum.
NO_VALUE_MC = -300000

# Chip names of a pin map, and the module of each.
CHIPS = {
    "max31855": "max31855", "max31856": "max31856", "max6675": "max6675", "max31865": "max31865",
    "mcp9600": "mcp9600", "mcp9601": "mcp9600", "ad849x": "ad849x", "ads1115": "ads1115",
}  # fmt: skip


class Reading:
    """One probe's newest answer.

    value_mc: linearised temperature, 0.001 °C, or NO_VALUE_MC; junction_mc: the chip's own
    temperature or NO_VALUE_MC; fault: index into FAULT_NAMES; code_hi, code_lo: the raw answer in
    16-bit halves; serial: completed reads, modulo 2**16 (a new number says a new answer).
    """

    def __init__(self):
        self.value_mc = NO_VALUE_MC
        self.junction_mc = NO_VALUE_MC
        self.fault = NONE_YET
        self.code_hi = 0
        self.code_lo = 0
        self.serial = 0

    def begin(self, code_hi, code_lo, fault=NONE):
        """Start a new answer from its raw halves; no value until `value_mc` is set."""
        self.code_hi = code_hi
        self.code_lo = code_lo
        self.value_mc = NO_VALUE_MC
        self.junction_mc = NO_VALUE_MC
        self.fault = fault
        self.serial = (self.serial + 1) & 0xFFFF


def level_fault(hi, lo):
    """SILENT for all ones, STUCK for all zeros, else NONE; `hi` and `lo` are 16-bit halves."""
    if hi == 0xFFFF and lo == 0xFFFF:
        return SILENT
    if hi == 0 and lo == 0:
        return STUCK
    return NONE


def make(name, spec, buses=None):
    """Build the probe of one pin map entry; ValueError (one line) when the entry is unusable.

    name: "dome", "stone" ...; spec: its dict; buses: dict shared by all probes of a board, filled here.
    """
    chip = spec.get("chip")
    if chip not in CHIPS:
        raise ValueError("probe %s: chip %s is not known" % (name, chip))
    try:
        return _build(chip, spec, {} if buses is None else buses)
    except KeyError as error:
        raise ValueError("probe %s: its entry lacks %s" % (name, error.args[0]))
    except ValueError as error:
        raise ValueError("probe %s: %s" % (name, error.args[0]))


def _build(chip, spec, buses):
    module = CHIPS[chip]
    if module == "max31855":
        from tizzone.probes.max31855 import build
    elif module == "max31856":
        from tizzone.probes.max31856 import build
    elif module == "max6675":
        from tizzone.probes.max6675 import build
    elif module == "max31865":
        from tizzone.probes.max31865 import build
    elif module == "mcp9600":
        from tizzone.probes.mcp9600 import build
    elif module == "ad849x":
        from tizzone.probes.ad849x import build
    else:
        from tizzone.probes.ads1115 import build
    return build(spec, buses)
