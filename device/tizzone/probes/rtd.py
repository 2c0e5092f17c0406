"""Platinum resistance thermometer, IEC 60751, in integers: code of a ratiometric converter -> 0.001 °C.

R(t) = R0 (1 + A t + B t^2), and below 0 °C + C (t - 100) t^3; A = 3.9083e-3, B = -5.775e-7, C = -4.183e-12.
The table of t over R/R0 is made by tools/make_tables.py and read by straight lines (within 0.01 K); every
intermediate stays below 2**30.
"""

from tizzone.probes.its90_tables import pt
from tizzone.probes.reading import NO_VALUE_MC


class Platinum:
    """An element of R0 beside a reference resistor; both in ohm, 3 to 5 times R0."""

    def __init__(self, rref_ohm, r0_ohm):
        self.ratio_pm = int(rref_ohm * 1000 + r0_ohm // 2) // r0_ohm  # Rref / R0 in 1/1000
        self.last = len(pt.T_MC) - 1
        ratio = self.ratio_pm
        self.code_low = (pt.W0 * 125 + ratio - 1) // ratio  # first code inside the table
        self.code_high = ((pt.W0 + (self.last << pt.W_SHIFT)) * 125 - 1) // ratio

    def temperature_mc(self, code):
        """Temperature in 0.001 °C of a 15-bit code; NO_VALUE_MC beyond the table."""
        # R/R0 in 2**-18: code / 2**15 x ratio / 1000 x 2**18.
        offset = code * self.ratio_pm // 125 - pt.W0
        i = offset >> pt.W_SHIFT
        if i < 0 or i >= self.last:
            return NO_VALUE_MC
        low = pt.T_MC[i]
        part = offset & (1 << pt.W_SHIFT) - 1
        return low + ((pt.T_MC[i + 1] - low) * part >> pt.W_SHIFT)
