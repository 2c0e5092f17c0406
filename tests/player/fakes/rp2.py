"""Stands in for the rp2 module on the laptop, on CPython and on MicroPython: programs stay functions, machines are
noted in `machines` {number: StateMachine}; a test may put `make` in their place."""

machines = {}
make = None


class PIO:
    IN_LOW, SHIFT_LEFT, SHIFT_RIGHT = 0, 0, 1


def asm_pio(**options):
    def taken(function):
        return function

    return taken


class Quiet:
    """A machine that only remembers."""

    def __init__(self, number, program, **options):
        self.number, self.program, self.options = number, program, options
        self.running = 0
        self.queue, self.counts, self.executed = [], [], []

    def active(self, on):
        self.running = on

    def put(self, word):
        if len(self.queue) >= 4:
            raise RuntimeError("a put that would wait")
        self.queue.append(word)

    def tx_fifo(self):
        return len(self.queue)

    def rx_fifo(self):
        return len(self.counts)

    def get(self):
        return self.counts.pop(0)

    def exec(self, instruction):
        self.executed.append(instruction)


def StateMachine(number, program, **options):
    machines[number] = (make or Quiet)(number, program, **options)
    return machines[number]
