"""`tizzone bake`: choose a bake plan, send it to the board, see the one in force, start and stop."""

import argparse
from typing import Any

from host.oven import named
from host.plans import bake_plan, outlook
from host.talk import asked, bakes
from tools import ToolError, onboard

HELP = "list, send, show, start and stop a bake plan on the board"
EXAMPLE = """\
examples:
  tizzone bake list                    the plans that come with Tizzone
  tizzone bake outlook rye-crisp       what it will take, and the trade: faster or more even (--oven twin:FILE: yours)
  tizzone bake send rye-crisp          to the board: a shipped plan, or a plan file of your own
  tizzone bake show                    the plan in force there
  tizzone bake start                   heat follows: asks whether somebody is with the oven
  tizzone bake stop                    heat off now
  tizzone bake clear                   no plan: the settings make the only leg

Exit code: 0 done, 1 the board says no (with its reason), 2 wrong use. Then: tizzone watch."""
ACTS = ("list", "outlook", "send", "show", "start", "stop", "clear")
NEXT = {"list": "tizzone bake outlook NAME, tizzone bake send NAME", "outlook": "tizzone bake send NAME",
        "send": "tizzone bake start, then tizzone watch", "start": "tizzone watch",
        "show": "tizzone bake start, then tizzone watch", "stop": "tizzone watch, until it is cool",
        "clear": "tizzone bake start, then tizzone watch"}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("act", choices=ACTS, help="what to do")
    parser.add_argument("plan", nargs="?", metavar="PLAN", help="send, outlook: a shipped plan's name or a TOML file")
    parser.add_argument("--oven", default="standard", help="outlook: preset, random:SEED, other:SEED or twin:FILE")
    parser.add_argument("--yes", action="store_true", help="start: somebody is with the oven, do not ask back")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 done, 1 refused; ToolError for wrong use, a plan that is none or no board."""
    with_plan = options.act in ("send", "outlook")
    if (options.plan is not None) != with_plan:
        raise ToolError("say: tizzone bake send PLAN or outlook PLAN; the other words take no plan")
    if options.act == "start" and not onboard.confirmed("Heat follows. Is somebody with the oven?", options.yes):
        raise ToolError("not started")
    try:
        plan = bake_plan.load(options.plan) if with_plan else None
    except bake_plan.PlanError as error:
        raise ToolError(str(error)) from None
    return onboard.answered("bake", options, lambda: done(options, plan))


def looked_ahead(options: argparse.Namespace, plan: bake_plan.BakePlan, tell: Any) -> Any:
    """Tell what the plan will take on the oven asked; ToolError where it can't be told."""
    try:
        plant = named.named(options.oven, 1)
        faults = bake_plan.impossible(plan, plant)
        rows = outlook.outlook(plan, plant) if not faults else []
    except ValueError as error:
        raise ToolError(str(error)) from None
    if faults:
        raise ToolError(f"{plan.name} cannot be on this oven: {'; '.join(faults)}")
    tell(f"{plan.name} on the simulated oven {options.oven}; a cook who lays each bread when it is due")
    for row in rows:
        tell("  " + outlook.words(row))
    return rows


def done(options: argparse.Namespace, plan: bake_plan.BakePlan | None) -> Any:
    """Carry it out; what JSON is to carry."""
    tell = onboard.teller(options)
    if options.act == "list":
        found = bakes.shipped()
        for row in found:
            tell(
                f"{row['name']:<15} up to {row['hottest_c']} °C, {row['legs']} legs, {row['breads']} breads: "
                + row["title"]
            )
        return found
    if options.act == "outlook" and plan is not None:
        return looked_ahead(options, plan, tell)
    with onboard.board(options) as client:
        if plan is not None:
            said = bakes.send(client, plan)
            tell(f"{plan.name}: sent, {len(plan.legs)} legs, {plan.breads} breads")
            return {"plan": plan.name, "said": said}
        if options.act == "show":
            held = bakes.in_force(client)
            tell(f"plan in force: {held['plan']}, ends below {held['end_c']} °C")
            for number, leg in enumerate(held["legs"], 1):
                tell(f"  leg {number}: {bakes.leg_words(leg)}")
            return held
        said = bakes.clear(client) if options.act == "clear" else asked(client, options.act)
    words = {
        "start": "started; the board heats, stay with the oven",
        "stop": "stopped; heat is off",
        "clear": "no plan",
    }
    tell(words[options.act])
    return {"done": options.act, "said": said}
