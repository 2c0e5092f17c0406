"""Programmable I/O of the RP2040, cycle by cycle: assembler of the rp2 module's words, and one state machine.

Written from the RP2040 datasheet, section 3.2 to 3.5, as far as these programs go: every instruction takes one cycle
and its delay; inputs pass two flip-flops (3.5.6.3); a pull of an empty queue takes X; OUT shifts zeros in. Independent
of the firmware's assembler and of the emulator's programmable I/O, which run the same programs in test_duo.py.
"""

NAMES = ("pins", "x", "y", "null", "pindirs", "isr", "osr", "pin", "not_y", "y_dec", "x_dec", "noblock")
SYNC = 2


class Program(list):
    """[(kind, arguments, delay)] with labels resolved."""


class _Delay:
    def __init__(self, made):
        self.made = made

    def __getitem__(self, cycles):
        kind, arguments, _ = self.made[-1]
        self.made[-1] = (kind, arguments, cycles)


def assembled(function):
    """The Program of a function in the rp2 module's words."""
    made, labels = [], {}

    def emit(kind):
        def word(*arguments):
            made.append((kind, arguments, 0))
            return _Delay(made)

        return word

    words = {kind: emit(kind) for kind in ("pull", "push", "mov", "jmp", "out", "set", "wait", "nop")}
    words["in_"] = emit("in")
    words["label"] = lambda name: labels.__setitem__(name, len(made))
    words["invert"] = lambda name: "~" + name
    words.update({name: name for name in NAMES})
    kept = dict(function.__globals__)
    function.__globals__.update(words)
    try:
        function()
    finally:
        function.__globals__.clear()
        function.__globals__.update(kept)
    return Program((k, tuple(labels.get(a, a) if k == "jmp" else a for a in args), d) for k, args, d in made)


class Pins:
    """Levels over time of the inputs, in cycles; what the machines drive."""

    def __init__(self):
        self.level = {}
        self.changes = []  # (cycle, pin, level) to come, in order
        self.version = 0  # counts what has changed

    def at(self, cycle):
        """Take over what has changed until this cycle; when the next change comes."""
        while self.changes and self.changes[0][0] + SYNC <= cycle:
            _, pin, level = self.changes.pop(0)
            self.level[pin] = level
            self.version += 1
        return self.changes[0][0] + SYNC if self.changes else None


class Machine:
    """One state machine with its own inputs: in_base, jmp_pin, out_base (also of set). `log`: (cycle, pin, level or
    None = let go) of what it drives."""

    def __init__(self, program, in_base=None, jmp_pin=None, out_base=None):
        self.program, self.in_base, self.jmp_pin, self.out_base = program, in_base, jmp_pin, out_base
        self.pins = Pins()
        self.tx, self.rx, self.log = [], [], []
        self.x = self.y = self.isr = self.osr = self.pc = self.delay = 0
        self.cycle = 0
        self.level, self.driven = 0, 0
        self._seen = {}

    def run(self, until):
        """Up to a cycle; loops that change nothing are passed over in whole turns."""
        while self.cycle < until:
            change = self.pins.at(self.cycle)
            horizon = until if change is None else min(until, change)
            if self.delay:
                step = min(self.delay, max(1, horizon - self.cycle))
                self.delay -= step
                self.cycle += step
                continue
            state = (self.x, self.y, self.isr, self.osr, len(self.tx), self.level, self.driven)
            last = self._seen.get(self.pc)
            if last is not None and last[1:] == (state, self.pins.version):
                turn = self.cycle - last[0]
                turns = (horizon - self.cycle) // turn
                if turns > 0:
                    self.cycle += turns * turn
                    self._seen.clear()
                    continue
            self._seen[self.pc] = (self.cycle, state, self.pins.version)
            self._execute()

    def _execute(self):
        kind, a, self.delay = self.program[self.pc]
        following = (self.pc + 1) % len(self.program)
        if kind == "jmp":
            following = self._jump(a, following)
        elif kind == "in":
            self.isr = (self.isr << a[1] | self._input(self.in_base) & (1 << a[1]) - 1) & 0xFFFFFFFF
        elif kind == "mov":
            self._move(*a)
        elif kind == "out":
            self.level, self.osr = self.osr >> 31, self.osr << 1 & 0xFFFFFFFF
            self._drive()
        elif kind == "set":
            self.driven = a[1]
            self._drive()
        elif kind == "pull":
            self.osr = self.tx.pop(0) if self.tx else self.x
        elif kind == "push":
            if len(self.rx) < 4:
                self.rx.append(self.isr)
            self.isr = 0
        elif kind == "wait" and self._input(self.in_base + a[2]) != a[0]:
            following = self.pc
        self.pc = following
        self.cycle += 1

    def _input(self, pin):
        return self.pins.level.get(pin, 0)

    def _jump(self, a, following):
        if len(a) == 1:
            return a[0]
        condition, target = a
        if condition == "pin":
            return target if self._input(self.jmp_pin) else following
        if condition == "not_y":
            return target if not self.y else following
        name = condition[0]
        value = getattr(self, name)
        setattr(self, name, value - 1 & 0xFFFFFFFF)
        return target if value else following

    def _move(self, target, source):
        value = 0 if source.strip("~") == "null" else getattr(self, source.strip("~"))
        setattr(self, target, value ^ 0xFFFFFFFF if source[0] == "~" else value)

    def _drive(self):
        now = self.level if self.driven else None
        if not self.log or self.log[-1][1] != now:
            self.log.append((self.cycle + 1, now))
