"""README's wiring tables, made from the one description of the circuit (host/circuit).

python -m tools.circuit_table            write them
python -m tools.circuit_table --check    exit code 1 if README.md is not what the description says
"""

import argparse
import sys
from pathlib import Path

from host.circuit import CIRCUIT, Circuit, wiring_words
from host.files.writing import write_text
from host.pins import pin_map

FILE = Path(__file__).parents[1] / "README.md"


def readme(text: str, circuit: Circuit = CIRCUIT) -> str:
    """README's text as it has to be; ValueError where its markers are missing."""
    return wiring_words.put_into(text, wiring_words.section(pin_map.read("pico"), circuit))


def main(argv: list[str] | None = None) -> int:
    """The command; returns its exit code."""
    parser = argparse.ArgumentParser(description="README's wiring tables, made from host/circuit.")
    parser.add_argument("--check", action="store_true", help="write nothing; exit code 1 if README.md is out of date")
    options = parser.parse_args(argv)
    before = FILE.read_text(encoding="utf-8")
    after = readme(before)
    if options.check:
        if before != after:
            print("README.md is out of date: python -m tools.circuit_table", file=sys.stderr)
        return 0 if before == after else 1
    write_text(FILE, after)
    return 0


if __name__ == "__main__":
    sys.exit(main())
