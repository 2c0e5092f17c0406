"""Framing of the link. CRC-16/CCITT-FALSE's check value is 0x29B1 for "123456789" (the catalogue of parametrised CRC
algorithms, entry CRC-16/IBM-3740; from memory), and Python's binascii.crc_hqx is an independent implementation."""

import binascii
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.shim.console import Console
from host.shim.loader import world

link = world().load("tizzone.link.frames")


class Wire:
    """A serial port in two lists; `room`: bytes that the other end still takes."""

    def __init__(self, data=b"", room=1 << 20):
        self.data = list(data)
        self.room = room
        self.sent = b""

    def any(self):
        return bool(self.data)

    def read1(self):
        return self.data.pop(0)

    def write(self, data, start, end):
        taken = min(self.room, end - start)
        self.room -= taken
        self.sent += data[start : start + taken]
        return start + taken


def sent(made):
    """Let the reply out, in pieces, as the pauses between ticks do."""
    while made.is_sending():
        made.pause_over(made.send())
    return made.streams.sent


def test_crc_gives_the_published_check_value():
    assert link.crc16("123456789") == 0x29B1


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=120))
def test_crc_agrees_with_an_independent_implementation(text):
    assert link.crc16(text) == binascii.crc_hqx(text.encode(), 0xFFFF)
    assert link.unframed(link.framed(text)) == (text, None)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("start", "missing"),
        ("stop", "missing"),
        ("setting bake_s 60", "missing"),
        ("plan none", "missing"),
        ("learn start", "missing"),
        ("night new", "missing"),
        ("stone forget", "missing"),
        ("witness restart", "missing"),
        ("maintenance", "missing"),
        ("", "missing"),
        ("status|12", "wrong"),
        ("status|0000", "wrong"),
        ("status|WXYZ", "readable"),
        ("status*85E7", "missing"),
        ("|", "read"),
    ],
)
def test_line_without_a_right_checksum_is_refused_with_a_word(line, word):
    text, fault = link.unframed(line)
    assert text is None
    assert word in fault


def test_line_arriving_byte_by_byte_is_taken_once_whole():
    wire = Wire()
    made = link.Link(wire)
    for byte in link.framed("status").encode():
        wire.data.append(byte)
        assert made.next_line() == (None, None)
    wire.data.append(10)
    assert made.next_line() == ("status", None)
    assert made.next_line() == (None, None)


def test_line_with_one_byte_changed_never_acts():
    good = (link.framed("start") + "\n").encode()
    for i in range(len(good) - 1):
        for change in (1, 2, 32, 128):
            bad = bytearray(good)
            bad[i] ^= change
            text, _ = link.Link(Wire(bytes(bad))).next_line()
            # a lower-case hex digit in the checksum is the same number, nothing else may pass
            assert text is None or (text == "start" and bytes(bad).lower() == good.lower())


def test_line_too_long_is_told_and_the_next_one_works():
    made = link.Link(Wire(b"x" * 500 + b"\n" + (link.framed("stop") + "\r\n").encode()))
    answers = [made.next_line() for _ in range(8)]
    assert any(fault and "longer" in fault for _, fault in answers)
    assert ("stop", None) in answers


def test_flood_is_read_in_bounded_pieces():
    wire = Wire(b"y" * 10_000)
    link.Link(wire).next_line()
    assert len(wire.data) >= 10_000 - 200


def test_reply_goes_out_marked_and_in_bounded_pieces():
    made = link.Link(Wire())
    assert made.reply("ok " + "x" * 300)
    assert made.streams.sent == b""
    made.send()
    assert len(made.streams.sent) == link.PIECE
    assert sent(made) == ("~" + link.framed("done " + "x" * 300) + "\n").encode()
    assert made.dropped == 0


@pytest.mark.parametrize("room", [0, 1, link.PIECE, 100])
def test_reply_that_nobody_reads_is_dropped_without_one_byte_too_many(room):
    made = link.Link(Wire(room=room))
    assert made.reply("ok " + "x" * 300)
    assert len(sent(made)) == room
    assert made.dropped == 1
    made.streams.room = 1 << 20
    assert made.reply("ok")
    assert sent(made)[room:] == ("~" + link.framed("done") + "\n").encode()


