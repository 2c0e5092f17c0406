"""Branch coverage of the safety path from tests/safety: exit code 1 below 100 %.

    python -m tools.coverage_check

Modules: safety/ and what counts or switches for it (MODULES). (memory/store: tests/store, with
`python -m tools.coverage_check --suite tests/store --modules memory/store`.)
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "device" / "tizzone"
MODULES = (
    "safety/supervisor", "safety/alarms", "safety/wiring_rules", "safety/limits", "safety/oven_rules",
    "safety/attendance", "safety/own_writes", "safety/seen", "board_io/heater", "board_io/contacts", "integers",
)  # fmt: skip


def measure(suite: str, modules: Sequence[str]) -> tuple[int, dict[str, tuple[float, list, list]]]:
    """(pytest's exit code, {module: (per cent, missing lines, missing branches)})."""
    include = ",".join(str(PACKAGE / f"{name}.py") for name in modules)
    with tempfile.TemporaryDirectory() as folder:
        data = str(Path(folder) / "data")
        command = [sys.executable, "-m", "coverage"]
        run = [*command, "run", "--branch", f"--data-file={data}", f"--include={include}", "-m", "pytest"]
        tested = subprocess.run([*run, suite, "-q", "-p", "no:cacheprovider"], cwd=ROOT, check=False).returncode
        page = str(Path(folder) / "page.json")
        report = [*command, "json", f"--data-file={data}", "-o", page, "-q"]
        if subprocess.run(report, cwd=ROOT, check=False).returncode:
            return tested, {}
        files = json.loads(Path(page).read_text(encoding="utf-8"))["files"]
    return tested, {
        (ROOT / name).relative_to(PACKAGE).with_suffix("").as_posix(): (
            found["summary"]["percent_covered"],
            found["missing_lines"],
            found["missing_branches"],
        )
        for name, found in files.items()
    }


def main(argv: list[str] | None = None) -> int:
    """The command; returns its exit code."""
    parser = argparse.ArgumentParser(description="Branch coverage of the safety path; exit code 1 below 100 %.")
    parser.add_argument("--suite", default="tests/safety")
    parser.add_argument("--modules", nargs="+", default=MODULES)
    options = parser.parse_args(argv)
    tested, found = measure(options.suite, options.modules)
    bad = tested != 0
    for name in options.modules:
        share, lines, branches = found.get(name, (0.0, ["all"], []))
        bad = bad or share < 100
        print(f"{name:20} {share:6.2f} %", *(["missing", lines, branches] if share < 100 else []))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
