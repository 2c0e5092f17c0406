"""`tizzone rehearse`: an evening on the simulated oven, run by the very files that go onto the board."""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import Any

from host.files import kinds
from host.files.writing import NotWritten
from host.oven import bread_heat
from host.oven import named as ovenname
from host.oven.base import Plant
from host.plans import bake_plan
from host.runs.recording import RecordingError, RunWriter, clean
from host.runs.report import page, summarise, table
from host.simulator.cook import Cook
from host.simulator.rehearsal import ROW, Rehearsal
from tools import ToolError

HELP = "an evening on the simulated oven, with the board's own code"
EXAMPLE = """examples:
  tizzone rehearse                                        standard oven, 450 °C, six flatbreads, cool
  tizzone rehearse --oven heavy --setpoint 350 --breads 3
  tizzone rehearse --fault relay_welded_top@3000           what happens if the top relay sticks
  tizzone rehearse --runtime micropython                  the same on real MicroPython
  tizzone rehearse --plan rye-crisp                       a shipped bake plan, or a plan file of your own

ovens: light, standard, heavy, lamp (bench), random:SEED, other:SEED or twin:FILE (see identify).
A run folder is written: run.csv, events.jsonl,
summary.json and report.html. Nothing here has been checked against your oven; local codes and a licensed
electrician come first."""

PAGE = "report.html"
SLICE_S = 60.0
LONGEST_S = 10 * 3600.0
SETTLE_S = 5.0  # a board's start, with its grace window
NEXT = "tizzone drill, then tizzone boards --copy pico mine.py"
NEXT_IF_NOT = "tizzone explain NAME for each trip; then the same with other values"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--oven", default="standard", help="preset, random:SEED, other:SEED or twin:FILE")
    parser.add_argument("--board", default="boards/pico.py", help="pin map: a file or its name (default: pico)")
    parser.add_argument("--setpoint", type=float, metavar="C", help="dome setpoint, °C (default: 450; lamp: 60)")
    parser.add_argument("--breads", type=int, default=6, metavar="N", help="flatbreads (default: 6)")
    parser.add_argument("--soak", type=int, metavar="MIN", help="soak before the first bread, minutes")
    parser.add_argument("--setting", action="append", default=[], metavar="NAME=VALUE", help="any device setting")
    parser.add_argument("--plan", metavar="FILE", help="bake plan: a TOML file or a shipped plan's name")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME@SECONDS", help="inject a fault")
    parser.add_argument("--seed", type=int, default=1, help="of noise and chance (default: 1)")
    parser.add_argument("--runtime", choices=("cpython", "micropython"), default="cpython", help="who runs the code")
    parser.add_argument("--out", metavar="DIR", help="run folder (default: runs/<date>-<oven>)")
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")


def run(options: argparse.Namespace) -> int:
    """Run the evening; 0 done, 1 it ended in a trip, the setpoint was not reached or an injected fault never came."""
    rehearsal = prepared(options)
    folder = Path(options.out) if options.out else fresh_folder(options.oven)
    with rehearsal:
        if (folder / PAGE).exists():
            raise ToolError(f"{folder}: holds a {PAGE} already; take another folder")
        try:
            writer = RunWriter(folder, ROW.names or ())
        except RecordingError as error:
            raise ToolError(str(error)) from None
        plan = bake_plan.load(options.plan) if options.plan else None
        evening = Evening(rehearsal, options.breads, writer, quiet=options.json, plan=plan)
        writer.begin(evening.began(options))
        evening.run()
        summary = evening.summary(options)
        try:
            writer.finish(summary)
            write_page(folder / PAGE, rehearsal, summary)
        except (RecordingError, NotWritten) as error:
            raise ToolError(str(error)) from None
    if options.json:
        events = [clean(event) for event in rehearsal.events]
        print(json.dumps({**clean(summary), "folder": str(folder), "events": events}, indent=2))
    else:
        print(table(summary))
        if words := bread_heat.words(summary["bread_heat"]):
            print(words)
        print(f"run folder: {folder}")
        print(f"page: {folder / 'report.html'}")
    return 1 if summary["trips"] or summary["to_setpoint_s"] is None or summary["faults_missed"] else 0


