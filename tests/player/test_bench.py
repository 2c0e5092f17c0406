"""The run and the drill, with the device's own code and the player's own code on the laptop."""

import json

import pytest

from host.files.writing import NotWritten
from host.link import LinkLost
from host.link.frames import with_checksum
from host.player import PlayerError, proof
from host.player.drill import Drill, Result
from host.player.evening import apart, bake, record, settings_of, simulated
from host.player.faults import library, of_two_boards, ordered
from host.player.measures import away_s, bite_s, high_ms, ticks
from host.player.stand import Stand
from host.player.wire import PlayerClient, Told, Turn
from host.runs.recording import RunWriter, read_run
from tests.player.conftest import armed, small
from tests.player.table import Table


@pytest.fixture(scope="module")
def heated():
    table = Table()
    assert armed(table.bench) and table.bench.send("start") == "ok"
    return table


def quiet(text):
    return None


def test_bench_board_heats_the_played_oven(heated):
    bench = heated.bench
    assert bench.until(lambda: bench.stage == "preheat" and bench.status["pv_c"] > 30.0, 60)
    assert (
        bench.trip == "none"
        and bench.outside.relays[0].wave
        and bench.rows[-1]["heat_top"] == pytest.approx(1.0, abs=0.3)
    )
    assert bench.reads["dome"][1:] == (0, 0, 0)
    assert bench.outside.contactor.is_closed and "CONTACTOR_OPEN" not in bench.status["missing"]


@pytest.mark.slow
def test_drill_of_every_fault_that_a_harness_can_make_ends_the_heat_for_the_promised_reason():
    table = Table()
    assert armed(table.bench)
    cases = ordered(
        [*library(table.harness, 50.0), *(case for case in of_two_boards(table.harness) if not case.needs_return)]
    )
    results = Drill(table.bench, quiet).run(cases)
    assert len(results) >= 40
    assert [(result.name, result.reason, result.failed) for result in results if result.failed] == []
    assert max(result.off_ms for result in results if result.name.startswith("dome_")) < 11_000
    assert results[-1].name == "player_silent"
    Drill(table.bench, quiet).ready()  # and the board can be used afterwards


def test_drill_order_puts_holds_first_and_never_locks_out_with_the_domes_probe_in_doubt(heated):
    cases = ordered([*library(heated.harness, 50.0), *of_two_boards(heated.harness)])
    names = [case.name for case in cases]
    holds = [case for case in cases if case.is_hold]
    assert len(set(names)) == len(names) >= 43 and cases[: len(holds)] == holds
    assert names[-1] == "player_silent"  # takes every probe away: none may follow
    trips = [case.name for case in cases[:-1] if not case.is_hold and not case.needs_return]
    assert not [name for name in trips[2::3] if name.startswith("dome_")]
    assert all(case.needs_return for case in cases[len(holds) + len(trips) : -1])


def test_drill_sees_a_heat_that_goes_on(heated, monkeypatch):
    """The check itself: a fault that nobody makes leaves the heat on, and the drill says so."""
    case = next(case for case in library(heated.harness, 50.0) if case.name == "enable_open")
    idle = type(case)(case.name, case.words, case.promise, lambda bench: None, lambda bench: None)
    result = Drill(heated.bench, quiet).carry_out(idle)
    assert result.failed


def test_drill_of_a_board_that_does_not_heat_says_what_stands_against_it():
    table = Table()
    assert armed(table.bench)
    table.bench.outside.enable = False
    with pytest.raises(PlayerError, match="does not heat.*enable"):
        Drill(table.bench, quiet).ready()


@pytest.mark.slow
def test_evening_on_two_boards_is_the_simulated_one_row_by_row(tmp_path):
    table = Table()
    assert armed(table.bench)
    settings = settings_of(table.bench)
    assert settings["setpoint_c"] == 50 and settings["window_ms"] == 4000
    before = len(table.bench.rows)
    with RunWriter(tmp_path / "run", Stand.row_names) as writer:
        assert record(table.bench, writer, 2, settings["bake_s"]) in ("complete", "stopped", "idle")
    rows = read_run(tmp_path / "run").rows
    assert len(rows) == len(table.bench.rows) - before and max(rows["pv_c"]) > 45
    other = simulated("boards/pico.py", small(), settings, 2)
    compared = apart(table.bench.rows, other.rows)
    assert compared.is_within and compared.rows > 60, compared
    warmer = [{**row, "pv_c": row["pv_c"] + 4.0} for row in table.bench.rows]
    assert not apart(warmer, other.rows).is_within


