"""Each number of the limits says where it comes from."""

import re
from pathlib import Path

LIMITS = Path(__file__).parents[2] / "device" / "tizzone" / "safety" / "limits.py"
SOURCES = ("house", "simulated", "from memory", "common practice", "IEC", "ISA", "datasheet")


def test_every_number_of_the_limits_names_its_source():
    numbers = LIMITS.read_text(encoding="utf-8").partition("\nNONE = const(0)")[0].splitlines()
    stated = [line for line in numbers if re.match(r"[A-Z_]+ = (const\(|\()[-\d]", line)]
    kinds = ("TRIP", "HOLD", "STOP", "WARN")  # numbers that only tell one kind from another
    missing = [
        line
        for line in stated
        if line.split(" ")[0] not in kinds and not any(word in line.partition("#")[2] for word in SOURCES)
    ]
    assert len(stated) > 80
    assert not missing, "\n".join(missing)
