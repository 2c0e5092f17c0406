"""The club's plan on the board's evening alone (host/simulator/alone.py), with other values in its leg."""

from host.plans import bake_plan
from host.simulator import alone
from host.simulator.alone import figures

__all__ = ["Board", "club", "figures"]


class Board(alone.Board):
    """An evening of a BakePlan."""

    def __init__(self, plant, plan, *arguments, **named):
        super().__init__(plant, plan.compact(), *arguments, **named)


def club(**changes):
    """The shipped plan for flatbreads."""
    plan = bake_plan.load("club-flatbread")
    plan.legs[0].update(changes)
    return plan
