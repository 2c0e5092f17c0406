"""Framing of the link. CRC-16/CCITT-FALSE's check value is 0x29B1 for "123456789" (the catalogue of parametrised CRC
algorithms, entry CRC-16/IBM-3740; from memory), and Python's binascii.crc_hqx is an independent implementation."""

import binascii

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host.shim.loader import world

link = world().load("tizzone.link.frames")


class Wire:
    """A serial port in two lists."""

    def __init__(self, data=b"", writable=True):
        self.data = list(data)
        self.writable = writable
        self.sent = []

    def any(self):
        return bool(self.data)

    def read1(self):
        return self.data.pop(0)

    def can_write(self):
        return self.writable

    def write(self, text):
        self.sent.append(text)


def test_crc_gives_the_published_check_value():
    assert link.crc16("123456789") == 0x29B1


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=120))
def test_crc_agrees_with_an_independent_implementation(text):
    assert link.crc16(text) == binascii.crc_hqx(text.encode(), 0xFFFF)
    assert link.unframed(link.framed(text)) == (text, None)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("status", "missing"),
        ("status*12", "wrong"),
        ("status*0000", "wrong"),
        ("status*WXYZ", "readable"),
        ("*", "read"),
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


def test_reply_is_marked_and_dropped_when_nobody_reads():
    wire = Wire()
    made = link.Link(wire)
    assert made.reply("ok")
    assert wire.sent == ["~" + link.framed("ok") + "\n"]
    wire.writable = False
    assert not made.reply("ok")
    assert made.dropped == 1
    assert len(wire.sent) == 1


@given(st.binary(max_size=400))
def test_arbitrary_bytes_never_raise_and_never_act_unless_framed(data):
    made = link.Link(Wire(data))
    for _ in range(6):
        text, _ = made.next_line()
        assert text is None or link.framed(text).lower().encode() in data.lower()
