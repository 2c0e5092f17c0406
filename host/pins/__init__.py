"""Checks a pin map against what the chip, its boot and the probes allow, and draws its wiring.

    from host import pins
    for finding in pins.check("boards/pico.py", wanted_c=480): ...

Nothing of the map is executed. What the check cannot see: solder, cables, resistors, and whether the board is
the one that the map names. `chips` holds the vendors' tables, `pinrules` what one pin may do, `probespecs` and
`layers` the rest; `drawing` and `ticklist` show the wiring.
"""

from host.findings import GRADES
from host.pins.check import check, check_releasable, check_source, usable_map
from host.pins.finding import Finding

__all__ = ["GRADES", "Finding", "check", "check_releasable", "check_source", "usable_map"]
