"""`tizzone player`: map, wrong use in one line, and run and drill on a table without chips."""

import json

import pytest

from host.link import ports
from host.player import PlayerError
from host.player.stand import Stand
from tests.player.table import BoardPort, Table
from tools import player
from tools.__main__ import main


@pytest.fixture
def table(monkeypatch):
    """Two ports, "board" and "player", on a simulated table."""
    made = Table()
    made.player.rest("another laptop")  # the board does not run meanwhile
    opened = {"board": lambda: BoardPort(made.side), "player": lambda: made.port}
    monkeypatch.setattr(ports, "open_port", lambda name, timeout_s=0.05: opened[name]())
    plain = Stand.opened.__func__
    monkeypatch.setattr(
        Stand, "opened", classmethod(lambda cls, *a: plain(cls, *a, clock=made.clock, sleep=made.sleep))
    )
    return made


BOTH = ["--port", "board", "--player", "player"]


def test_player_map_lists_every_wire_and_its_cautions(capsys, tmp_path):
    picture = tmp_path / "harness.svg"
    assert main(["player", "map", "--board", "esp32", "--draw", str(picture)]) == 0
    told = capsys.readouterr().out
    assert "HEAT_TOP" in told and "330 ohm" in told and told.count("CAUTION") == 7 and "DOOR " not in told
    assert "<svg" in picture.read_text() and "next: " in told


def test_player_map_as_json_holds_the_same(capsys):
    assert main(["player", "map", "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert len(got["wires"]) == 20 and got["wires"][0]["line"] == "GND"


@pytest.mark.parametrize("arguments, words", [
    (["check"], "say which is which"), (["check", "--port", "a", "--player", "a"], "same port"), (["load"], "--player"),
    (["map", "--board", "nowhere"], "no board"), (["map", "--setpoint", "900"], "30 to 530"),
    (["run", *BOTH, "--oven", "volcano"], "--oven"), (["drill", *BOTH, "--fault", "rain"], "cannot make it here"),
    (["check", "--port", "/dev/none1", "--player", "/dev/none2"], "no such port"),
    (["load", "--player", "/dev/none2"], "no such port"), (["run", "--breads", "-1"], "--breads"),
])  # fmt: skip
def test_player_wrong_use_is_told_in_one_line(capsys, arguments, words):
    assert main(["player", *arguments]) == 2
    told = capsys.readouterr().err
    assert words in told and told.count("\n") == 1, told


def test_player_drill_writes_the_proof_and_its_page(table, tmp_path, capsys):
    out = tmp_path / "bench"
    faults = ["--fault", "dome_open", "--fault", "enable_open", "--fault", "relay_open_top"]
    assert main(["player", "drill", *BOTH, *faults, "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert "your board, your wiring: 3 faults, all off within" in told and "tick: 250" in told
    made = json.loads((out / "bench.json").read_text())
    assert made["faults"] == 3 and made["missed"] == [] and len(made["mark"]) > 1 and not made["emulated"]
    assert "probe-open" in (out / "bench.html").read_text()
    assert not table.made.machine.driven  # nothing is driven afterwards


def test_player_drill_that_misses_says_so_and_ends_with_one(table, tmp_path, capsys, monkeypatch):
    case = next(case for case in player.faults.library(table.harness, 50.0) if case.name == "dome_open")
    idle = type(case)(case.name, case.words, case.promise, lambda bench: None, lambda bench: None)
    monkeypatch.setattr(player.faults, "library", lambda *a: [idle])
    monkeypatch.setattr(player.faults, "of_two_boards", lambda harness: [])
    assert main(["player", "drill", *BOTH, "--out", str(tmp_path / "bench")]) == 1
    told = capsys.readouterr()
    assert "1 of 1 faults missed: dome_open" in told.out and "no mains" in told.err


@pytest.mark.slow
def test_player_run_records_an_evening_beside_the_simulated_one(table, tmp_path, capsys):
    out = tmp_path / "evening"
    assert main(["player", "run", *BOTH, "--breads", "1", "--out", str(out), "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert got["is_within"] and got["rows"] > 60
    summary = json.loads((out / "summary.json").read_text())
    assert summary["beside_simulated"]["beyond"] == 0 and summary["board"] == "pico"
    assert summary["measures"] == got["measures"] and got["measures"]["ticks"]["period_ms"] == 250
    assert main(["report", str(out)]) == 0


@pytest.fixture
def played():
    """A table whose bench has begun."""
    return Table()


@pytest.mark.slow
def test_player_stand_of_a_board_that_ran_before_the_player_played_says_what_to_do(played):
    table = played
    table.bench.pause(3.0)
    assert table.bench.until(lambda: table.bench.trip == "limiter-open", 6)
    with pytest.raises(PlayerError, match="limiter-open.*ten hours.*--wait-out"):
        Stand(table.bench, 50.0).arm()
    warmth, said = table.board.life.app.supervisor.warmth, []  # and if it waits for them, it goes on
    warmth.rest_ms = table.board.world.load("tizzone.safety.limits").COOLED_MS - 90_000
    begun_s = table.bench.now_s
    assert Stand(table.bench, 50.0).arm(waits=True, say=said.append).bench.trip == "none"
    assert len(said) == 1 and "limiter-open" in said[0] and 60 < table.bench.now_s - begun_s < 240


def test_player_stand_acknowledges_a_trip_whose_cause_has_gone(played):
    played.bench.outside.limiter.has_tripped = True
    played.bench.advance(1.5)
    played.bench.outside.limiter.has_tripped = False
    assert Stand(played.bench, 50.0).arm().bench.trip == "none"


def test_player_stand_of_a_board_that_never_arms_says_what_is_missing(played):
    table = played

    def hangs():
        table.side.advance(250_000, {})

    table.board.turn = hangs
    table.bench.status = {}
    with pytest.raises(PlayerError, match="does not arm"):
        Stand(table.bench, 50.0).arm()


def test_player_boot_by_hand_looks_at_a_power_up_of_the_board(played):
    table, bench = played, played.bench
    stand = Stand(bench, 50.0).arm()
    plain, asked = bench.board.opens, []

    class Unplugged:
        in_waiting = property(lambda self: table.board_unplugged())

        def close(self):
            pass

    def unplugs(text):
        asked.append(text)
        table.side.orders.append(["power", 300_000])

        def gone():
            bench.board.opens = plain  # the next try finds it again
            raise OSError(5, "unplugged")

        table.board_unplugged = gone
        bench.board.port = Unplugged()

    kept, table.made.play._SILENT_MS = table.made.play._SILENT_MS, 60_000  # a restart is one long piece of its life
    seen = stand.boot(by_hand=True, say=unplugs)["boot"]
    table.made.play._SILENT_MS = kept
    assert len(asked) == 1 and "unplug" in asked[0]
    assert 3.0 < seen["armed_s"] < 9.0 and seen["heat_moved"] == []
    assert seen["high_ms"]["HEAT_TOP"] == seen["high_ms"]["CONTACTOR"] == 0
    assert stand.measures()["watchdog_bite_s"] is None
