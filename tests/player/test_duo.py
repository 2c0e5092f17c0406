"""Both boards with their real firmware, on two emulated chips joined pin to pin."""

import numpy as np
import pytest

from host.deploy import plan
from host.player import prompt
from host.player.drill import Drill
from host.player.faults import library, of_two_boards
from host.player.stand import Stand
from host.player.wiggle import Judge, Looking
from tests.pico.cable import Cable
from tests.pico.image import files_of, loaded
from tests.pico.records import released
from tests.player.conftest import SETTINGS, armed, joined
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
    boot = Stand(bench, 50.0).boot(say=lambda text: None)["boot"]
    assert bench.trip == "power-cut" and boot["heat_moved"] == []
    assert boot["high_ms"]["HEAT_TOP"] < 250 and boot["high_ms"]["CONTACTOR"] < 250  # before the reset alone
    assert 4.0 < boot["armed_s"] < 9.0


def test_duo_board_left_at_its_prompt_is_started_by_the_stand(duos, harness):
    """Where `check` leaves it: its flag set, nothing armed, at the raw prompt; and every run, at the plain one."""
    files = {**released(release_c=60, settings=SETTINGS), plan.FLAG: b""}
    duo = duos(board=loaded(plan.make("boards/pico.py", is_compiled=True), files))
    bench = joined(duo, harness)
    assert bench.until(lambda: any("maintenance: outputs off" in text for text in bench.board.noise), 6)
    duo.op(op="send", who="board", data="\r\x03\x01")
    stand = Stand(bench, 50.0).arm()
    assert bench.trip == "none" and "armed" not in bench.status["missing"]
    assert [event[2] for event in duo.events if event[1] == "reset"] == ["board"]
    stand.close()  # and there it is left again
    duo.run(1.5)
    assert duo.op(op="levels")["levels"]["CONTACTOR"][2] == 0 and bench.trip == "none"
    assert plan.FLAG in files_of(duo.flash(who="board"))


WRONG = (  # how it is made, how it is mended, what is said
    (("swap", "ENABLE", "LIMIT_OK"), ("swap", "ENABLE", "LIMIT_OK"), "ENABLE and LIMIT_OK are swapped"),
    (("swap", "HEAT_TOP", "dome.cs"), ("swap", "HEAT_TOP", "dome.cs"), "dome.cs and HEAT_TOP are swapped"),
    (
        ("open", "MAINS_SENSE_DECK", None),
        ("join", "MAINS_SENSE_DECK", None),
        "MAINS_SENSE_DECK is open: nothing arrives",
    ),
    (("rail", "dome.miso", 1), ("rail", "dome.miso", "free"), "dome.miso is short to 3V3"),
    (("rail", "HEAT_DECK", 0), ("rail", "HEAT_DECK", "free"), "HEAT_DECK is short to GND"),
    (("lift", "CONTACTOR", None), None, "CONTACTOR has no resistor to GND: the chip's own pull-up lifts it"),
)


def test_duo_check_names_a_wrong_harness_with_both_boards_at_their_prompts(duos, harness):
    bare = loaded(None, player_files(main=False))
    duo = duos(bare, bare)
    duo.run(1.0)
    with Cable(OneOf(duo, "player")) as theirs, Cable(OneOf(duo, "board")) as ours:
        with prompt.board_at_prompt(ours, is_cold=True, say=lambda text: None) as board:
            with prompt.player_at_prompt(theirs) as player:
                looking = Looking(harness, prompt.PromptEnd(board), prompt.PromptEnd(player))
                assert Judge(harness, looking.all()).findings == []
                for made, mended, words in WRONG:
                    duo.op(op="wire", kind=made[0], one=made[1], other=made[2])
                    found = [finding.text for finding in Judge(harness, looking.all()).findings]
                    assert len(found) == 1 and words in found[0], (made, found)
                    if mended:
                        duo.op(op="wire", kind=mended[0], one=mended[1], other=mended[2])


def test_duo_load_puts_the_player_onto_a_bare_pico_and_it_plays(duos, harness):
    bare = loaded(None, {})
    duo = duos(bare, bare)
    duo.run(1.0)
    with Cable(OneOf(duo, "player")) as port:
        done = prompt.load(port)
    assert done["files"] == len(player_files())
    duo.until(lambda: duo.usb["player"], 3)
    duo.run(0.5)
    assert duo.ask("player", "who") == "player 1 new start"
