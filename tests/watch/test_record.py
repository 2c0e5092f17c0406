"""The record of a watched evening: its date from the start on, what the board counted, and what held it."""

import json
import re

import pytest
from watch_boards import Ticking, simulated

from host.link.client import SimulatedClient
from host.oven import preset
from host.runs.recording import read_run
from host.runs.summary import summarise
from host.simulator.rehearsal import Rehearsal
from host.talk.kept import counters
from host.watch.record import Recorder
from host.watch.watcher import Watcher
from tools import watch
from tools.__main__ import main


@pytest.fixture
def recorded(tmp_path):
    """(watcher, client) that record into tmp_path/run."""
    client = simulated()
    recorder = Recorder(tmp_path / "run", {"simulated": True})
    return Watcher(lambda: client, client, recorder, wall=Ticking(0.1)), client


def test_record_that_is_cut_off_keeps_its_date_and_says_that_it_was_simulated(recorded, tmp_path):
    watcher, _ = recorded
    watcher.poll()
    stored = json.loads((tmp_path / "run" / "summary.json").read_text(encoding="utf-8"))
    assert re.match(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d", stored["started"]) and stored["simulated"] is True


def test_record_carries_the_boards_name_and_what_it_counted_itself(recorded, tmp_path):
    watcher, client = recorded
    watcher.poll()
    before = counters(client)
    client.ask("start")
    for _ in range(40):
        watcher.poll()
        client.wait(1)
    client.ask("stop")
    client.wait(5)
    after = counters(client)
    watcher.close()
    stored = read_run(tmp_path / "run").summary
    assert stored["board"] == client.rehearsal.pins.NAME and stored["counters"] == after
    assert stored["top_switchings"] == after["top"] - before["top"] > 0
    assert stored["contactor_switchings"] == after["contactor"] - before["contactor"] > 0


def test_record_tells_what_held_the_evening(recorded, tmp_path):
    watcher, client = recorded
    client.ask("start")
    client.wait(30)
    watcher.poll()
    client.rehearsal.outside.enable = False
    for _ in range(5):
        client.wait(1)
        watcher.poll()
    client.rehearsal.outside.enable = True
    client.wait(2)
    assert client.ask("resume").startswith("ok")
    watcher.poll()
    watcher.close()
    record = read_run(tmp_path / "run")
    (held,) = summarise(record.rows, record.events)["hold_list"]
    assert held["reason"] == "enable-open" and "Close ENABLE" in held["text"] and held["seconds"] > 3


@pytest.mark.parametrize("at", ["Recorder", "Watcher"])
def test_leaving_before_the_first_question_is_no_traceback(at, tmp_path, monkeypatch, capsys):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(watch, at, interrupted)
    assert main(["watch", "--simulated", "--record", str(tmp_path / "run"), "--samples", "1"]) == 0
    assert "left" in capsys.readouterr().err


def test_watched_pseudo_terminal_is_recorded_as_practice(tmp_path):
    class Port:
        name = "/dev/pts/4"

    class Client:
        port = Port

    class Options:
        simulated, port = False, None

    assert watch.practised(Options, Client) == {"simulated": True}
    Port.name = "/dev/ttyACM0"
    assert watch.practised(Options, Client) == {}
    link = tmp_path / "board"
    link.symlink_to("/dev/pts/4")
    Options.port = str(link)
    assert watch.practised(Options, Client) == {"simulated": True}


@pytest.mark.slow
def test_watched_evening_has_the_figures_that_the_oven_itself_had(tmp_path):
    rehearsal = Rehearsal(plant=preset("light", 1), settings={"setpoint_c": 110, "soak_min": 1, "bake_s": 60})
    rehearsal.advance(5)
    client = SimulatedClient(rehearsal)
    watcher = Watcher(lambda: client, client, Recorder(tmp_path / "run"))
    watcher.poll()
    client.ask("start")
    while rehearsal.stage != "none" and rehearsal.now_s < 6000:
        watcher.poll()
        client.wait(0.5)
        if rehearsal.state == "running" and any(one["kind"] == "breads" and one["value"] for one in rehearsal.events):
            client.ask("stop")
    relays = {relay.zone: relay.switchings for relay in rehearsal.outside.relays}
    counts = {**relays, "contactor": rehearsal.outside.contactor.closings}
    own = summarise(rehearsal.rows, rehearsal.events, None, counts)
    watcher.close()
    rehearsal.close()
    record = read_run(tmp_path / "run")
    seen = summarise(record.rows, record.events, None, {zone: record.summary[f"{zone}_switchings"] for zone in counts})
    assert own["breads"] == seen["breads"] == 1 and record.rows["t_s"][0] < 2.0
    for name in ("setpoint_c", "top_switchings", "deck_switchings", "contactor_switchings", "holds", "trips"):
        assert seen[name] == own[name], name
    # one row a second or two against one a second
    assert seen["to_setpoint_s"] == pytest.approx(own["to_setpoint_s"], abs=6)
    assert seen["highest_reading_c"] == pytest.approx(own["highest_reading_c"], abs=1.0)
    assert seen["top_on_min"] == pytest.approx(own["top_on_min"], rel=0.1)
