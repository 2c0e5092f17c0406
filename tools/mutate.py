"""Mutation run over the device: every small slip of the code must fail a test, or be listed as harmless.

    python -m tools.mutate                      every module: about twenty minutes on a core
    python -m tools.mutate app memory/memory    some of them
    python -m tools.mutate --safety             what may permit heat, by the unit tests of tests/safety: minutes
    python -m tools.mutate --sample 200 --seed 7    a part of everything, drawn
    python -m tools.mutate safety/warmth --near     by the tests nearest to a module alone: quicker
    python -m tools.mutate --kind other         only slips of the other kind, see tools/mutants.py
    python -m tools.mutate --list               what would be tried
    python -m tools.mutate --marks              the table's functions whose code has changed since it was read

Each mutant is compiled from a changed syntax tree and put in the place of its file in a forked process, where the tests
nearest to the module run until one fails: first those that were collected once for all mutants, and where none of them
fails, the same tests collected on the changed code. A mutant that no test can tell from the original stands in
tools/mutants_equivalent.py with the reason, under a mark of its function's code: any edit of that function makes the
reason due again. Exit code 0: none survived, 1: some did.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from tools import mutant_tables as T
from tools import mutants as M
from tools.mutation_run import Run, Work

ROOT = Path(__file__).parents[1]
DEVICE = ROOT / "device"
Reasons = Mapping[str, Mapping[str, tuple[str, dict[str, str]]]]  # as in tools/mutants_equivalent.py
# What may permit heat: module -> unit tests of tests/safety, the nearest first; all of these run on each mutant.
SAFETY = {
    "safety/supervisor": ("test_promises", "test_supervisor_limits", "test_conditions", "test_supervisor_rules"),
    "safety/alarms": ("test_alarms", "test_conditions"),
    "safety/wiring_rules": ("test_wiring",),
    "board_io/heater": ("test_heater_share", "test_heater", "test_heater_window"),
    "board_io/zone": ("test_heater", "test_heater_window"),
    "safety/attendance": ("test_people",),
    "safety/own_writes": ("test_conditions",),
    "safety/oven_rules": ("test_rules", "test_rules_heat"),
    "safety/slipped": ("test_slipped",),
    "safety/warmth": ("test_warmth", "test_alarms"),
    "safety/permit": ("test_promises",),
    "board_io/contacts": ("test_sensed",),
    "integers": ("test_people", "test_rules"),
}
# What else touches heat, contactor, fan, latch, release, settings, people or time: module -> files or folders of tests.
START, LOOP, PEOPLE = (f"device/test_board_{name}.py" for name in ("start", "loop", "people"))
APP = "device/test_app.py"
OWN = tuple(f"device/test_app_{name}.py" for name in ("lines", "wait", "ends"))
WITNESS = ("commission/test_witness.py", "commission/test_witness_record.py")
STORE = tuple(f"store/test_store_{name}.py" for name in ("edges", "medium", "log", "damage", "power_cut"))
LOOKS = tuple(f"commission/test_witness_{name}.py" for name in ("looks", "false", "heat"))
NEAREST = {
    "boot": (START,),
    "main": (START,),
    "app": OWN,
    "parts": ("device/test_parts.py",),
    "link/acts": ("device/test_acts.py",),
    "memory/memory": ("store/test_memory_starts.py", "store/test_memory_writes.py"),
    "memory/settings": ("device/test_settings.py",),
    "memory/store": STORE,
    "commissioning/release": ("commission/test_release.py",),
    "commissioning/witness": WITNESS,
    "commissioning/evidence": (*LOOKS, WITNESS[0]),
    # Unit tests of their own kill, or the table lists, every mutant of these: no evening need be run.
    "link/frames": ("device/test_link.py",),
    "link/commands": ("device/test_link_words.py", "device/test_on_demand.py", "device/test_oven_words.py"),
    "link/bread_commands": ("device/test_bread_words.py",),
    "link/oven_commands": ("device/test_oven_words.py",),
    "link/plan_commands": ("device/test_bake_words.py",),
    "link/stone_commands": ("device/test_oven_words.py",),
    "evening/sequence": tuple(f"device/test_sequence{part}.py" for part in ("_rules", "_ticks", "_plan", "")),
    "evening/evening": ("night/test_evening_rules.py", "night/test_evening_ticks.py", "night/test_evening_keeps.py"),
    "evening/due": ("device/test_due.py",),
    "evening/plan_in_force": ("device/test_bake_words.py",),
    "evening/ramp": ("device/test_ramp.py",),
    "evening/breads": ("night/test_bread_book.py", "night/test_breads.py"),
    "learning/learning": ("device/test_learning_stage.py",),
    "learning/experiment": (
        "control/test_experiment_rules.py",
        "control/test_experiment_relay.py",
        "control/test_experiment_watch.py",
    ),
    "learning/swings": ("control/test_swings.py",),
    "learning/sunk": ("control/test_sunk.py",),
    "control/pid": ("control/test_pid_rules.py",),
    "probes/conditioning": ("probes/test_conditioning.py",),
    "board_io/buzzer": ("device/test_buzzer.py",),
    "safety/permissives": ("device/test_acts.py",),
}
MODULES = [*SAFETY, *NEAREST]


def path_of(name: str) -> Path:
    """A module's file."""
    return DEVICE / (name + ".py") if name in ("boot", "main") else DEVICE / "tizzone" / (name + ".py")


