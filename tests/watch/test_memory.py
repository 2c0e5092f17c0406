"""What the board keeps over versions and damage, seen from the laptop: settings of an older version, damaged ones."""

import json
import zlib

import pytest
from watch_boards import Ticking, simulated

from host import oven
from host.link.client import SimulatedClient
from host.shim.loader import world
from host.simulator.rehearsal import Rehearsal
from host.watch.watcher import Watcher


def copy_of(name, sequence, version, value):
    """One stored copy as device/tizzone/memory/store.py describes it, made here by itself."""
    payload = json.dumps({"v": version, "value": value})
    check = zlib.crc32(f"{name} {sequence:04d} {payload}".encode()) & 0xFFFFFFFF
    return f"TZ1 {sequence:04d} {check:08X} {payload}".encode()


def board_with(settings, version):
    """A board whose settings were written by a program of that version."""
    rehearsal = Rehearsal(plant=oven.preset("standard", 1), commissioned=False)
    for sequence, end in ((0, "a"), (1, "b")):
        rehearsal.board.fs.files[f"settings.{end}"] = copy_of("settings", sequence, version, settings)
    rehearsal.advance(5)
    return SimulatedClient(rehearsal)


@pytest.fixture
def third_version(monkeypatch):
    """A program two versions on: in 2 a time became minutes, in 3 a name changed; counters changed on their own."""
    store = world().load("tizzone.memory.store")
    monkeypatch.setattr(store, "VERSION", 3)

    def minutes(value):
        return {**{n: v for n, v in value.items() if n != "soak_s"}, "soak_m": value["soak_s"] // 60}

    def renamed(value):
        return {**{n: v for n, v in value.items() if n != "soak_m"}, "soak_min": value["soak_m"]}

    def foreign(value):
        raise AssertionError("a migration of another name was run")

    steps = (("settings", 1, minutes), ("counters", 1, foreign), ("settings", 2, renamed))
    monkeypatch.setattr(store, "MIGRATIONS", steps)


@pytest.mark.parametrize(
    ("version", "stored"),
    [(1, {"soak_s": 1200, "breads": 4}), (2, {"soak_m": 20, "breads": 4}), (3, {"soak_min": 20, "breads": 4})],
)
def test_settings_of_every_older_version_are_taken_over(third_version, version, stored):
    client = board_with(stored, version)
    assert client.ask("setting soak_min").startswith("ok soak_min=20 ")
    assert client.ask("setting breads").startswith("ok breads=4 ")
    assert " trip=none " in client.ask("status")


def test_migrated_settings_are_stored_in_the_new_version_at_the_next_save(third_version):
    client = board_with({"soak_s": 1200}, 1)
    assert client.ask("setting breads 7").startswith("ok stored")
    files = client.rehearsal.board.fs.files
    newest = max((bytes(files[f"settings.{end}"]) for end in "ab"), key=lambda raw: int(raw[4:8]))
    assert json.loads(newest[18:]) == {"v": 3, "value": {"soak_min": 20, "breads": 7}}


def test_settings_of_a_newer_version_are_not_guessed():
    """A program that was loaded over a newer one: defaults, tripped, and the view says what to do."""
    client = board_with({"soak_min": 20}, 2)
    assert client.ask("setting soak_min").startswith("ok soak_min=15 ")
    assert " trip=settings-damaged " in client.ask("status")


def test_damaged_settings_are_told_with_what_to_do():
    client = simulated()
    for end in "ab":
        client.rehearsal.board.fs.files[f"settings.{end}"] = b"TZ1 0001 00000000 {}"
    client.rehearsal.outside.cut_power(2)
    client.wait(10)
    watcher = Watcher(lambda: client, client, wall=Ticking(0.1))
    watcher.poll()
    assert watcher.view["trip"] == "settings-damaged"
    said = "The stored settings are damaged. Defaults are in force: check every setting, then save them."
    assert watcher.view["trip_words"] == said
    assert client.ask("start").startswith("no missing: no-trip")
