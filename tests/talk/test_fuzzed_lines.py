"""Lines that were damaged on the way: each gets a reply, none acts, whatever bytes were lost, doubled or turned."""

import random

import pytest

from host.link.frames import on_wire, with_checksum
from host.shim.loader import world
from host.simulator.rehearsal import Rehearsal
from host.talk import settings

FRAMES = world().load("tizzone.link.frames")
ACTS = (
    "start", "stop", "resume", "acknowledge", "unlock", "setpoint 300", "setting bake_s 600",
    "setting high_limit_c 530", "learn start", "correction dome 0:500 100000:400", "spot 412", "verdict right dark",
    "plan none", "witness begin lamp MB 20260105T1830", "witness attest papers MB 20260105T1830", "maintenance",
)  # fmt: skip


@pytest.mark.parametrize("act", ACTS)
def test_line_that_lost_any_stretch_of_bytes_is_refused_or_a_question(act):
    line = with_checksum(act)
    for begin in range(len(line)):
        for end in range(begin + 1, len(line) + 1):
            text, fault = FRAMES.unframed(line[:begin] + line[end:])
            assert fault or FRAMES.asks(text), (act, begin, end, text)


@pytest.mark.parametrize("act", ACTS)
def test_burst_of_up_to_sixteen_bits_is_always_noticed(act):
    """A CRC of 16 bits finds every burst of 16 bits or fewer: Peterson and Brown, Cyclic Codes for Error Detection,
    Proc. IRE 49 (1961), 228-235 (from memory). Bursts that touch text and checksum, and leave the bar alone."""
    line = with_checksum(act)
    rng = random.Random(act)
    body = len(act)
    for _ in range(300):
        bits = int.from_bytes(line[:body].encode(), "big")
        length = rng.randint(1, 16)
        at = rng.randint(0, 8 * body - length)
        burst = (1 << (length - 1)) | rng.getrandbits(length) | 1
        raw = (bits ^ (burst << at)).to_bytes(body, "big")
        damaged = "".join(map(chr, raw)) + line[body:]
        if any(byte >= 128 for byte in raw):
            continue  # the board reads ASCII and refuses the rest by its encoding
        text, fault = FRAMES.unframed(damaged)
        assert fault, (act, damaged, text)


def turned(rng, line):
    """The line, damaged in one way that wires and drivers know."""
    raw = bytearray(line)
    at = rng.randrange(len(raw) - 1)
    way = rng.randrange(6)
    if way == 0:
        del raw[at : at + rng.randint(1, 4)]
    elif way == 1:
        raw[at] ^= 1 << rng.randrange(8)
    elif way == 2:
        raw[at:at] = raw[at : at + rng.randint(1, 6)]
    elif way == 3:
        raw[at:at] = bytes(rng.randrange(256) for _ in range(rng.randint(1, 8)))
    elif way == 4:
        raw[at:at] = b"\n"
    else:
        raw[at], raw[at + 1] = raw[at + 1], raw[at]
    return bytes(byte for byte in raw if byte not in (3, 4))  # Ctrl-C and Ctrl-D are the console's own


@pytest.mark.slow
def test_fuzzed_lines_get_replies_and_nothing_acts():
    rng = random.Random(1961)
    with Rehearsal(board="boards/pico.py", cook=None) as board:
        board.advance(5)
        before = {name: board.send(f"setting {name}") for name in settings.table()}
        told = len(board.lines)
        sent = 0
        for _ in range(300):
            line = on_wire(rng.choice(ACTS))
            damaged = turned(rng, line)
            if b"\n" + line in b"\n" + damaged:
                continue  # the damage stands before the line, which is whole: it may act
            board.outside.rx += damaged if damaged.endswith(b"\n") else damaged + b"\n"
            sent += 1
            board.advance(0.75)
        replies = [text for _, text in board.lines[told:] if text.startswith("~")]
        assert sent > 230 and len(replies) >= sent
        assert not [
            text for text in replies if text.startswith("~done") and "=" not in text and " learning " not in text
        ]
        assert "state=idle" in board.send("status")
        assert {name: board.send(f"setting {name}") for name in settings.table()} == before
