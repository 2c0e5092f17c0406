"""The player's own code on real MicroPython: the same lines in, the same replies and driven pins as on CPython."""

import json
import subprocess
from pathlib import Path

from host.link.frames import with_checksum
from host.pins import pin_map
from host.player.harness import PLAYER_PINS, Harness
from host.player.prompt import BOARD
from host.player.wire import wires_of
from tests.player.fakes.loaded import fresh

HERE = Path(__file__).parent
AT = PLAYER_PINS
GOOD = "turn 1f 0000001 01234568 089abcd0"


def script():
    """(ms, {pin: level}, line) that walks through the player's states."""
    wires = "wires " + json.dumps(wires_of(Harness(pin_map.read("pico"))))
    heat, contactor, select = AT["HEAT_TOP"], AT["CONTACTOR"], AT["dome.cs"]
    return [
        (0, {}, "who"), (0, {}, GOOD), (0, {}, wires), (0, {}, "begin"), (0, {}, GOOD),
        (40, {contactor: 1, heat: 1, select: 0}, GOOD), (40, {heat: 0, select: 1}, "turn 1f 0020001 01234568 -"),
        (40, {contactor: 0}, "turn 3 1000121 - -"), (0, {}, "turn zz 0 - -"), (0, {}, "restart 50"), (100, {}, GOOD),
        (1100, {}, "who"), (0, {}, GOOD), (0, {}, "begin"), (0, {}, GOOD), (0, {}, "end"),
    ]  # fmt: skip


def on_cpython():
    made = fresh()
    made.machine.level.update({**dict.fromkeys(range(29), 0), 2: 1, 5: 1})
    inbox, sent, lines = bytearray(), [], []
    player = made.play.Player((lambda: bytes([inbox.pop(0)]) if inbox else None, sent.append))
    for ms, pins, text in script():
        for pin, level in pins.items():
            made.machine.outside(pin, level)
        for _ in range(ms // 4):
            made.time.us += 4000
            player.step()
        inbox += with_checksum(text).encode() + b"\n"
        player.step()
        lines.append(f"{sent.pop().strip()} {sorted(made.machine.driven.items())}")
    return lines


def test_player_on_micropython_answers_and_drives_as_on_cpython(interpreter):
    text = "".join(f"{ms} {','.join(f'{pin}={level}' for pin, level in pins.items()) or '-'} {with_checksum(line)}\n"
                   for ms, pins, line in script())  # fmt: skip
    command = [interpreter, str(HERE / "on_micropython.py"), str(HERE / "fakes"), str(BOARD)]
    done = subprocess.run(command, input=text, capture_output=True, text=True, timeout=60)
    assert done.stderr == "" and done.returncode == 0, done.stderr + done.stdout[-500:]
    got, wanted = done.stdout.splitlines(), on_cpython()
    assert got == wanted
    assert sum("~turned" in line for line in got) == 6 and "[]" in got[-1]
