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


@pytest.mark.parametrize(
    "line",
    [
        "status", "permissives", "alarms", "version", "log", "counters", "pace", "bread", "handover", "log 3",
        "alarms door-open", "setting bake_s", "plan", "night", "learn", "stone", "witness",
    ],
)  # fmt: skip
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


@pytest.mark.parametrize("shape", ["0{:04X}", "{:05X}", " {:04X}", "{:04X} ", "+{:04X}"])
def test_checksum_of_another_length_is_refused_though_its_number_is_right(shape):
    """A line is taken whole or not at all: four digits, no more, no fewer."""
    for text in ("status", "start"):
        assert link.unframed(text + "|" + shape.format(link.crc16(text))) == (None, "checksum wrong")
    small = next(text for text in map(str, range(10_000)) if link.crc16(text) < 0x1000)
    assert link.unframed(f"{small}|{link.crc16(small):X}") == (None, "checksum wrong")
    assert link.unframed(f"{small}|{link.crc16(small):04X}") == (small, None)


@pytest.mark.parametrize("line", ["", "   ", "setting", "setting bake_s 60", "plan none", "statuses", "loading 3"])
def test_what_is_no_question_needs_its_checksum(line):
    assert not link.asks(line)
    assert link.unframed(line) == (None, "checksum missing: end an act with |HHHH")


def test_checksum_is_of_all_before_the_last_bar():
    assert link.unframed(link.framed("a|b")) == ("a|b", None)


@pytest.mark.parametrize(("length", "taken"), [(119, True), (120, True), (121, False), (122, False)])
def test_line_of_120_characters_is_the_longest(length, taken):
    text = "x" * (length - 5)
    made = link.Link(Wire((link.framed(text) + "\n").encode()))
    answer = (text, None) if taken else (None, "line longer than 120 characters")
    assert made.next_line() == answer
    made.streams = Wire((link.framed("stop") + "\r").encode())
    assert made.next_line() == ("stop", None)


def test_a_tick_takes_160_bytes_and_leaves_the_rest_for_the_next():
    wire = Wire(b"\n" * 400)
    made = link.Link(wire)
    for left in (240, 80, 0, 0):
        assert made.next_line() == (None, None)
        assert len(wire.data) == left


@pytest.mark.parametrize("byte", [0, 9, 31, 127, 128, 255])
def test_byte_that_is_not_printable_counts_as_one_character_that_spoils_the_checksum(byte):
    made = link.Link(Wire(bytes([byte]) + (link.framed("status") + "\n").encode()))
    assert made.next_line() == (None, "checksum wrong")
    kept = link.Link(Wire(bytes([byte]) * 3 + b"\n"))
    kept.next_line()
    assert bytes(kept._line[:3]) == b"???"


@pytest.mark.parametrize("byte", [32, 33, 126])
def test_byte_that_is_printable_is_taken_as_it_is(byte):
    text = "a" + chr(byte) + "b"
    assert link.Link(Wire((link.framed(text) + "\n").encode())).next_line() == (text, None)


def test_reply_goes_out_64_bytes_a_pause_and_the_rest_is_dropped_after_four_pauses_that_take_nothing():
    made = link.Link(Wire())
    assert not made.is_sending()
    made.reply("ok " + "x" * 300)
    assert made.is_sending()
    assert made.send() is True and len(made.streams.sent) == 64
    made.streams.room = 0
    for _ in range(3):
        assert made.send() is False
        made.pause_over(False)
        assert made.is_sending() and made.dropped == 0
    made.pause_over(True)  # one that takes a byte starts the count again
    for _ in range(3):
        made.pause_over(False)
    assert made.is_sending()
    made.pause_over(False)
    assert not made.is_sending() and made.dropped == 1
    for _ in range(8):
        made.pause_over(False)
    assert made.dropped == 1
    made.streams.room = 1 << 20
    assert made.reply("ok one") is True
    for _ in range(3):
        made.pause_over(False)  # and so does the next reply
    assert made.is_sending()
    assert made.reply("ok two") is False and made.reply("ok three") is False
    assert made.dropped == 3
    assert len(made._line) == 120  # the memory of one line, taken once
    made.streams.sent = b""
    assert sent(made) == ("~" + link.framed("done one") + "\n").encode()


class Stream:
    """One side of a console; `buffer` moves bytes, as long as there are any, or room."""

    def __init__(self, data=b"", room=0):
        self.buffer = self
        self.data = bytearray(data)
        self.room = room

    def ready(self, wanted):
        return (wanted == 1 and len(self.data) > 0) or (wanted == 4 and self.room > 0)

    def readinto(self, buffer):
        buffer[0] = self.data.pop(0)

    def write(self, data):
        assert self.room >= len(data) == 1
        self.room -= 1
        self.data += data


class Poll:
    """select.poll of one stream; a look that waits is none of ours."""

    def __init__(self):
        self.watched = []

    def register(self, stream, wanted):
        self.watched.append((stream, wanted))

    def ipoll(self, timeout_ms):
        assert timeout_ms == 0
        (one,) = self.watched
        return iter([one] if one[0].ready(one[1]) else [])


def test_streams_read_one_byte_when_it_is_there_and_write_only_what_there_is_room_for(monkeypatch):
    stdin, stdout = Stream(b"\xffA"), Stream(room=3)
    console = type("Streams", (), {"stdin": stdin, "stdout": stdout, "poll": Poll})
    # the board's own, where no console is given
    monkeypatch.setattr(link.sys, "stdin", stdin)
    monkeypatch.setattr(link.sys, "stdout", stdout)
    monkeypatch.setattr(link.select, "poll", Poll)
    for made in (link.UsbStreams(), link.UsbStreams(console)):
        stdin.data[:], stdout.data[:], stdout.room = b"\xffA", b"", 3
        assert made.any() is True and made.read1() == 0xFF
        assert made.any() is True and made.read1() == 0x41
        assert made.any() is False
        assert made.write(b"0123456789", 2, 9) == 5
        assert bytes(stdout.data) == b"234"
        assert made.write(b"0123456789", 5, 9) == 5
        stdout.room = 100
        assert made.write(b"0123456789", 5, 9) == 9
        assert bytes(stdout.data) == b"2345678"


def test_link_that_has_sent_nothing_yet_has_nothing_to_drop():
    made = link.Link(Wire())
    assert made.send() is False and made.streams.sent == b""
    for _ in range(8):
        made.pause_over(False)
    assert made.dropped == 0


def test_each_reply_has_four_pauses_of_its_own():
    made = link.Link(Wire(room=0))
    for count in (1, 2, 3):
        made.reply("ok")
        for left in (3, 2, 1, 0):
            made.pause_over(made.send())
            assert made.is_sending() is (left > 0)
        assert made.dropped == count
