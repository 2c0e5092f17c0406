"""`tizzone drill`: every fault in every phase on many ovens; and clean evenings that must not trip."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from host.drill import campaign, clean, warm
from host.drill import page as drillpage
from host.drill.campaign import Case, Result
from host.faults import library
from host.files import kinds, settings_file
from host.files.writing import NotWritten
from host.oven import named as ovenname
from host.pins import pin_map
from host.pins.pin_map import PinMap
from host.shim.loader import world
from host.shim.remote import RuntimeMissing, find_micropython
from tools import ToolError

HELP = "the fault campaign: each fault must end with the heat off and the right reason"
EXAMPLE = """examples:
  tizzone drill                              presets, about 10 minutes on two cores
  tizzone drill --settings mine.json         your own settings instead of the defaults
  tizzone drill --fault relay_welded_top     one fault, in every phase
  tizzone drill --all --ovens 50             everything, with 50 random ovens: hours
  tizzone drill --clean 500                  500 evenings without a fault: nothing may trip
  tizzone drill --runtime micropython        each fault once on real MicroPython
  tizzone drill --stalls 20000               errors, stalls and power cuts in mid-tick: a quarter of an hour
  tizzone drill --cuts 1000                  power cuts in evenings, learning, commissioning: some minutes

Exit code 1 if anything failed its promise. Simulated ovens: nothing here has been checked against yours, and no
campaign says that an oven is without danger. Local codes and a licensed electrician come first."""

SHORT_PHASES = ("cold", "setpoint", "load", "held")  # on every oven but the first, unless --all
PROGRESS_S = 2.0
NEXT = "tizzone boards --copy pico mine.py"
NEXT_IF_NOT = "look at the failed cases; no heat with these settings and this map before each is understood"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--all", action="store_true", help="every phase, wiring and pair on every oven")
    parser.add_argument("--fault", action="append", metavar="NAME", help="only this fault (may be given again)")
    parser.add_argument("--phase", action="append", choices=warm.PHASES, help="only this phase")
    parser.add_argument("--oven", action="append", metavar="NAME", help="preset, random:SEED or other:SEED")
    parser.add_argument("--ovens", type=int, default=0, metavar="N", help="and N random ovens")
    parser.add_argument("--wiring", action="append", choices=tuple(warm.WIRINGS), help="what is wired")
    parser.add_argument("--pairs", action="store_true", help="only pairs of a sensor and an actuator fault")
    parser.add_argument("--clean", type=int, metavar="N", help="N evenings without any fault instead")
    parser.add_argument("--stalls", type=int, metavar="N", help="N errors, stalls and cuts in mid-tick instead")
    parser.add_argument("--kitchen", action="store_true", help="a table: the kitchen's own faults, how hot each gets")
    parser.add_argument("--cuts", type=int, metavar="N", help="N power cuts at random moments instead")
    parser.add_argument(
        "--seed", type=int, default=0, metavar="S", help="seed of --stalls and --cuts, first of --clean (default: 0)"
    )
    parser.add_argument("--settings", metavar="FILE", help="device settings, JSON or TOML")
    parser.add_argument("--board", default="boards/pico.py", help="pin map: a file or its name (default: pico)")
    parser.add_argument("--runtime", choices=("cpython", "micropython"), default="cpython", help="who runs the code")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes (default: every core)")
    parser.add_argument("--out", metavar="DIR", help="write drill.html and drill.json there")
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print every case as JSON")
    parser.add_argument("--table", action="store_true", help="print what is promised for every fault (Markdown)")


def run(options: argparse.Namespace) -> int:
    """0 every promise kept, 1 a promise broken, ToolError for a wrong option."""
    if options.table:
        device = world()
        limits, sentences = (device.load(f"tizzone.safety.{name}") for name in ("limits", "sentences"))
        print(library.table(limits, sentences), end="")
        return 0
    if options.kitchen:
        return run_kitchen(options)
    if options.clean is not None:
        return run_clean(options)
    if options.stalls is not None:
        return run_stalls(options)
    if options.cuts is not None:
        return run_cuts(options)
    settings, pins = usable(options)
    cases = chosen(options, pins)
    if not cases:
        raise ToolError("nothing to do: no fault can exist in this wiring")
    begun_s = time.monotonic()
    results = []
    progress = Progress(len(cases), options.json)
    for result in campaign.run(cases, settings, options.board, options.jobs, runtime=options.runtime):
        results.append(result)
        progress.show(len(results), sum(1 for r in results if r.failed))
    progress.end()
    failed = [result for result in results if result.failed]
    if options.out:
        write(Path(options.out), results, options.force)
    if options.json:
        print(json.dumps([result.plain() for result in results], indent=1))
    else:
        print(drillpage.text_table(results))
        print(drillpage.hottest(results))
        print(f"{len(results)} cases, {len(failed)} failed, {time.monotonic() - begun_s:.0f} s")
    return 1 if failed else 0


def usable(options: argparse.Namespace) -> tuple[dict[str, Any] | None, PinMap]:
    """(settings or None, PinMap) of the options; ToolError with one line."""
    try:
        pins = pin_map.read(options.board)
        for oven in options.oven or ():
            ovenname.named(oven)
        for name in options.fault or ():
            library.known(name)
        if options.runtime == "micropython":
            find_micropython()
    except (ValueError, OSError, RuntimeMissing) as error:
        raise ToolError(str(error)) from None
    if options.jobs < 1 or options.ovens < 0:
        raise ToolError("--jobs must be 1 or more, --ovens 0 or more")
    return settings_of(options.settings), pins


def settings_of(path: Path | str | None) -> dict[str, Any] | None:
    """The settings of a file, checked by the device's own rules; None without a file."""
    if path is None:
        return None
    try:
        values = settings_file.read(path, missing_is_empty=False)
    except settings_file.SettingsFileError as error:
        raise ToolError(str(error)) from None
    rules = world().load("tizzone.memory.settings")
    for name, value in values.items():
        fault = rules.fault_of(name, value)
        if fault:
            raise ToolError(f"{path}: {fault}")
    return values