def prepared(options: argparse.Namespace) -> Rehearsal:
    """The rehearsal that the options ask for; ToolError names the option that cannot be."""
    if not 0 <= options.breads <= 100:
        raise ToolError("--breads: 0 to 100")
    lamp = options.oven == "lamp"
    setpoint_c = options.setpoint if options.setpoint is not None else 60.0 if lamp else 450.0
    settings = dict(split_setting(text) for text in options.setting)
    settings["setpoint_c"] = whole_number("--setpoint", setpoint_c)
    more: dict[str, Any] = {}
    if options.plan:
        plan = planned(options)
        if options.setpoint is not None or options.soak is not None:
            raise ToolError("--plan has its own setpoint and soak: leave --setpoint and --soak out")
        more["cook"] = Cook(plan=plan, verdicts=["right right"])
        options.breads = plan.breads
    if options.soak is not None:
        settings["soak_min"] = options.soak
    try:
        return Rehearsal(
            plant=plant_named(options.oven, options.seed),
            board=options.board,
            settings=settings,
            faults=options.fault,
            seed=options.seed,
            runtime=options.runtime,
            **more,
        )
    except (ValueError, OSError) as error:
        raise ToolError(str(error)) from None


def planned(options: argparse.Namespace) -> bake_plan.BakePlan:
    """The checked plan of `--plan`, possible on this oven; ToolError with every fault."""
    try:
        plan = bake_plan.load(options.plan)
    except bake_plan.PlanError as error:
        raise ToolError(f"--plan: {error}") from None
    settings = dict(split_setting(text) for text in options.setting)
    ceiling_c = min(480, settings.get("high_limit_c", 500) - 20)
    longest_min = settings.get("session_max_min", bake_plan.SESSION_MAX_MIN)
    faults = bake_plan.impossible(plan, plant_named(options.oven, options.seed), ceiling_c, longest_min)
    if faults:
        raise ToolError(f"--plan {plan.name} cannot be: {'; '.join(faults)}")
    return plan


def plant_named(name: str, seed: int) -> Plant:
    """The plant of `--oven`; ToolError for one that does not exist."""
    try:
        return ovenname.named(name, seed)
    except ValueError as error:
        raise ToolError(f"--oven: {error}") from None


def whole_number(option: str, value: float) -> int:
    """`value` as an int, or ToolError."""
    if value != value or value != int(value):
        raise ToolError(f"{option}: a whole number is needed")
    return int(value)


def split_setting(text: str) -> tuple[str, float]:
    """("soak_min", 10) of "soak_min=10"."""
    name, equals, value = text.partition("=")
    try:
        number = float(value) if "." in value else int(value)
    except ValueError:
        raise ToolError(f"--setting {text}: say NAME=NUMBER") from None
    if not equals:
        raise ToolError(f"--setting {text}: say NAME=NUMBER")
    return name, number


def fresh_folder(name: str) -> Path:
    """A folder that does not exist yet."""
    stem = time.strftime("%Y%m%d-%H%M%S-") + name.replace(":", "-")
    base = Path("runs")
    for number in range(1, 100):
        folder = base / (stem if number == 1 else f"{stem}-{number}")
        if not folder.exists():
            return folder
    raise ToolError("runs/: no free folder name; say --out DIR")


