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
