"""A board whose program is older or newer than this laptop's: every command says in one line what to load."""

import binascii

import pytest

from host.link import client, ports
from host.link.frames import on_wire
from tests.talk.far_end import Clock, Port


def framed(text, mark="*"):
    return f"~{text}{mark}{binascii.crc_hqx(text.encode(), 0xFFFF):04X}\n".encode()


OLD = framed("no checksum missing: end the line with *HHHH")  # as boards replied when their frame had a star
NEWER = b"~" + on_wire("done version=9.0 link=3 board=hall release=full")
COMMANDS = [
    "say status",
    "say --list",
    "settings",
    "settings set attend_min 9",
    "settings backup hall.settings.json",
    "bake show",
    "bake send rye-crisp",
    "bake start --yes",
    "bake stop",
    "spot 412",
    "fetch",
    "learn --yes",
    "watch --samples 1",
    "watch --pull",
    "calibrate --live --altitude-m 540 --yes",
    "commission --status",
]


@pytest.fixture
def plugged(monkeypatch, tmp_path):
    """Call with what the far end says."""
    monkeypatch.chdir(tmp_path)
    made = client.LineClient
    monkeypatch.setattr(client, "LineClient", lambda port, reply_s: made(port, reply_s, Clock(), lambda s: None))
    monkeypatch.setattr(ports, "choose", lambda name=None: name or "somewhere")

    def put(said):
        monkeypatch.setattr(ports, "open_port", lambda name: Port(lambda line: said))

    return put


@pytest.mark.parametrize("line", COMMANDS)
def test_old_board_is_told_in_one_line_with_what_to_load(plugged, typed, tmp_path, line):
    plugged(OLD)
    assert typed(*line.split()) == 2
    assert typed.err.count("\n") == 1 and "an older program" in typed.err
    assert "tizzone deploy --board" in typed.err and not list(tmp_path.iterdir())


def test_newer_board_is_told_that_the_laptop_is_old(plugged, typed):
    plugged(NEWER)
    for line in COMMANDS:
        assert typed(*line.split()) == 2
        assert typed.err.count("\n") == 1 and "update the laptop" in typed.err


@pytest.mark.parametrize("port", [[], ["--port", "somewhere"]])
def test_next_names_the_load_for_an_old_board(plugged, typed, port):
    plugged(OLD)
    assert typed("next", *port) == 0
    assert "step 4 of the guide comes next: tizzone deploy --board" in typed.out


def test_what_is_no_board_of_ours_is_told_in_one_line(plugged, typed):
    plugged(framed("hello", "|"))
    assert typed("say", "status") == 2
    assert typed.err.count("\n") == 1 and "not our program" in typed.err
