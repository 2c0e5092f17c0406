from common import run
from tizzone.probes.ad849x import AD849X
from tizzone.probes.reading import Reading


class Input:
    """An analog input: 16 samples of each value in turn."""

    values = (45000, 45030, 0, 65535)

    def __init__(self):
        self.count = 0

    def read_u16(self):
        value = self.values[self.count >> 4]
        self.count = (self.count + 1) % 64
        return value


run(AD849X(Input(), Reading()), ["none", "stuck", "open"])