def test_laptop_that_loses_the_player_ends_with_one_line_and_nothing_driven():
    table = Table()
    assert armed(table.bench) and table.bench.send("start") == "ok"
    table.bench.advance(6.0)
    table.port.gone = True
    with pytest.raises(LinkLost, match="player's port has gone"):
        table.bench.turn()
    for _ in range(8):
        table.board.turn()
    assert not table.made.machine.driven
    assert table.board.life.app.heater.top.on == table.board.life.app.heater.contactor_on == 0


def test_bench_without_an_evening_cannot_be_compared():
    with pytest.raises(PlayerError, match="never ran"):
        apart(
            [
                {
                    "t_s": 1.0,
                    "state": "idle",
                    "pv_c": 20.0,
                    "heat_top": 0,
                    "heat_deck": 0,
                    **dict.fromkeys(Stand.row_names, 0),
                }
            ],
            [],
        )


def test_evening_that_the_board_refuses_says_why():
    table = Table()
    assert armed(table.bench)
    table.bench.outside.contacts.cut_wires.add("LIMIT_OK")
    table.bench.advance(2.0)
    with pytest.raises(PlayerError, match="refuses to start.*limiter"):
        bake(table.bench, 1, 15)


def test_ticks_measure_period_jitter_and_the_longest_stall():
    at, times = 0, []
    for number in range(400):
        at += 250_000 + (2_000 if number % 2 else -2_000)
        times.append(at)
    times[300:] = [t + 90_000 for t in times[300:]]  # one flash write
    got = ticks(times)
    assert (got["period_ms"], got["p01_ms"], got["longest_ms"]) == (252.0, 248.0, 338.0)
    assert got["longest_stall_ms"] == 88.0 and ticks(times[:5]) == {}
    later = [*times, times[-1] + 1_900_000]  # a restart is no stall where it is known
    assert ticks(later)["longest_ms"] == 1900.0 and ticks(later, [times[-1] - 100])["longest_ms"] == 338.0
    assert away_s([*times, times[-1] + 9_000_000], times[-1]) == 9.0 and away_s(times, times[0]) is None


def test_watchdog_bites_when_what_the_stopped_program_left_on_goes_out():
    times = [0, 250_000, 6_900_000, 7_150_000]
    heat = [(300_000, "HEAT_TOP", 0), (300_000, "COOLING_FAN", 0)]
    assert bite_s(times, [*heat, (4_260_000, "LED", 0), (6_000_000, "LED", 0)], 290_000) == 4.01
    assert bite_s(times, heat, 290_000) is None and bite_s(times[2:], heat, 6_900_000) is None


def test_high_times_are_those_within_the_span():
    edges = [(0, "HEAT_TOP", 1), (100_000, "HEAT_TOP", 0), (200_000, "LED", 1)]
    got = high_ms(edges, ["HEAT_TOP", "LED"], {"HEAT_TOP": 1}, (50_000, 300_000))
    assert got == {"HEAT_TOP": 50.0, "LED": 100.0}


def made_proof(heated, failed=""):
    case = next(case for case in library(heated.harness, 50.0) if case.name == "dome_open")
    result = Result(case.name, case.words, "probe-open", 320.0, 320.0, 1.0, failed)
    boot = {"armed_s": 5.3, "high_ms": {"LED": 3.0, "HEAT_TOP": 0.0}, "heat_moved": []}
    measures = {"ticks": ticks(range(0, 10_000_000, 250_000)), "boot": boot, "watchdog_s": 9.1,
                "watchdog_bite_s": 4.0, "watchdog_set_s": 4.0, "edges_lost": 0, "player_longest_ms": 21,
                "reads": {"dome": [100, 0, 1, 0]}}  # fmt: skip
    return proof.proof(heated.harness, {"board": "pico", "version": "1", "mark": "AB12"}, [result], measures)


