"""Warm states on small ovens, made once: a low setpoint keeps the preheat short."""

import copy

import pytest

from host.drill import campaign
from host.drill import warm as drillwarm

SETTINGS = {"setpoint_c": 140}
OVEN = "light"


@pytest.fixture(scope="session")
def warm():
    """{wiring: {phase: Rehearsal}} of one light oven at 140 °C."""
    return {wiring: campaign.warm(OVEN, wiring, SETTINGS) for wiring in ("full", "plain")}


@pytest.fixture(scope="session")
def cold():
    """A cold, idle Rehearsal of that oven, which is made in a moment."""
    made = drillwarm.rehearsal(OVEN, settings=SETTINGS)
    made.advance(6.0)
    campaign.ask_limit(made)
    return made


@pytest.fixture
def drilled(warm):
    """drilled(faults, phase, wiring="full", told=None) -> Result; `told`: the wiring that the judge is told."""

    def act(faults, phase, wiring="full", told=None):
        case = campaign.Case(tuple(faults.split("+")), phase, OVEN, told or wiring)
        return campaign.drilled(copy.deepcopy(warm[wiring][phase]), case)

    return act
