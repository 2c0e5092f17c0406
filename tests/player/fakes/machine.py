"""Stands in for `machine` on the player: pins with the level from outside, a watchdog that is counted.

`level` {pin: 0 or 1 from outside}; `driven` {pin: level} of what the player drives; `handlers` {pin: (handler,
trigger)}.
"""

level = {}
driven = {}
handlers = {}
resets = []
watchdogs = []


class Pin:
    IN, OUT, PULL_UP, PULL_DOWN = 0, 1, 1, 2
    IRQ_FALLING, IRQ_RISING = 4, 8

    def __init__(self, number, mode=-1, pull=None, value=None):
        self.number = number
        self.init(mode, pull, value)

    def init(self, mode=-1, pull=None, value=None):
        if mode == Pin.OUT:
            driven[self.number] = value
        elif mode == Pin.IN:
            driven.pop(self.number, None)
        if pull is not None and self.number not in level:
            level[self.number] = 1 if pull == Pin.PULL_UP else 0

    def value(self):
        return driven.get(self.number, level.get(self.number, 0))

    def irq(self, handler=None, trigger=0, hard=False):
        if handler is None:
            handlers.pop(self.number, None)
        else:
            handlers[self.number] = (handler, trigger)


class _Memory:
    def __getitem__(self, address):
        word = 0
        for number in level:
            word |= level[number] << number
        return word


mem32 = _Memory()


class WDT:
    def __init__(self, timeout):
        self.timeout, self.fed = timeout, 0
        watchdogs.append(self)

    def feed(self):
        self.fed += 1


def disable_irq():
    return 0


def enable_irq(state):
    return None


def reset():
    resets.append(1)


def outside(number, value):
    """The board moves a line: the interrupt comes, as on the chip."""
    was = level.get(number, 0)
    level[number] = value
    if value != was and number in handlers:
        handler, trigger = handlers[number]
        if trigger & (Pin.IRQ_RISING if value else Pin.IRQ_FALLING):
            handler(None)
