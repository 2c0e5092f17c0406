"""Before an evening begins: how long its breads will take on a simulated oven, and what a faster or a more even trade
would be. The figures are of the oven that is asked: a preset, or a twin, which is one's own as far as its record goes.
"""

from __future__ import annotations

import copy
from typing import Any

from host.oven.base import Plant
from host.plans.bake_plan import BakePlan
from host.simulator.alone import Board, figures

TRADES_PCT = (0, 5, 10, 20)


def outlook(plan: BakePlan, plant: Plant, probe: tuple[float, int] | None = (7.5, 0)) -> list[dict[str, Any]]:
    """One dict a trade, the plan's own among them (`own`): stretch_pct (None: by seconds), breads, first_min (until the
    first is laid), whole_min (until the last is out), pace_s, and base and top: highest / lowest of all breads.

    Only a plan with one baking leg has trades; `plant` is not touched. ValueError: fewer than two breads come of it."""
    baking = [leg for leg in plan.legs if leg["breads"]]
    if plan.breads < 2:
        raise ValueError(f"{plan.name} bakes fewer than two breads: there is nothing to compare")
    own = baking[0]["stretch_pct"] if baking and baking[0]["base_kj"] else None
    trades = sorted({*TRADES_PCT, own}) if own is not None and len(baking) == 1 else [own]
    rows = []
    for stretch_pct in trades:
        tried = copy.deepcopy(plan)
        for leg in tried.legs:
            if stretch_pct is not None and leg["breads"]:
                leg["stretch_pct"] = stretch_pct
        board = Board(copy.deepcopy(plant), tried.compact(), probe, spots=probe is None).run()
        breads = board.breads
        if len(breads) < 2:
            raise ValueError(f"{plan.name}: fewer than two breads come of it on this oven")
        base, top = [each.base_kj_m2 for each in breads], [each.top_kj_m2 for each in breads]
        rows.append(
            {
                "stretch_pct": stretch_pct,
                "own": stretch_pct == own,
                "breads": len(breads),
                "first_min": breads[0].laid_s / 60.0,
                "whole_min": (breads[-1].out_s or 0.0) / 60.0,
                "pace_s": figures(board)["pace_s"],
                "base": max(base) / min(base),
                "top": max(top) / min(top),
            }
        )
    return rows


def words(row: dict[str, Any]) -> str:
    """A row as a person reads it."""
    trade = "by seconds" if row["stretch_pct"] is None else f"stretch_pct {row['stretch_pct']:>2}"
    took_min = row["whole_min"] - row["first_min"]
    return (
        f"{trade}{' (the plan)' if row['own'] else ''}: first bread after {row['first_min']:.0f} min, {row['breads']} "
        f"breads take {took_min:.0f} min, one every {row['pace_s']:.0f} s; they differ by "
        f"{100 * (row['base'] - 1):.0f} % of heat at the base and {100 * (row['top'] - 1):.0f} % at the top"
    )
