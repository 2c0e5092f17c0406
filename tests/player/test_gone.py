"""Laptop gone, player restarted, board restarted, cable out: in every stage of an evening the heat of the board
ends, or goes on as with a real oven, and the player drives nothing that nobody has asked for."""

import pytest

from host.link import LinkLost
from host.player import PlayerError
from host.simulator.cook import Cook
from tests.player.conftest import armed
from tests.player.table import Table

STAGES = ("prove", "preheat", "soak", "load", "bake", "recover")


def in_stage(stage):
    """A table whose evening stands in a stage."""
    table = Table()
    bench = table.bench
    assert armed(bench)
    bench.cook = Cook(15)
    assert bench.send("start") == "ok"
    assert bench.until(lambda: bench.stage == stage, 200), bench.stage
    return table


def goes(table):
    """Nobody turns any more; how the board stands after three seconds."""
    for _ in range(12):
        table.board.turn()
    app = table.board.life.app
    return app.heater.top.on or app.heater.deck.on or app.heater.contactor_on


@pytest.mark.slow
@pytest.mark.parametrize("stage", STAGES)
def test_laptop_gone_in_a_stage_leaves_nothing_driven_and_no_heat(stage):
    table = in_stage(stage)
    assert not goes(table)
    assert table.made.machine.driven == {}
    assert all(not machine.running for number, machine in table.made.rp2.machines.items() if number not in (4, 5))


@pytest.mark.slow
@pytest.mark.parametrize("stage", STAGES)
def test_player_that_restarts_in_a_stage_drives_nothing_until_it_is_told_to(stage):
    table = in_stage(stage)
    table.made.machine.driven.clear()  # what a reset does to its pins and machines
    table.made.machine.handlers.clear()
    for machine in table.made.rp2.machines.values():
        machine.active(0)
    table.player = table.side.player = table.made.play.Player((table._read, table._write))
    with pytest.raises(PlayerError, match="resting"):
        table.bench.turn()
    assert table.made.machine.driven == {} and not goes(table)


@pytest.mark.slow
@pytest.mark.parametrize("stage", STAGES)
def test_player_whose_cable_is_out_in_a_stage_ends_the_run_in_one_line(stage):
    table = in_stage(stage)
    table.port.gone = True
    with pytest.raises(LinkLost, match="port has gone"):
        table.bench.turn()
    assert not goes(table) and table.made.machine.driven == {}


@pytest.mark.slow
@pytest.mark.parametrize("stage", STAGES)
def test_board_that_loses_its_supply_in_a_stage_comes_back_tripped_and_cold(stage):
    table = in_stage(stage)
    bench = table.bench
    bench.cook = None
    cut_us = bench.outside.now_us + 600_000  # a tick of the old life may still be told
    kept, table.made.play._SILENT_MS = (
        table.made.play._SILENT_MS,
        60_000,
    )  # a restart is one long piece of its life here
    table.side.orders.append(["power", 300_000])
    assert bench.until(lambda: bench.trip == "power-cut", 30)
    table.made.play._SILENT_MS = kept
    rose = {name for at_us, name, level in bench.edges if level and at_us > cut_us}
    assert not rose & {"HEAT_TOP", "HEAT_DECK", "CONTACTOR"}
    assert bench.state == "aborted" or bench.status["permit"] == 0
