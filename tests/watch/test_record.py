"""The record of a watched evening: its date from the start on, what the board counted, and what held it."""

import json
import re

import pytest
from watch_boards import Ticking, simulated

from host.runs.recording import read_run
from host.runs.summary import summarise
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
