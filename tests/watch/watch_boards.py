"""Boards and ports that the tests of the live view look at."""

from host import oven
from host.link import LinkLost
from host.link.client import SimulatedClient
from host.link.frames import spoken, with_checksum
from host.simulator.rehearsal import Rehearsal


class FakePort:
    """A serial port whose far end is `answer(line) -> bytes`; what it gives back is cut into single bytes."""

    def __init__(self, answer):
        self.answer = answer
        self.waiting = b""
        self.written = []
        self.is_closed = False

    @property
    def in_waiting(self):
        return len(self.waiting)

    def write(self, data):
        self.written.append(data)
        self.waiting += self.answer(data.decode().rstrip("\n"))

    def read(self, count):
        got, self.waiting = self.waiting[:count], self.waiting[count:]
        return got

    def close(self):
        self.is_closed = True


class Ticking:
    """A clock that moves on with every look at it."""

    def __init__(self, step_s=0.25):
        self.now_s = 0.0
        self.step_s = step_s

    def __call__(self):
        self.now_s += self.step_s
        return self.now_s


def framed(text):
    """A reply as the board sends it."""
    return ("~" + with_checksum(spoken(text)) + "\n").encode()


class Unplugged:
    """A client whose plug can be pulled."""

    def __init__(self, client):
        self.client = client
        self.is_out = False

    @property
    def now_s(self):
        return self.client.now_s

    def ask(self, line):
        if self.is_out:
            raise LinkLost("the port has gone (pulled)")
        return self.client.ask(line)

    def wait(self, seconds):
        self.client.wait(seconds)

    def close(self):
        """The rehearsal goes on: it is the cable that was let go."""


def simulated(settings=None, plant="standard", **more):
    """A simulated board past its grace window, behind a client."""
    rehearsal = Rehearsal(plant=oven.preset(plant, 1), settings=settings or {"setpoint_c": 200}, **more)
    rehearsal.advance(5)
    return SimulatedClient(rehearsal)
