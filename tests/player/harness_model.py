"""A harness of nets between two boards: what wins at each net, by how strongly it is driven.

Strengths, strongest first: a short to a rail; the board's pin; the player's pin behind its resistor; a resistor of 10
kohm to GND; the chips' own pulls of 50 to 80 kohm. Two pulls against each other mean a procedure that asks for a level
that nobody can foretell: that raises.
"""

RAIL, BOARD, PLAYER, RESISTOR, PULL = 5, 4, 3, 2, 1


class Nets:
    """Ends ("board", pin) and ("player", pin); each is in one net."""

    def __init__(self, harness, held=("HEAT_TOP", "HEAT_DECK", "CONTACTOR")):
        self.harness = harness
        self.net = {}
        self.number = 0
        self.rails = {}  # net -> level
        self.held = set()  # ends with a resistor to GND
        self.driven = {}
        self.pulls = {}
        for wire in harness.checked():
            self._join(("board", wire.pin), ("player", wire.player))
            if wire.name in held:
                self.held.add(("board", wire.pin))

    def _join(self, *ends):
        self.number += 1
        old = {self.net[end] for end in ends if end in self.net}
        for end, net in list(self.net.items()):
            if net in old:
                self.net[end] = self.number
        for end in ends:
            self.net[end] = self.number

    def ends(self, name):
        wire = self.harness.wire(name)
        return ("board", wire.pin), ("player", wire.player)

    def swap(self, one, other):
        a, b = self.ends(one)[1], self.ends(other)[1]
        self.net[a], self.net[b] = self.net[b], self.net[a]

    def open(self, name):
        self.number += 1
        self.net[self.ends(name)[1]] = self.number

    def short(self, one, other):
        self._join(self.ends(one)[0], self.ends(other)[0])

    def rail(self, name, level):
        self.rails[self.ends(name)[0]] = level

    def level(self, end):
        net = self.net[end]
        found = []
        for other in (other for other, at in self.net.items() if at == net):
            if other in self.rails:
                found.append((RAIL, self.rails[other]))
            if other in self.driven:
                found.append((BOARD if other[0] == "board" else PLAYER, self.driven[other]))
            if other in self.held:
                found.append((RESISTOR, 0))
            if self.pulls.get(other) in ("up", "down"):
                found.append((PULL, self.pulls[other] == "up"))
        if not found:
            return 0  # floats: a board reads what it likes
        strongest = max(strength for strength, _ in found)
        levels = {bool(level) for strength, level in found if strength == strongest}
        if len(levels) > 1:
            raise AssertionError(f"two of strength {strongest} against each other at {end}")
        return int(levels.pop())


class ModelEnd:
    """One board at its prompt."""

    def __init__(self, nets, side):
        self.nets, self.side = nets, side

    def rest(self, pins, pull):
        for pin in pins:
            self.nets.driven.pop((self.side, pin), None)
            self.nets.pulls[self.side, pin] = pull

    def move(self, pin, level):
        self.nets.driven[self.side, pin] = level

    def look(self, pins):
        return {pin: self.nets.level((self.side, pin)) for pin in pins}
