"""Writes the integer thermocouple and platinum tables of the device (`device/tizzone/probes/its90_tables/`).

    python -m tools.make_tables            # writes the files
    python -m tools.make_tables --check    # exit code 1 if a file is not what would be written

Nodes of T(E) are spaced by a power of two in nV so that the device finds its interval with a
shift; each node is the exact inverse (bisection) of the published E(t), rounded to 0.001 °C. Nodes
of E(t) for the cold junction are spaced 4.096 °C. One node beyond each end continues the
polynomial of the end.
"""

from __future__ import annotations

import argparse
import math
import sys
from pathlib import Path

from host.chips import iec60751, its90
from host.files.writing import write_text

FOLDER = Path(__file__).resolve().parent.parent / "device" / "tizzone" / "probes" / "its90_tables"

# Of each type: lowest °C, highest °C, log2 of the step in nV. The step keeps the chord's error under 0.035 K (S below
# 0 °C: 0.065 K); 1200 °C is far beyond any oven, and type T ends at 400 °C by the standard.
SPANS = {
    "K": (-60.0, 1200.0, 18),
    "N": (-60.0, 1200.0, 17),
    "J": (-60.0, 1200.0, 18),
    "T": (-60.0, 400.0, 17),
    "S": (-50.0, 1200.0, 15),
}
COLD_SHIFT = 12  # 4.096 °C between nodes of the cold-junction table
COLD_FIRST, COLD_LAST = -14, 32  # nodes, times 4.096 °C: -57.344..131.072 °C

HEADER = '''"""Type {kind} thermocouple, integer tables. Made by tools/make_tables.py: do not edit.

ITS-90 reference function of NIST SRD 60 (Monograph 175), the same as IEC 60584-1;
{low:g}..{high:g} °C. T_MC[i] is the temperature in 0.001 °C at E0_NV + i * 2**E_SHIFT nanovolts
(reference junction 0 °C); COLD_NV[i] is the EMF in nV at COLD0_MC + i * 2**COLD_SHIFT thousandths
of a °C. Both are read by straight lines between nodes.
"""
'''


def nodes(kind: str) -> dict[str, int | list[int]]:
    """Table of one type as a dict of the generated module's names (integers)."""
    low, high, shift = SPANS[kind]
    step_mv = 2**shift / 1e6
    first = math.floor(its90.emf_mv(kind, low) / step_mv)
    last = math.ceil(its90.emf_mv(kind, high) / step_mv)
    step_c = 2**COLD_SHIFT / 1000.0
    return {
        "E0_NV": first * 2**shift,
        "E_SHIFT": shift,
        "T_MC": [round(1000.0 * its90.temperature_c(kind, i * step_mv)) for i in range(first, last + 1)],
        "COLD0_MC": COLD_FIRST * 2**COLD_SHIFT,
        "COLD_SHIFT": COLD_SHIFT,
        "COLD_NV": [round(1e6 * its90.emf_mv(kind, i * step_c)) for i in range(COLD_FIRST, COLD_LAST + 1)],
    }


PT_HEADER = '''"""Platinum element, integer table. Made by tools/make_tables.py: do not edit.

IEC 60751, {low:g}..{high:g} °C. T_MC[i] is the temperature in 0.001 °C at R/R0 = (W0 + i * 2**W_SHIFT) / 2**18.
"""
'''
PT_SPAN = (-60.0, 620.0, 13)  # °C, log2 of the step in 2**-18 of R/R0


def pt_nodes() -> dict[str, int | list[int]]:
    """Table of a platinum element: dict of W0, W_SHIFT, T_MC (integers)."""
    low, high, shift = PT_SPAN
    step = 2.0 ** (shift - 18)
    first = math.floor(iec60751.ratio(low) / step)
    last = math.ceil(iec60751.ratio(high) / step)
    return {
        "W0": first * 2**shift,
        "W_SHIFT": shift,
        "T_MC": [round(1000.0 * iec60751.temperature_c(i * step)) for i in range(first, last + 1)],
    }


def source(kind: str) -> str:
    """Text of the generated module."""
    if kind == "PT":
        lines, table = [PT_HEADER.format(low=PT_SPAN[0], high=PT_SPAN[1])], pt_nodes()
    else:
        low, high, _ = SPANS[kind]
        lines, table = [HEADER.format(kind=kind, low=low, high=high)], nodes(kind)
    for name, value in table.items():
        if not isinstance(value, list):
            lines.append(f"{name} = {value}\n")
            continue
        lines.append(f"{name} = (\n")
        for start in range(0, len(value), 8):
            lines.append("    " + ", ".join(str(v) for v in value[start : start + 8]) + ",\n")
        lines.append(")\n")
    return "".join(lines)


def main(argv: list[str] | None = None) -> int:
    """Write or check the files; returns the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare instead of writing")
    options = parser.parse_args(argv)
    stale = []
    for kind in [*SPANS, "PT"]:
        path = FOLDER / f"{kind.lower()}.py"
        text = source(kind)
        if options.check:
            if not path.is_file() or path.read_text(encoding="utf-8") != text:
                stale.append(path.name)
        else:
            write_text(path, text, makes_folder=True)
    if stale:
        print("not as tools/make_tables.py writes them:", ", ".join(stale), file=sys.stderr)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main())