def chosen(options: argparse.Namespace, pins: PinMap) -> list[Case]:
    """The cases that the options ask for."""
    ovens = options.oven or list(warm.OVENS)
    ovens = [*ovens, *(f"random:{seed}" for seed in range(1, options.ovens + 1))]
    if options.runtime == "micropython":
        return campaign.subset(ovens[0], (options.wiring or ["full"])[0], pins, options.fault)
    if options.all:
        wirings = tuple(options.wiring or warm.WIRINGS)
        return campaign.planned_cases(ovens, pins, wirings, options.phase or warm.PHASES, options.fault, warm.PHASES)
    if options.pairs:
        return campaign.planned_cases(
            ovens, pins, options.wiring or ["full"], (), options.fault, options.phase or ["setpoint"]
        )
    if options.fault or options.phase or options.wiring or options.oven:
        return campaign.planned_cases(
            ovens, pins, options.wiring or ["full"], options.phase or warm.PHASES, options.fault
        )
    first, *others = ovens
    cases = campaign.planned_cases([first], pins, ("full",), pairs=("setpoint",)) + campaign.planned_cases(
        [first], pins, ("plain",)
    )
    return cases + campaign.planned_cases(others, pins, ("full",), SHORT_PHASES)


def run_clean(options: argparse.Namespace) -> int:
    """Clean evenings: 1 if one of them tripped or did not come to its end."""
    if options.clean < 1:
        raise ToolError("--clean must be 1 or more")
    outcomes = []
    progress = Progress(options.clean, options.json)
    for outcome in clean.evenings(range(options.seed, options.seed + options.clean), options.jobs):
        outcomes.append(outcome)
        progress.show(len(outcomes), sum(1 for o in outcomes if o["trips"]))
    progress.end()
    summary = clean.summary(outcomes)
    if options.json:
        print(json.dumps({**summary, "evenings": outcomes}, indent=1))
    else:
        print(clean.text(summary, outcomes))
    return 1 if summary["tripped"] or summary["unfinished"] else 0