def found_in(name: str, with_trees: bool = True) -> list[tuple[str, int, str, ast.AST | None]]:
    """Every mutant of a module: [(key, line, kind, tree)]."""
    source = path_of(name).read_text(encoding="utf-8")
    return M.mutants(source, T.tables_of(source, DEVICE), with_trees)


def excused(name: str, equivalent: Reasons) -> dict[str, str]:
    """{key: reason} of a module's table that still holds: {} for functions whose code was edited since."""
    here = T.marks(path_of(name).read_text(encoding="utf-8"))
    keys = {}
    for function, (mark, reasons) in equivalent.get(name, {}).items():
        if here.get(function) == mark:
            keys.update({f"{function}: {change}": reason for change, reason in reasons.items()})
    return keys


def stale(names: Sequence[str], equivalent: Reasons) -> list[str]:
    """Lines about what in the table no longer holds: edited functions, keys that the code no longer has."""
    told = []
    for name in names:
        here = T.marks(path_of(name).read_text(encoding="utf-8"))
        keys = {key for key, *_ in found_in(name, False)}
        for function, (mark, reasons) in equivalent.get(name, {}).items():
            if function not in here:
                told.append(f"{name}: {function} is gone")
            elif here[function] != mark:
                told.append(f"{name}: {function} was edited: read its reasons again, then mark it {here[function]}")
            told += [f"{name}: {function}: {c}: no such mutant" for c in reasons if f"{function}: {c}" not in keys]
    return told


def planned(names: Sequence[str], equivalent: Reasons, kind: str | None = None) -> Work:
    """Every mutant of these modules but the equivalent ones: [(module, key, line, code)]."""
    work = []
    for name in names:
        table = excused(name, equivalent)
        for key, line, its_kind, tree in found_in(name):
            if key not in table and kind in (None, its_kind):
                try:
                    code = compile(tree, str(path_of(name)), "exec")  # type: ignore[call-overload]
                except (SyntaxError, ValueError):
                    continue  # no program any more: nothing to load
                work.append((name, key, line, code))
    return work


def run(
    work: Work,
    jobs: int,
    suite: list[str] | None = None,
    tell: Callable[[int, int, int], object] = lambda done, total, alive: None,
    near_only: bool = False,
) -> tuple[Work, str | None]:
    """Survivors of `work`, and None or what went wrong. `suite`: test files that run on each instead of the nearest."""
    survivors = []
    parts = {}
    for one in work:
        safety = one[0] in SAFETY and not near_only
        parts.setdefault("safety" if safety or suite else one[0], []).append(one)
    done = 0
    for name, part in parts.items():
        safety = name == "safety" or name in SAFETY
        tests = suite or (safety_files(None if name == "safety" else name) if safety else nearest_files(name))
        near = SAFETY if safety and not suite else {}
        begun, alive = done, len(survivors)
        found, fault = part, None
        for once in (True,) if safety or suite else (True, False):  # what the quick way leaves is asked again afresh
            whole = Run(tests, near, path_of, jobs, once, quick=not safety and not suite)
            found, fault = whole.run(found, lambda n, a, b=begun, s=alive: tell(b + n, len(work), s + a))  # type: ignore[misc]
            if fault or not found:
                break
        if fault:
            return survivors, f"{name}: {fault}"
        survivors += found
        done += len(part)
    return survivors, None


