"""Pins that only keep a level, for the heap proof: nothing here may allocate, so that only the device is tried."""


class Pin:
    IN = 0
    OUT = 1
    PULL_UP = 1

    def __init__(self, id, mode=-1, pull=-1, value=1):
        self.level = value

    def value(self, x=None):
        if x is not None:
            self.level = x
        return self.level

    __call__ = value


class Timer:
    PERIODIC = 1

    def __init__(self, id=-1, mode=1, period=-1, callback=None, hard=False):
        self.callback = callback
