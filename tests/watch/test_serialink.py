"""The laptop's end of the line: what it believes, what it repeats, and what it says when a port is no use."""

import os
import types

import pytest
from watch_boards import FakePort, Ticking, framed

from host.link import LinkError, LinkLost, PortError, ports
from host.link.client import LineClient, open_board
from host.link.frames import unframed, with_checksum
from host.link.ports import open_port


def client(answer, step_s=0.25):
    return LineClient(FakePort(answer), clock=Ticking(step_s))


def test_checksum_is_the_catalogued_one():
    # CRC-16/IBM-3740, alias CCITT-FALSE: check value 0x29B1 over "123456789" (CRC RevEng catalogue)
    assert unframed("~123456789|29B1") == "123456789"
    assert unframed("~123456789|29B2") is None
    # a mark in the text (a foretold time has one) or in what stands before it is no other beginning
    framed = "ready in|~39 min"
    assert unframed("no~ise~" + with_checksum(framed)) == framed


@pytest.mark.parametrize(
    "line", ["", "~", "ok|", "ok state=idle", "~ok|12", "~ok|zzzz", "~123456789|29b1", "MicroPython v1.28", "|29B1"]
)
def test_line_that_is_no_reply_is_not_believed(line):
    assert unframed(line) is None


def test_noise_before_the_reply_is_skipped():
    board = client(lambda line: b"\x00rst:0x1 boot\r\nTraceback (most recent call last):\r\n" + framed("ok x=1"))
    assert board.ask("status") == "ok x=1"
    assert board.skipped == 2


def test_question_with_damaged_reply_is_asked_again():
    replies = [b"~done pv_mc=999|0000\n", framed("ok pv_mc=1")]

    def damaged_once(line):
        return replies.pop(0) if line.startswith("status") else framed("no setting sync1 is not known")

    board = client(damaged_once)
    assert board.ask("status") == "ok pv_mc=1"
    assert [line[:6] for line in board.port.written] == [b"status", b"settin", b"status"]


@pytest.mark.parametrize("line", ["start", "stop", "setpoint 450", "witness cut", "setting breads 6", "acknowledge"])
def test_act_without_reply_is_sent_once_and_told(line):
    board = client(lambda line: b"")
    with pytest.raises(LinkLost, match="no reply to"):
        board.ask(line)
    assert len(board.port.written) == 1


def test_late_reply_is_not_taken_for_the_next_one():
    board = client(lambda line: framed("ok " + line.split("|")[0]))
    board.port.waiting = framed("ok stale")
    assert board.ask("version") == "ok version"


def test_overdue_reply_is_never_taken_for_the_next_one():
    """The board answers in order: after a reply that did not come in time the client finds its place again first."""
    held = []

    def slow(line):
        text = line.rpartition("|")[0]
        if text == "start":
            held.append(framed("ok"))  # comes when nobody waits for it any more
            return b""
        late = b"".join(held)
        held.clear()
        if text.startswith("setting sync"):
            return late + framed(f"no setting {text.split()[1]} is not known")
        return late + framed("no nothing runs (idle)")

    board = client(slow)
    with pytest.raises(LinkLost):
        board.ask("start")
    assert board.ask("stop") == "no nothing runs (idle)"


def test_line_on_the_wire_carries_its_checksum_and_no_control_bytes():
    board = client(lambda line: framed("ok"))
    board.ask("123456789")
    assert board.port.written == [b"123456789|29B1\n"]


def test_port_that_goes_away_is_told_as_lost():
    def gone(line):
        raise OSError(5, "Input/output error")

    with pytest.raises(LinkLost, match="the port has gone"):
        client(gone).ask("status")


def test_flood_without_line_ends_is_forgotten_not_kept():
    board = client(lambda line: b"x" * 100_000)
    with pytest.raises(LinkLost):
        board.ask("stop")
    assert len(board._cutter.rest) <= 4096


def test_missing_port_says_which_boards_there_are():
    with pytest.raises(LinkError, match="no such port; boards plugged in"):
        open_port("/dev/no-such-port")


def test_file_that_is_no_port_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(LinkError, match="not a serial port"):
        open_port(str(tmp_path / "file"))


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="pseudo-terminals are needed")
def test_busy_port_is_told_with_what_to_do():
    ours, theirs = os.openpty()
    with open_port(os.ttyname(theirs)):
        with pytest.raises(LinkError, match="busy: another program has it open; close that one"):
            open_port(os.ttyname(theirs))
    os.close(ours)
    os.close(theirs)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="pseudo-terminals are needed")
def test_port_with_no_board_behind_it_is_told():
    ours, theirs = os.openpty()
    with pytest.raises(LinkError, match="opens, but no controller answers"):
        open_board(os.ttyname(theirs), reply_s=0.05)
    os.close(ours)
    os.close(theirs)


def usb(device, vid=0x2E8A):
    """A port as pyserial lists it."""
    return types.SimpleNamespace(device=device, vid=vid, serial_number="E66" + device[-1], product="Board")


def test_several_boards_are_listed_and_none_is_guessed(monkeypatch):
    monkeypatch.setattr(ports, "attached", lambda: [usb("COM3"), usb("COM7")])
    with pytest.raises(PortError, match=r"2 boards are plugged in \(COM3 .*; COM7 .*\): say which with --port"):
        open_board()


def test_no_board_at_all_says_what_to_do(monkeypatch):
    monkeypatch.setattr(ports, "attached", lambda: [])
    with pytest.raises(PortError, match="no board found on USB: plug it in"):
        open_board()


def test_the_only_board_among_other_usb_ports_is_found_and_a_named_port_is_kept(monkeypatch):
    monkeypatch.setattr(ports, "attached", lambda: [usb("ttyUSB3", vid=0x1234), usb("ttyACM0")])
    assert ports.choose() == "ttyACM0"
    assert ports.choose("COM7") == "COM7"
    monkeypatch.setattr(ports, "attached", lambda: [usb("ttyUSB3", vid=0x1234)])
    assert ports.choose() == "ttyUSB3"


def test_ports_that_are_there_can_be_told_in_words():
    assert all(ports.described(port).startswith(port.device) for port in ports.attached())
    assert ports.described(usb("COM3")) == "COM3 E663 Board"