def safety_files(module: str | None = None) -> list[str]:
    """The unit tests of tests/safety that SAFETY names; of one module: the nearest to it."""
    names = sorted({name for near in SAFETY.values() for name in near} if module is None else SAFETY[module])
    return [str(ROOT / "tests" / "safety" / f"{name}.py") for name in names]


def nearest_files(name: str) -> list[str]:
    """The tests of one module, the nearest first, each file once."""
    files = []
    for text in NEAREST[name]:
        path = ROOT / "tests" / text
        for file in sorted(path.glob("test_*.py")) if path.is_dir() else [path]:
            if file.is_file() and str(file) not in files:
                files.append(str(file))
    return files


def progress(done: int, total: int, alive: int) -> None:
    """One line that is written over."""
    if sys.stderr.isatty() or done % 100 == 0:
        print(f"\r{done}/{total} mutants, {alive} survived", end="", file=sys.stderr, flush=True)


def options_of(argv: Sequence[str] | None) -> argparse.Namespace:
    """The parsed command line."""
    parser = argparse.ArgumentParser(description="Mutation run over the device.")
    parser.add_argument("modules", nargs="*", metavar="MODULE", help=f"of {', '.join(MODULES)}; all by default")
    parser.add_argument("--safety", action="store_true", help="only what may permit heat")
    parser.add_argument("--kind", choices=(M.SMALL, M.OTHER), help="only slips of this kind")
    parser.add_argument("--sample", type=int, metavar="N", help="only N of them, drawn")
    parser.add_argument("--seed", type=int, default=1, help="of the draw (default: 1)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--near", action="store_true", help="only the tests nearest to each module: quicker")
    parser.add_argument("--list", action="store_true", help="only tell what would be tried")
    parser.add_argument("--marks", action="store_true", help="only tell what in the table is due again")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(argv)


def main(argv: Sequence[str] | None = None) -> int:
    """The command; returns its exit code."""
    from tools.mutants_equivalent import EQUIVALENT

    options = options_of(argv)
    unknown = [name for name in options.modules if name not in MODULES]
    if unknown:
        print(f"mutate: no module {unknown[0]!r} (known: {', '.join(MODULES)})", file=sys.stderr)
        return 2
    names = options.modules or (list(SAFETY) if options.safety else MODULES)
    due = stale(names, EQUIVALENT)
    if options.marks:
        print("\n".join(due) or "every reason is about the code as it is")
        return 1 if due else 0
    begun_s = time.monotonic()
    work = planned(names, EQUIVALENT, options.kind)
    if options.sample:
        drawn = random.Random(options.seed).sample(range(len(work)), min(options.sample, len(work)))
        work = [work[i] for i in sorted(drawn)]
    if options.list:
        print("\n".join(f"{name}.py:{line}: {key}" for name, key, line, _ in work))
        return 0
    survivors, fault = run(work, options.jobs, tell=progress, near_only=options.near)
    if fault:
        print(f"\nmutate: {fault}", file=sys.stderr)
        return 2
    report(options, names, work, survivors, due, EQUIVALENT, time.monotonic() - begun_s)
    return 1 if survivors or due else 0


def report(
    options: argparse.Namespace,
    names: Sequence[str],
    work: Work,
    survivors: Work,
    due: list[str],
    equivalent: Reasons,
    spent_s: float,
) -> None:
    """Mutants per module: made, killed, listed; then the survivors."""
    alive = sorted(f"{name}.py:{line}: {key}" for name, key, line, _ in survivors)
    rows: list[tuple[Any, ...]] = []
    for name in names:
        tried = sum(1 for one in work if one[0] == name)
        left = sum(1 for one in survivors if one[0] == name)
        rows.append((name, tried, tried - left, left, len(excused(name, equivalent))))
    if options.json:
        print(json.dumps({"modules": rows, "survived": alive, "due": due, "seconds": round(spent_s)}))
        return
    print(f"\n{'module':28}{'tried':>7}{'killed':>8}{'alive':>7}{'listed':>8}")
    for row in [*(row for row in rows if row[1] or row[4]), ("all", *(sum(r[i] for r in rows) for i in range(1, 5)))]:
        print(f"{row[0]:28}{row[1]:7}{row[2]:8}{row[3]:7}{row[4]:8}")
    print(f"{spent_s:.0f} s on {options.jobs} processes")
    print("\n".join(alive + [f"due again: {text}" for text in due]))


if __name__ == "__main__":
    sys.exit(main())
