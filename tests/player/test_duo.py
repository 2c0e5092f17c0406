"""Both boards with their real firmware, on two emulated chips joined pin to pin."""

import numpy as np
import pytest

from host.player import prompt
from host.player.drill import Drill
from host.player.faults import library, of_two_boards
from host.player.wiggle import Judge, Looking
from tests.pico.cable import Cable
from tests.pico.image import loaded
from tests.player.conftest import armed, joined
from tests.player.duo import OneOf, player_files

pytestmark = pytest.mark.slow


def test_duo_board_reads_the_played_probes_and_heats(duos, harness):
    duo = duos()
    bench = joined(duo, harness)
    assert armed(bench) and bench.status["missing"] == []
    assert bench.status["pv_c"] == pytest.approx(20.0, abs=0.6)  # the lamp bench begins at 20 °C; a step is 0.25 K
    assert bench.send("start") == "ok"
    assert bench.until(lambda: bench.outside.contactor.is_closed and bench.outside.relays[0].wave, 8)
    bench.advance(6.0)
    assert bench.stage == "preheat" and bench.trip == "none"
    assert bench.status["pv_c"] > 20.3
    periods_ms = np.diff(bench.ticks_us) / 1000
    assert np.median(periods_ms) == pytest.approx(250, abs=2)
    assert bench.reads["dome"][1:] == (0, 0, 0) and bench.lost == 0

    results = Drill(bench, lambda text: None).run([case for case in library(harness, 50.0) if case.name == "dome_open"])
    results += Drill(bench, lambda text: None).run(
        [case for case in of_two_boards(harness) if case.name == "player_silent"]
    )
    assert [(result.name, result.failed) for result in results] == [("dome_open", ""), ("player_silent", "")]
    assert results[0].reason == "probe-open"


def test_duo_player_that_restarts_drives_nothing_and_the_board_ends_its_heat(duos, harness):
    duo = duos()
    bench = joined(duo, harness)
    assert armed(bench) and bench.send("start") == "ok"
    assert bench.until(lambda: bench.outside.relays[0].wave, 8)
    duo.op(op="reset", who="player", reason=0)
    duo.events.clear()
    duo.run(2.5)
    levels = duo.op(op="levels")["levels"]
    driven = {name for name, (_, player, _) in levels.items() if player in (0, 1)}
    assert driven == set()
    assert levels["HEAT_TOP"][2] == levels["HEAT_DECK"][2] == levels["CONTACTOR"][2] == 0
    falls = [t for t, kind, *rest in duo.events if kind == "level" and rest == ["HEAT_TOP", 0]]
    assert falls and falls[-1] - duo.t + 2.5 < 1.0


def test_duo_board_that_restarts_has_no_heat_output_up_meanwhile(duos, harness):
    duo = duos()
    bench = joined(duo, harness)
    assert armed(bench) and bench.send("start") == "ok"
    assert bench.until(lambda: bench.outside.relays[0].wave, 8)
    duo.op(op="reset", who="board", reason=0)
    before = len(bench.edges)
    assert bench.until(lambda: bench.trip == "power-cut", 15)
    names = {name for _, name, level in bench.edges[before:] if level}
    assert not names & {"HEAT_TOP", "HEAT_DECK", "CONTACTOR"}


@pytest.mark.parametrize("wrong, words", [
    ((), None),
    (("swap", "ENABLE", "LIMIT_OK"), "ENABLE and LIMIT_OK are swapped"),
    (("swap", "HEAT_TOP", "dome.cs"), "swapped"),
    (("open", "MAINS_SENSE_DECK", None), "MAINS_SENSE_DECK is open: nothing arrives at the other end"),
    (("rail", "dome.miso", 1), "dome.miso is short to 3V3"),
    (("rail", "HEAT_DECK", 0), "HEAT_DECK is short to GND"),
    (("short", "dome.sck", "stone.cs"), "dome.sck and stone.cs are short to each other"),
    (("lift", "CONTACTOR", None), "CONTACTOR has no resistor to GND: the chip's own pull-up lifts it"),
])  # fmt: skip
def test_duo_check_names_a_wrong_harness_with_both_boards_at_their_prompts(duos, harness, wrong, words):
    bare = loaded(None, player_files(main=False))
    duo = duos(bare, bare)
    duo.run(1.0)
    if wrong:
        duo.op(op="wire", kind=wrong[0], one=wrong[1], other=wrong[2])
    with Cable(OneOf(duo, "player")) as theirs, Cable(OneOf(duo, "board")) as ours:
        with prompt.board_at_prompt(ours, is_cold=True, say=lambda text: None) as board:
            with prompt.player_at_prompt(theirs) as player:
                seen = Looking(harness, prompt.PromptEnd(board), prompt.PromptEnd(player)).all()
    found = [finding.text for finding in Judge(harness, seen).findings]
    assert len(found) == (words is not None) and (words or "") in "".join(found), found