def test_reply_is_dropped_while_the_one_before_still_goes_out():
    made = link.Link(Wire(room=0))
    assert made.reply("ok one")
    assert not made.reply("ok two")
    assert made.dropped == 1


class BytesOnly:
    """A console whose text side decodes, as the board's does."""

    def __init__(self, data):
        port = type("Port", (), {"rx": bytearray(data), "can_write": lambda self: True, "outside": None})()
        self.console = Console(port)


@pytest.mark.parametrize("byte", [0xC3, 0xFF, 0x80, 0xF8])
def test_console_decodes_text_as_the_board_does_and_the_link_reads_bytes(byte):
    with pytest.raises(UnicodeError):
        BytesOnly([byte, 0x41]).console.stdin.read(1)
    made = link.Link(link.UsbStreams(BytesOnly(bytes([byte, 10]) + b"|\n").console))
    assert made.next_line()[1] == "checksum missing: end an act with |HHHH"


@given(st.binary(max_size=400))
def test_arbitrary_bytes_never_raise_and_never_act_unless_framed(data):
    made = link.Link(Wire(data))
    for _ in range(6):
        text, _ = made.next_line()
        assert text is None or link.asks(text) or link.framed(text).lower().encode() in data.lower()


ACTS = ("start", "stop", "hold", "resume", "reset", "acknowledge", "unlock", "present", "loaded", "maintenance", "rest",
        "setpoint 450", "spot 412", "verdict right right", "learn start", "setting bake_s 60", "correction dome 0:150",
        "plan none", "plan begin x 200 1", "night new", "stone forget", "witness restart", "witness cut")  # fmt: skip


@given(st.sampled_from(ACTS), st.lists(st.integers(0, 39), min_size=1, max_size=30), st.booleans())
def test_act_that_loses_bytes_on_the_way_never_acts(act, gone, cut_tail):
    """Whole or refused; what is left of it may be a question, which changes nothing."""
    whole = link.framed(act)
    left = "".join(letter for at, letter in enumerate(whole) if at not in gone)
    left = left[: len(left) // 2] if cut_tail else left
    text, _ = link.unframed(left)
    assert text is None or link.asks(text) or left == whole


@pytest.mark.parametrize("act", ACTS)
def test_act_is_no_question_with_and_without_its_last_word(act):
    assert not link.asks(act)


@pytest.mark.parametrize("line", ["status", "alarms door-open", "log 3", "setting bake_s", "plan", "learn", "witness"])
def test_question_may_come_without_a_checksum(line):
    assert link.unframed(line) == (line, None)


@pytest.mark.parametrize(
    ("said", "wire"), [("ok", "done"), ("ok pv_mc=1", "done pv_mc=1"), ("no door", "refused: door")]
)
def test_reply_begins_with_words_of_the_wire(said, wire):
    made = link.Link(Wire())
    made.reply(said)
    assert sent(made) == ("~" + link.framed(wire) + "\n").encode()


def test_link_takes_every_byte_value_and_long_and_half_lines_and_nothing_grows():
    """Whatever comes: a reply or nothing. What it keeps of a line is one buffer of fixed length."""
    rng = random.Random(16)
    made = link.Link(Wire())
    size = len(made._line)
    streams = [bytes([value]) for value in range(256)] + [rng.randbytes(1 << 20), b"z" * 10_000, b"half a li"]
    for data in streams:
        made.streams.data = list(reversed(data))
        made.streams.read1 = made.streams.data.pop
        while made.streams.any():
            text, fault = made.next_line()
            assert text is None
            if fault:
                made.reply("no " + fault)
                made._reply = b""
    assert len(made._line) == size
    made.streams = Wire(b"\n" + (link.framed("status") + "\n").encode())
    assert made.next_line()[1]
    assert made.next_line() == ("status", None)
