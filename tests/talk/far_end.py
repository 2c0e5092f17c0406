"""What stands in for a serial port and its far end, and for the time that passes beside it."""


class Port:
    """A port whose far end is `answer(line) -> bytes`."""

    name = "somewhere"

    def __init__(self, answer):
        self.answer, self.waiting = answer, b""

    @property
    def in_waiting(self):
        return len(self.waiting)

    def write(self, data):
        self.waiting += self.answer(data.decode())

    def read(self, count):
        got, self.waiting = self.waiting[:count], self.waiting[count:]
        return got

    def close(self):
        pass


class Clock:
    """Moves on with every look at it."""

    now_s = 0.0

    def __call__(self):
        self.now_s += 0.25
        return self.now_s