class Evening:
    """A cook's evening: start, breads, stop, cool; rows and events go to the run folder as they come."""

    def __init__(
        self, rehearsal: Rehearsal, breads: int, writer: RunWriter, quiet: bool, plan: bake_plan.BakePlan | None = None
    ) -> None:
        self.rehearsal = rehearsal
        self.breads = breads
        self.writer = writer
        self.quiet = quiet
        self.plan = plan
        self._rows = 0
        self._events = 0
        self.started = time.strftime("%Y-%m-%dT%H:%M:%S")

    def run(self) -> None:
        """From switching on the box to a cooled oven, or until a trip has cooled down."""
        rehearsal = self.rehearsal
        self._pass(SETTLE_S)
        for line in self.plan.lines() if self.plan else ():
            answer = rehearsal.send(line)
            if not answer.startswith("~ok"):
                raise ToolError(f"the board refuses the plan: {answer[1:]}")
        reply = rehearsal.send("start")
        if not reply.startswith("~ok"):
            self._say(f"start refused: {reply[1:]}")
        stopped = False
        while rehearsal.now_s < LONGEST_S:
            self._pass(1.0 if rehearsal.stage in ("soak", "lift", "load", "bake", "recover") else SLICE_S)
            if not stopped and not self.plan and self._enough():
                rehearsal.send("stop")
                stopped = True
            if self._over():
                break
        self._keep()
        self._say("", end="\n")

    def _enough(self):
        rehearsal = self.rehearsal
        if self.breads == 0:
            return rehearsal.stage == "load"
        done = sum(1 for event in rehearsal.events if event["kind"] == "breads" and event["value"] > 0)
        return done >= self.breads

    def _over(self):
        rehearsal = self.rehearsal
        if rehearsal.state in ("running", "held", "stopping"):
            return False
        if rehearsal.state == "none":  # no program runs: until the oven is cool
            return rehearsal.plant.temperature_c("dome") < 100.0 and rehearsal.now_s > 60.0
        return rehearsal.stage == "none" or not rehearsal.rows["pv_c"][-1] >= 250.0

    def _pass(self, seconds):
        self.rehearsal.advance(seconds)
        self._keep()
        row = self.rehearsal.rows[-1] if len(self.rehearsal.rows) else None
        if row is not None and int(row["t_s"]) % 30 == 0:
            self._say(
                f"{int(row['t_s']) // 60:4d} min  dome {row['pv_c']:5.0f} of {row['setpoint_c']:3.0f} °C  "
                f"output {row['out_pct']:3.0f} %  {row['state']} {row['stage']}"
            )

    def _keep(self):
        rows, events = self.rehearsal.rows, self.rehearsal.events
        for row in rows[self._rows :]:
            self.writer.row(row)
        for event in events[self._events :]:
            self.writer.event(event)
        self._rows, self._events = len(rows), len(events)

    def _say(self, text, end=""):
        if not self.quiet and sys.stderr.isatty():
            print(f"\r{text:<78}", end=end, file=sys.stderr, flush=True)

    def summary(self, options: argparse.Namespace) -> dict[str, Any]:
        """Figures of the evening and what was run."""
        rehearsal = self.rehearsal
        audit = rehearsal.plant.energy() if hasattr(rehearsal.plant, "energy") else None
        relays = {relay.zone: relay.switchings for relay in rehearsal.outside.relays}
        counts = {**relays, "contactor": rehearsal.outside.contactor.closings}
        energy_kwh = None if audit is None else audit["in_j"] / 3.6e6
        figures = summarise(rehearsal.rows, rehearsal.events, energy_kwh, counts, options.fault)
        figures["title"] = f"Rehearsal: {options.oven} oven, {figures['setpoint_c'] or 0:.0f} °C, {self.breads} breads"
        figures["about"] = [
            f"Simulated {options.oven} oven, board {options.board}, seed {options.seed}, {options.runtime}.",
            "The device's own code ran a simulated oven; nothing here was checked against a real one.",
            *(f"Injected fault: {text}" for text in options.fault if text not in figures["faults_missed"]),
        ]
        figures["bread_heat"] = bread_heat.told(getattr(rehearsal.plant, "baked", []))
        figures["about"] += [words] if (words := bread_heat.words(figures["bread_heat"])) else []
        return {**figures, **self.began(options)}

    def began(self, options: argparse.Namespace) -> dict[str, Any]:
        """What is known before it begins, so that a rehearsal that is cut off is never taken for a real evening."""
        return {"started": self.started, "oven": options.oven, "board": options.board, "seed": options.seed,
                "runtime": options.runtime, "faults": options.fault}  # fmt: skip


def write_page(path: Path | str, rehearsal: Rehearsal, summary: dict[str, Any]) -> None:
    """The report page of the run."""
    about = [*summary["about"], f"Rehearsed on {summary['started'].replace('T', ' at ')}."]
    text = page(rehearsal.rows, rehearsal.events, summary, summary["title"], about)
    kinds.write(path, text, kinds.RUN_PAGE)
