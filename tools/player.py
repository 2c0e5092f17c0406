"""`tizzone player`: a second Pico plays the oven for the user's own board, before any mains."""

from __future__ import annotations

import argparse
import difflib
import json
import sys
import time
from pathlib import Path
from typing import Any

from host.deploy import DeployError
from host.files import kinds
from host.files.writing import NotWritten
from host.link import ports
from host.oven import named as ovenname
from host.pins import pin_map
from host.player import PlayerError, drawing, faults, prompt, proof
from host.player.drill import Drill
from host.player.evening import apart, record, settings_of, simulated
from host.player.harness import CAUTIONS, Harness
from host.player.stand import Stand, described, small_lamp
from host.player.wiggle import Judge, Looking
from host.runs.recording import RunWriter
from tools import ToolError

HELP = "a second Pico plays the oven for your board at 3.3 V: harness, check, evening, drill"
EXAMPLE = """examples:
  tizzone player map --board mine.py --draw harness.svg     which pin goes to which, through which resistor
  tizzone player load --player /dev/ttyACM1                 the player's program onto a Pico with MicroPython
  tizzone player check --board mine.py --port /dev/ttyACM0 --player /dev/ttyACM1
                                                            every line moved: what is swapped, open or shorted
  tizzone player run --board mine.py --breads 2 ...         an evening in real time, recorded, beside the simulated one
  tizzone player drill --board mine.py --out bench ...      every fault that the harness can make, with the report

The oven is unplugged, nothing of 24 V or mains is connected, and the board's own probe chips are off the bus. What
passes is evidence for tizzone commission --bench FILE; it says nothing of the mains side, never that a build is safe.
boards/PLAYER.md goes through it step by step. Exit code: 0 good, 1 a fault was found, 2 wrong use."""
ACTS = ("map", "load", "check", "run", "drill")
NEXT = {
    "map": "wire it with both boards unpowered, then tizzone player load",
    "load": "tizzone player check",
    "check": "tizzone player run",
    "run": "tizzone player drill",
    "drill": "take the harness off; tizzone commission --bench FILE",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("act", choices=ACTS, help="what to do; in this order")
    parser.add_argument("--board", default="boards/pico.py", help="your pin map: a file or its name (default: pico)")
    parser.add_argument("--port", metavar="P", help="serial port of your board")
    parser.add_argument("--player", metavar="P", help="serial port of the player")
    parser.add_argument("--draw", metavar="FILE.svg", help="map: the harness as a picture")
    parser.add_argument("--oven", default="small", help="run, drill: what is played: small (a lamp; warm in a minute), "
                        "or an oven as in tizzone rehearse (default: small)")  # fmt: skip
    parser.add_argument("--setpoint", type=float, default=50.0, metavar="C", help="run, drill: °C (default: 50); more "
                        "than 60 only on a board that is released to it")  # fmt: skip
    parser.add_argument("--breads", type=int, default=2, metavar="N", help="run: flatbreads (default: 2)")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME", help="drill: these alone")
    parser.add_argument("--slow", action="store_true", help="drill: also what takes minutes each, for a night")
    parser.add_argument(
        "--by-hand", action="store_true", help="drill: the restart by your hand at the plug; no reset wire"
    )
    parser.add_argument(
        "--oven-is-cold", action="store_true", help="check: you have made sure that nothing is hot or on"
    )
    parser.add_argument(
        "--wait-out", action="store_true", help="run, drill: a board that has tripped while nobody played is given its "
        "ten hours without heat first"
    )  # fmt: skip
    parser.add_argument(
        "--out", metavar="DIR", help="run, drill: folder for what is recorded (default: runs/<date>-bench)"
    )
    parser.add_argument("--force", action="store_true", help="write over a file of another kind that is there already")
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(options: argparse.Namespace) -> int:
    """Carry out one act."""
    if not 30 <= options.setpoint <= 530:
        raise ToolError(f"--setpoint {options.setpoint:g}: say 30 to 530 °C")
    if not 0 <= options.breads <= 100:
        raise ToolError("--breads: 0 to 100")
    try:
        harness = Harness(pin_map.read(options.board))
        return {"map": show, "load": load, "check": check, "run": evening, "drill": drill}[options.act](
            options, harness
        )
    except (pin_map.PinMapError, NotWritten, DeployError) as error:
        raise ToolError(str(error)) from None


def tell(options: argparse.Namespace, text: str) -> None:
    """A line for a person, none where JSON was asked for."""
    if not options.json:
        print(text, flush=True)


def show(options: argparse.Namespace, harness: Harness) -> int:
    """The harness as table and picture."""
    if options.draw:
        kinds.write(options.draw, drawing.picture(harness), kinds.WIRING_PICTURE, options.force)
    if options.json:
        rows = [dict(zip(("line", "board", "resistor", "player", "job"), row, strict=True)) for row in harness.rows()]
        print(json.dumps({"wires": rows, "cautions": CAUTIONS, "picture": options.draw}, indent=1, ensure_ascii=False))
        return 0
    print("\n".join(f"CAUTION: {line}" for line in CAUTIONS))
    print("\n" + harness.table())
    if options.draw:
        print(f"\npicture: {options.draw}")
    return 0


def two_ports(options: argparse.Namespace) -> tuple[str, str]:
    """(port of the board, port of the player); both are named, since two are plugged in."""
    if not options.player or not options.port:
        there = "; ".join(ports.described(port) for port in ports.attached()) or "none"
        raise ToolError(f"say which is which: --port (your board) and --player (the player). There now: {there}")
    if options.player == options.port:
        raise ToolError("--port and --player are the same port: two boards have two")
    return options.port, options.player


def load(options: argparse.Namespace, harness: Harness) -> int:
    """The player's program onto a Pico."""
    if not options.player:
        raise ToolError("say which port is the player's: --player (your own board is left alone)")
    done = prompt.load(options.player)
    tell(options, f"{options.player}: {done['files']} files, {done['bytes']} bytes; it plays after its restart")
    if options.json:
        print(json.dumps(done))
    return 0


def check(options: argparse.Namespace, harness: Harness) -> int:
    """Every line moved from both ends."""
    port, player = two_ports(options)
    say = (lambda text: None) if options.json else print
    with (
        prompt.board_at_prompt(port, is_cold=options.oven_is_cold, say=say) as ours,
        prompt.player_at_prompt(player) as theirs,
    ):
        seen = Looking(harness, prompt.PromptEnd(ours), prompt.PromptEnd(theirs)).all()
    findings = Judge(harness, seen).findings
    if options.json:
        print(
            json.dumps({"wires": len(harness.checked()), "findings": [found.as_json() for found in findings]}, indent=1)
        )
    for found in findings:
        tell(options, f"{found.grade:7} {found.text}\n        do: {found.mend}")
    tell(options, "the board stays at its prompt until tizzone player run or drill starts it")
    tell(options, f"{len(harness.checked())} lines moved: {len(findings) or 'no'} wrong" + ("" if findings else
         "; seen at 3.3 V with nothing else connected, and only as long as nobody touches it"))  # fmt: skip
    return 1 if findings else 0


def stand(options: argparse.Namespace, harness: Harness) -> Stand:
    """The two boards, ready; ToolError for an oven that does not exist."""
    port, player = two_ports(options)
    try:
        plant = small_lamp() if options.oven == "small" else ovenname.named(options.oven, 1)
    except ValueError as error:
        raise ToolError(f"--oven: {error}") from None
    say = (lambda text: None) if options.json else (lambda text: print(text, flush=True))
    return Stand.opened(harness, port, player, plant, options.setpoint, options.wait_out, say)


def folder(options: argparse.Namespace) -> Path:
    """Where what is recorded goes."""
    return Path(options.out) if options.out else Path("runs") / time.strftime("%Y%m%d-%H%M%S-bench")


def evening(options: argparse.Namespace, harness: Harness) -> int:
    """An evening on the two boards, recorded, beside the simulated one."""
    with stand(options, harness) as made:
        settings = settings_of(made.bench)
        settings["setpoint_c"] = int(options.setpoint)
        out = folder(options)
        with RunWriter(out, made.row_names) as writer:
            end = record(made.bench, writer, options.breads, settings["bake_s"])
            plant = small_lamp() if options.oven == "small" else ovenname.named(options.oven, 1)
            other = simulated(options.board, plant, settings, options.breads)
            compared = apart(made.bench.rows, other.rows)
            measured = made.measures()
            told = {"ended": end, "beside_simulated": vars(compared), "measures": measured}
            writer.finish({**described(made, options.oven), **told})
    if options.json:
        whole = {"folder": str(out), "ended": end, **vars(compared), "is_within": compared.is_within}
        print(json.dumps({**whole, "measures": measured}))
    for line in proof.lines({"measures": measured}):
        tell(options, line)
    tell(options, f"ended {end}; {compared.rows} rows: reading within {compared.reading_k} K of the simulated evening, "
                  f"a stage's heat within {compared.heat_share * 100:.0f} %, its length within {compared.stage_s} s; "
                  f"beyond the bounds: {compared.beyond}")  # fmt: skip
    tell(options, f"run folder: {out}")
    return 0 if compared.is_within and end != "aborted" else 1


def drill(options: argparse.Namespace, harness: Harness) -> int:
    """Every fault that the harness can make; the report, and the file for commissioning."""
    cases = faults.ordered([*faults.library(harness, options.setpoint, options.slow), *faults.of_two_boards(harness)])
    known = {case.name for case in cases}
    unknown = [name for name in options.fault if name not in known]
    if unknown:
        near = difflib.get_close_matches(unknown[0], sorted(known), 3, 0.3) or sorted(known)[:3]
        raise ToolError(
            f"--fault {unknown[0]}: this harness cannot make it here; it can make {len(known)}, as {', '.join(near)}"
        )
    cases = [case for case in cases if not options.fault or case.name in options.fault]
    out = folder(options)
    with stand(options, harness) as made:
        measures = made.boot(by_hand=options.by_hand, say=lambda text: tell(options, text))
        results = Drill(made.bench, lambda text: tell(options, text)).run(cases)
        proved = proof.proof(harness, made.identity(), results, {**measures, **made.measures()})
    write(out, proved, options)
    if options.json:
        print(json.dumps(proved, indent=1, ensure_ascii=False))
    for line in (
        *proof.lines(proved),
        proof.sentence(proved),
        f"for commissioning: {out / 'bench.json'}   page: {out / 'bench.html'}",
    ):
        tell(options, line)
    if proved["missed"]:
        print("the harness stays on, and no mains: look for each miss first", file=sys.stderr)
    return 1 if proved["missed"] else 0


def write(out: Path, proved: dict[str, Any], options: argparse.Namespace) -> None:
    """The proof and its page."""
    proof.write(out / "bench.json", proved, options.force)
    kinds.write(out / "bench.html", proof.page(proved), kinds.BENCH_PAGE, options.force)


__all__ = ["PlayerError", "add_arguments", "run"]