def test_proof_says_one_sentence_and_is_kept_once(heated, tmp_path):
    made = made_proof(heated)
    assert proof.sentence(made).startswith("your board, your wiring: 1 faults, all off within 320 ms")
    assert "safe" not in proof.sentence(made)
    proof.write(tmp_path / "bench.json", made)
    assert json.loads((tmp_path / "bench.json").read_text())["mark"] == "AB12"
    with pytest.raises(NotWritten):
        proof.write(tmp_path / "bench.json", made)
    page = proof.page(made)
    assert "probe-open" in page and "armed after 5.3 s" in page and "the watchdog bit 4.0 s after that tick" in page
    assert "dome 100 (1 of other than 32 clocks or held)" in page


def test_proof_with_a_miss_names_it(heated):
    made = made_proof(heated, "a heat pin is still high")
    assert proof.sentence(made) == "your board, your wiring: 1 of 1 faults missed: dome_open"
    assert "MISSED: a heat pin is still high" in proof.page(made)


def test_drill_of_a_box_with_a_panel_presses_its_stop_button():
    table = Table("pico_panel")
    assert armed(table.bench)
    (case,) = [case for case in of_two_boards(table.harness) if case.name == "stop_pressed"]
    result = Drill(table.bench, quiet).carry_out(case)
    assert (result.reason, result.failed) == ("none", "") and 0 < result.off_ms < 600  # it stops, and is no alarm


class Scripted:
    """A player that tells what it is given."""

    def __init__(self, *told):
        self.told = list(told)

    def turn(self, turn):
        return self.told.pop(0)


def test_bench_misses_no_edge_whatever_levels_the_reply_beside_it_tells():
    """A heat pin rose between the reply's levels and its edges; its fall was taken for nothing new, and the drill
    called a heat pin high that was low."""
    table = Table()
    bench, top = table.bench, 1 << table.harness.wire("HEAT_TOP").player
    bench.edges.clear()
    now_us, rest = bench.outside.now_us, bench._levels
    told = [(rest, [(1, rest | top)]), (rest | top, []), (rest, [(201_000, rest)]), (rest, [])]
    bench.player = Scripted(*(Told(now_us + 100_000 * (number + 1), levels, 0, False,
                                   [(now_us + at, new) for at, new in edges], [], {}, 0, 0)
                              for number, (levels, edges) in enumerate(told)))  # fmt: skip
    for _ in told:
        bench.turn()
    assert bench.edges == [(now_us + 1, "HEAT_TOP", 1), (now_us + 201_000, "HEAT_TOP", 0)]


def test_bench_takes_the_levels_for_an_edge_that_was_lost_once_they_are_told_twice():
    table = Table()
    bench, deck = table.bench, 1 << table.harness.wire("HEAT_DECK").player
    bench.edges.clear()
    now_us, rest = bench.outside.now_us, bench._levels
    bench.player = Scripted(*(Told(now_us + 100_000 * number, rest | deck, 0, False, [], [], {}, 1, 0)
                              for number in (1, 2, 3)))  # fmt: skip
    for _ in range(3):
        bench.turn()
    assert bench.edges == [(now_us + 200_000, "HEAT_DECK", 1)]


class Answering:
    """A player's port that gives the lines of a list, one a question."""

    def __init__(self, *replies):
        self.replies = list(replies)
        self.in_waiting = 0

    def write(self, data):
        self.in_waiting = 1

    def read(self, count):
        self.in_waiting = 0
        return ("~" + with_checksum(self.replies.pop(0)) + "\n").encode()


def test_player_client_takes_an_edge_that_came_while_the_reply_was_written_for_what_it_is():
    """It was taken for one of 18 minutes ago, and a fall that nobody counts is a heat pin that stays high."""
    wrap = 1 << 30
    port = Answering(
        f"turned {wrap - 500:x} 0 0 0 - - 1,0,0,0 0 4",
        f"turned {99_500:x} 0 0 0 {wrap - 100:x}:1,{100_000:x}:0 {100_200:x} 2,0,0,0 0 4",
    )
    client = PlayerClient(port, lambda: 0.0)
    client.probes = ["dome"]
    assert client.turn(Turn()).now_us == 0
    told = client.turn(Turn())
    assert (told.now_us, told.edges, told.ticks_us) == (100_000, [(400, 1), (100_500, 0)], [100_700])
