"""Runs on MicroPython: a stand-in bus, and the loop under heap_lock."""

import micropython
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.reading import FAULT_NAMES


class Select:
    def __call__(self, level):
        pass


class Wire:
    """SPI whose answer is the next of `frames`, round and round; writes are ignored."""

    def __init__(self, frames):
        self.frames = frames
        self.at = 0

    def readinto(self, buf, write=0):
        frame = self.frames[self.at]
        for i in range(len(buf)):
            buf[i] = frame[i]
        self.at = (self.at + 1) % len(self.frames)

    def write_readinto(self, out, buf):
        if not out[0] & 0x80:
            self.readinto(buf)

    def write(self, out):
        pass


def run(probe, expected_faults):
    """1,000 reads and judgements with the heap locked; prints how many were made."""
    conditioner = Conditioner([[0, 500], [100000, -1000], [400000, 5000]])
    reading = probe.read()
    conditioner.update(reading, 250)
    done = 0
    seen = 0
    micropython.heap_lock()
    try:
        for _ in range(1000):
            reading = probe.read()
            conditioner.update(reading, 250)
            seen |= 1 << reading.fault
            done += 1
    finally:
        micropython.heap_unlock()
    names = [FAULT_NAMES[i] for i in range(len(FAULT_NAMES)) if seen & (1 << i)]
    if sorted(names) != sorted(expected_faults):
        raise SystemExit("faults seen: " + " ".join(names))
    print(names, conditioner.pv_mc, done)


class Wires:
    """I2C whose registers are `answers[turn]`, a dict; None: nobody acknowledges in that turn."""

    def __init__(self, answers, last_register):
        self.answers = answers
        self.last_register = last_register  # the one that a read asks for last
        self.at = 0

    def readfrom_mem_into(self, address, register, buf):
        registers = self.answers[self.at]
        if registers is None:
            self.at = (self.at + 1) % len(self.answers)
            raise OSError(5)
        value = registers[register]
        for i in range(len(buf)):
            buf[i] = value[i]
        if register == self.last_register:
            self.at = (self.at + 1) % len(self.answers)

    def writeto(self, address, buf):
        pass