def run_stalls(options: argparse.Namespace) -> int:
    """Errors, stalls and power cuts in mid-tick: 1 if a promise was broken."""
    from host.drill import stall_page, stalls, stalls_micropython

    if options.stalls < 1 or options.jobs < 1:
        raise ToolError("--stalls and --jobs must be 1 or more")
    outcomes = []
    progress = Progress(options.stalls, options.json)

    def tell(outcome):
        outcomes.append(outcome)
        progress.show(len(outcomes), sum(1 for o in outcomes if o.failed))

    begun_s = time.monotonic()
    try:
        if options.runtime == "micropython":
            find_micropython()
            stalls_micropython.campaign(options.stalls, options.seed, tell)
        elif not hasattr(os, "fork"):
            raise ToolError("--stalls forks the program: not on this system")
        else:
            stalls.campaign(options.stalls, options.seed, options.jobs, tell)
    except RuntimeMissing as error:
        raise ToolError(str(error)) from None
    progress.end()
    if options.json:
        print(json.dumps([outcome.plain() for outcome in outcomes], indent=1))
    else:
        print(stall_page.text(outcomes, time.monotonic() - begun_s))
    return 1 if any(outcome.failed for outcome in outcomes) else 0


def run_kitchen(options: argparse.Namespace) -> int:
    """The kitchen's own faults with the limiter at work and set aside; measures, promises nothing."""
    from host.drill import kitchen

    rows = list(kitchen.measured(options.phase or kitchen.PHASES, options.fault or ()))
    if not rows:
        raise ToolError("no such fault of the kitchen; tizzone drill --table lists all")
    print(json.dumps([vars(row) for row in rows], indent=1) if options.json else kitchen.table(rows))
    return 0


def run_cuts(options: argparse.Namespace) -> int:
    """Power cuts at random moments: 1 if a promise was broken."""
    from host.drill import cut_page, cuts

    if options.cuts < 1:
        raise ToolError("--cuts must be 1 or more")
    if not hasattr(os, "fork"):
        raise ToolError("--cuts forks the program: not on this system")
    outcomes = []
    progress = Progress(options.cuts, options.json)
    begun_s = time.monotonic()
    for outcome in cuts.campaign(options.cuts, options.seed):
        outcomes.append(outcome)
        progress.show(min(len(outcomes), options.cuts), sum(1 for o in outcomes if o.failed))
    progress.end()
    if options.json:
        print(json.dumps([outcome.plain() for outcome in outcomes], indent=1))
    else:
        print(cut_page.text(outcomes, time.monotonic() - begun_s))
    return 1 if any(outcome.failed for outcome in outcomes) else 0


def write(folder: Path, results: Sequence[Result], force: bool) -> None:
    """drill.html and drill.json."""
    try:
        drilled = {"drilled": time.strftime("%Y-%m-%dT%H:%M:%S%z"), "cases": [result.plain() for result in results]}
        cases = json.dumps(drilled, indent=1)
        page = drillpage.page(results, time.strftime("%Y-%m-%d %H:%M"))
        kinds.write(folder / "drill.html", page, kinds.DRILL_PAGE, force, makes_folder=True)
        kinds.write(folder / "drill.json", cases, kinds.DRILL_CASES, force)
    except NotWritten as error:
        raise ToolError(str(error)) from None


class Progress:
    """One line on standard error that is written over; on a file or pipe only its end."""

    def __init__(self, count: int, is_quiet: bool) -> None:
        self.count = count
        self.is_live = not is_quiet and sys.stderr.isatty()
        self.begun_s = time.monotonic()
        self.next_s = 0.0

    def show(self, done: int, failed: int) -> None:
        """Tell how far it is."""
        spent_s = time.monotonic() - self.begun_s
        if not self.is_live or spent_s < self.next_s:
            return
        self.next_s = spent_s + PROGRESS_S
        left_s = spent_s / done * (self.count - done)
        bar = "#" * (24 * done // self.count)
        line = f"[{bar:24}] {done}/{self.count}, {failed} failed, about {left_s / 60:.0f} min left"
        print(f"\r{line:78}", end="", file=sys.stderr, flush=True)

    def end(self) -> None:
        """Leave the line."""
        if self.is_live:
            print(file=sys.stderr)
