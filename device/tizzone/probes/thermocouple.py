"""ITS-90 thermocouple functions in integers: nanovolts and 0.001 °C, from tables.

Every intermediate stays below 2**30 (a larger integer would allocate on a 32-bit board). The
tables are made from NIST SRD 60 by tools/make_tables.py; the chords stay within 0.035 K of the reference
function (S below 0 °C: 0.065 K).
"""

from tizzone.probes.reading import NO_VALUE_MC

NO_EMF_NV = -(1 << 28)  # about -268 mV: no thermocouple gives it


def load(kind):
    """The table module of a type letter; ValueError for a type that has none."""
    if kind == "K":
        from tizzone.probes.its90_tables import k as table
    elif kind == "N":
        from tizzone.probes.its90_tables import n as table
    elif kind == "J":
        from tizzone.probes.its90_tables import j as table
    elif kind == "T":
        from tizzone.probes.its90_tables import t as table
    elif kind == "S":
        from tizzone.probes.its90_tables import s as table
    else:
        raise ValueError("thermocouple type %s has no table (K N J T S have)" % kind)
    return table


class Thermocouple:
    # Fraction in 15 bits: below 32.768 K between nodes the product is below 2**30.

    def __init__(self, kind):
        table = load(kind)
        self.kind = kind
        self.e0_nv = table.E0_NV
        self.shift = table.E_SHIFT
        self.mask = (1 << table.E_SHIFT) - 1
        # The fraction is cut to 15 bits: with less than 32.768 K between nodes the product stays
        # below 2**30.
        self.cut = table.E_SHIFT - 15
        self.t_mc = table.T_MC
        self.last = len(table.T_MC) - 1
        self.cold0_mc = table.COLD0_MC
        self.cold_shift = table.COLD_SHIFT
        self.cold_mask = (1 << table.COLD_SHIFT) - 1
        self.cold_nv = table.COLD_NV
        self.cold_last = len(table.COLD_NV) - 1

    def emf_nv(self, t_mc):
        """EMF in nV of a junction at t_mc (-57..+131 °C) against 0 °C; NO_EMF_NV outside."""
        offset = t_mc - self.cold0_mc
        i = offset >> self.cold_shift
        if i < 0 or i >= self.cold_last:
            return NO_EMF_NV
        low = self.cold_nv[i]
        return low + ((self.cold_nv[i + 1] - low) * (offset & self.cold_mask) >> self.cold_shift)

    def temperature_mc(self, e_nv):
        """Temperature in 0.001 °C for an EMF in nV against 0 °C; NO_VALUE_MC beyond the table."""
        offset = e_nv - self.e0_nv
        i = offset >> self.shift
        if i < 0 or i >= self.last:
            return NO_VALUE_MC
        low = self.t_mc[i]
        return low + ((self.t_mc[i + 1] - low) * ((offset & self.mask) >> self.cut) >> 15)
