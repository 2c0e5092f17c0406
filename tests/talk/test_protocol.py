"""Old boards, two laptops and lost bytes at the laptop's end of the line."""

import binascii
import random

import pytest

from host.link import LinkError, LinkLost, client, ports
from host.link.client import LineClient
from host.link.frames import on_wire, short, spoken, unframed
from host.simulator.rehearsal import Rehearsal
from tests.talk.far_end import Clock, Port


def old_reply(text):
    """As boards replied before: a star, other words."""
    return f"~{text}*{binascii.crc_hqx(text.encode(), 0xFFFF):04X}\n".encode()


def test_old_board_is_answered_with_one_line_that_says_what_to_load(monkeypatch):
    far = Port(lambda line: old_reply("no checksum missing: end the line with *HHHH"))
    monkeypatch.setattr(ports, "open_port", lambda name: far)
    made = client.LineClient
    monkeypatch.setattr(client, "LineClient", lambda port, reply_s: made(port, reply_s, Clock(), lambda s: None))
    with pytest.raises(LinkError, match="older program.*tizzone deploy") as told:
        client.open_board("somewhere")
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("reply", ["ok", "ok pv_mc=1", "no nothing runs (idle)"])
def test_words_of_the_wire_and_of_the_commands_belong_together(reply):
    assert short(spoken(reply)) == reply
    assert unframed("~" + on_wire(spoken(reply)).decode()) == reply
    assert unframed("~" + on_wire(spoken(reply)).decode()[:-2]) is None


def test_lines_of_two_laptops_that_run_into_each_other_never_act():
    """Two programs on one port: whatever the mixture of their lines, nothing acts that was not sent whole."""
    rng = random.Random(17)
    with Rehearsal(board="boards/pico.py", cook=None) as board:
        board.advance(5)
        for _ in range(40):
            lines = [on_wire("start"), on_wire("setting bake_s 60"), on_wire("setpoint 300")]
            first, second = rng.sample(lines, 2)
            at, to = rng.randrange(1, len(first) - 1), rng.randrange(1, len(second))
            board.outside.rx += first[:at] + second[:to] + first[at:]
            board.advance(1)
        assert "state=idle" in board.send("status") and "setpoint_mc=450000" in board.send("status")
        assert "bake_s=90" in board.send("setting bake_s")


def test_lost_reply_of_an_act_is_told_and_the_act_is_sent_once():
    sent = []
    board = LineClient(Port(lambda line: sent.append(line) or b"~done|B4"), 2.0, Clock(), lambda s: None)
    with pytest.raises(LinkLost):
        board.ask("start")
    assert sent == [on_wire("start").decode()]
