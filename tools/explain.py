"""`tizzone explain`: a trip, a hold, a permissive or a setting in full: what it is, why, what to do."""

import argparse
import difflib
import json

from host.link.replies import REMEDIES
from host.shim.loader import world
from host.talk import settings
from tools import ToolError
from tools.faults_table import ACTS, KINDS, how_seen

HELP = "a trip, a hold, a permissive or a setting in full: what, why, what to do"
EXAMPLE = """\
examples:
  tizzone explain undriven-rise       what the board told you
  tizzone explain attend_min          a setting, with its bounds
  tizzone explain --list              every name, one line each

No board is needed. Exit code: 0 told, 2 no such name."""
WORDS = {"trip": "trip", "hold": "hold", "stop": "stop", "warn": "warning"}
AFTER = {
    "trip": "Then, on an oven that has cooled: acknowledge (key a of tizzone watch, or the panel). It stays cold.",
    "hold": "Then resume. The evening goes on where it was.",
    "stop": "The evening has ended. Start again when you choose to.",
    "warn": "Heat is not taken for this alone.",
}
PERMISSIVES = {
    "armed": "the three seconds after the board's start are over and its self-test is good",
    "no-trip": "no trip is latched", "no-hold": "nothing holds the evening", "no-stop": "the evening was not ended",
    "enable": "the ENABLE key or stop switch is closed", "limiter": "the independent high limit is closed",
    "selector-ours": "the transfer switch stands at OURS", "fan": "the cooling fan turns",
    "door-shut": "the oven's door is shut", "reading": "the dome probe gives a reading that can be believed",
    "below-limit": "the dome is below the high limit",
}  # fmt: skip
NEXT = "tizzone next"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="as the board, the panel or a command writes it")
    parser.add_argument("--list", action="store_true", help="every name, one line each")
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(options: argparse.Namespace) -> int:
    """0 told; ToolError for a name that is none."""
    if (options.name is None) != options.list:
        raise ToolError("say a NAME, such as: tizzone explain undriven-rise; or --list")
    found = everything()
    if options.list:
        if options.json:
            print(json.dumps(list(found.values()), indent=1))
        else:
            print("\n".join(f"{one['name']:<19} {one['kind']:<10} {one['what']}" for one in found.values()))
        return 0
    one = found.get(options.name)
    if one is None:
        near = difflib.get_close_matches(options.name, found, 3)
        raise ToolError(f"nothing is called '{options.name}'" + (f"; near: {', '.join(near)}" if near else "")
                        + "; tizzone explain --list")  # fmt: skip
    if options.json:
        print(json.dumps(one, indent=1))
    else:
        print("\n".join([f"{one['name']} ({one['kind']})"] + [f"  {key}: {one[key]}" for key in ("what", "why", "do")]))
    return 0


def everything() -> dict[str, dict[str, str]]:
    """{name: {"name", "kind", "what", "why", "do"}}: conditions, permissives, settings."""
    limits = world().load("tizzone.safety.limits")
    seen = how_seen(limits)
    found = {}
    sentences = world().load("tizzone.safety.sentences").rows()
    conditions = world().load("tizzone.safety.conditions").CONDITIONS
    for (name, number, _), (told, remedy) in list(zip(conditions, sentences, strict=True))[1:]:
        kind = KINDS[number]
        how, ms = seen[name]
        soon = f" (within {ms / 1000:g} s)" if ms else ""
        why = f"seen by: {how}{soon}; then: {ACTS[kind]}"
        found[name] = {"name": name, "kind": WORDS[kind], "what": told, "why": why, "do": f"{remedy} {AFTER[kind]}"}
    for name, what in PERMISSIVES.items():
        why = "heat needs every permissive at once; anything missing or unknown means heat off"
        found[name] = {"name": name, "kind": "permissive", "what": what, "why": why, "do": REMEDIES[name]}
    for name in settings.table():
        about = settings.about(name)
        unit = f" {about['unit']}" if about["unit"] else ""
        bounds = (
            ""
            if about["lowest"] is None
            else f"; {about['lowest']} to {about['highest']}{unit}, at first {about['default']}"
        )
        do = "tizzone calibrate" if name in settings.BY_PERSON else f"tizzone settings set {name} VALUE, while idle"
        found[name] = {
            "name": name,
            "kind": "setting",
            "what": about["meaning"] + bounds,
            "why": about["why"],
            "do": do,
        }
    return found
