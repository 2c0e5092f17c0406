"""Run by MicroPython's unix port: the player's own code with fake pins, a line in, its reply out. Arguments: folder of
the fakes, folder of the player's files. Each line of standard input is `<ms to pass> <pin>=<level>,... <text>`."""

import sys

sys.path[:0] = [sys.argv[1], sys.argv[2]]


class Time:
    us = 0

    def ticks_us(self):
        return self.us & 0x3FFFFFFF

    def ticks_ms(self):
        return self.us // 1000 & 0x3FFFFFFF

    def ticks_diff(self, a, b):
        return (a - b + 0x20000000 & 0x3FFFFFFF) - 0x20000000

    def ticks_add(self, a, b):
        return a + b & 0x3FFFFFFF

    def sleep_ms(self, ms):
        self.us += ms * 1000


clock = Time()
sys.modules["time"] = clock
import machine  # noqa: E402
from player import play  # noqa: E402

machine.level.update({pin: 0 for pin in range(29)})
machine.level.update({2: 1, 5: 1})
inbox = bytearray()
sent = []


def read():
    if not inbox:
        return None
    byte = bytes(inbox[:1])
    inbox[:] = inbox[1:]
    return byte


player = play.Player((read, sent.append))
for line in sys.stdin:
    ms, pins, text = line.rstrip("\n").split(" ", 2)
    for pair in pins.split(","):
        if "=" in pair:
            pin, level = pair.split("=")
            machine.outside(int(pin), int(level))
    for _ in range(int(ms) // 4):
        clock.us += 4000
        player.step()
    inbox.extend(text.encode() + b"\n")
    player.step()
    print(sent.pop().strip(), sorted(machine.driven.items()))
