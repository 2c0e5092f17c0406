"""The played probe chip, cycle by cycle: what a master clocks out is one given frame, whole, whatever happens.

The master is SPI mode 0 with D31 first, as MAX31855 has it (datasheet 19-5793, figure 3 and its timing table, from
memory: data valid at most 40 ns after a falling clock, clock up to 5 MHz). Here data has until the next rising clock.
"""

import random

import pytest

from tests.player.fakes.loaded import fresh
from tests.player.pio_model import Machine, assembled

HZ = 125_000_000
CS, SCK, MISO = 2, 3, 4
WIRE = 3  # cycles, 24 ns: 330 ohm into some 50 pF of wire and pin, and the pad (estimated)


class Played:
    """The real Chip on modelled state machines, and a master that reads it."""

    def __init__(self, seed=1):
        self.made = fresh()
        self.random = random.Random(seed)
        self.cycle = 1000
        self.machines = []
        self.made.rp2.make = self._machine
        self.made.machine.level.update({CS: 1, SCK: 0})
        self.chip = self.made.chip.Chip(0, [CS, SCK, MISO])

    def _machine(self, number, program, **options):
        pins = {name: options[name].number for name in ("in_base", "jmp_pin", "out_base") if name in options}
        machine = Machine(assembled(program), **pins)
        machine.pins.level.update(self.made.machine.level)
        machine.cycle = self.cycle
        self.machines.append(machine)
        return _Facade(machine, self)

    def edge(self, pin, level, cycle):
        self.made.machine.level[pin] = level
        for machine in self.machines:
            machine.pins.changes.append((cycle, pin, level))

    def until(self, cycle):
        self.cycle = max(self.cycle, cycle)
        for machine in self.machines:
            machine.run(self.cycle)

    def data(self, cycle):
        """Level of the data line at a cycle; None while it is let go."""
        level = None
        for at, now in next((machine.log for machine in self.machines if machine.out_base == MISO), ()):
            if at > cycle:
                break
            level = now
        return level

    def read(self, hz, clocks=32, meanwhile=None, ends=True):
        """Bits that a master takes in; `meanwhile(bit)` is called between clocks."""
        half = HZ / hz / 2
        t = float(self.cycle + self.random.randrange(40, 90))
        self.edge(CS, 0, int(t))
        t += 25 + self.random.random() * 40  # at least 200 ns from select to clock: a call of Pin and of SPI takes more
        bits = []
        for bit in range(clocks):
            t += half
            self.until(int(t))
            bits.append(self.data(int(t) - WIRE))
            self.edge(SCK, 1, int(t))
            t += half
            self.edge(SCK, 0, int(t))
            if meanwhile is not None:
                self.until(int(t))
                meanwhile(bit)
        t += half
        if ends:
            self.edge(CS, 1, int(t))
        self.until(int(t) + self.random.randrange(30, 200))
        for machine in self.machines:
            del machine.log[:-1]
        return bits

    def select_ends(self):
        self.edge(CS, 1, self.cycle)
        self.until(self.cycle + 60)


class _Facade:
    """rp2.StateMachine of a modelled machine."""

    def __init__(self, machine, played):
        self.machine, self.played = machine, played

    def active(self, on):
        if not on:
            self.played.machines.remove(self.machine)

    def put(self, word):
        assert len(self.machine.tx) < 4, "a put that would wait"
        self.machine.tx.append(word)

    def tx_fifo(self):
        return len(self.machine.tx)

    def rx_fifo(self):
        return len(self.machine.rx)

    def get(self):
        return self.machine.rx.pop(0)


def number(bits):
    return None if None in bits else int("".join(map(str, bits)), 2)


def torn_reads(played, count):
    """Reads that are neither the newest frame that was there when the select fell nor the one before it; and how many
    frames were given."""
    rng, torn = played.random, []
    given = [rng.getrandbits(32)]
    played.chip.give(given[0])
    played.until(played.cycle + 200)

    def give():
        given.append(rng.getrandbits(32))
        played.chip.give(given[-1])
        played.chip.look(1)

    for _ in range(count):
        standing = given[-2:]
        at = rng.randrange(32) if rng.random() < 0.6 else None
        got = number(played.read(rng.uniform(1e6, 5e6), meanwhile=lambda bit, at=at: bit == at and give()))
        torn += [got] if got not in standing else []
        played.chip.look(1)
        played.until(played.cycle + rng.randrange(20, 400))
    return torn, len(given)


@pytest.mark.slow
def test_ten_thousand_random_reads_while_frames_change_are_never_torn():
    played = Played(7)
    torn, given = torn_reads(played, 10_000)
    assert not torn and given > 5_000
    assert (played.chip.reads, played.chip.short, played.chip.long) == (10_000, 0, 0)


def test_torn_frame_would_be_seen_if_the_program_took_words_in_mid_frame():
    """The check itself: the same program, but with a pull after each bit."""
    played = Played(7)
    program = assembled(played.made.pio.answer)
    at = [kind for kind, _, _ in program].index("out", 8)
    shifted = [
        (k, tuple(a + (a > at) if isinstance(a, int) and k == "jmp" else a for a in args), d) for k, args, d in program
    ]
    shifted.insert(at + 1, ("pull", ("noblock",), 0))
    played.machines.clear()
    played.made.rp2.make = lambda number, made, **options: _broken(played, shifted, made, options)
    torn, _ = torn_reads(played, 30)
    assert torn


def _broken(played, shifted, made, options):
    facade = played._machine(0, made, **options)
    if made is played.made.pio.answer:
        facade.machine.program = shifted
    return facade


@pytest.fixture
def played():
    made = Played()
    made.chip.give(0x01234568)
    made.until(made.cycle + 200)
    return made


@pytest.mark.parametrize("hz", [1e5, 1e6, 2e6, 3.3e6, 4e6, 5e6])
def test_frame_at_each_clock_is_whole_and_every_clock_is_counted(played, hz):
    assert [number(played.read(hz)) for _ in range(20)] == [0x01234568] * 20
    played.chip.look(1)
    assert played.chip.reads >= 4 and played.chip.short == played.chip.long == 0


def test_data_line_is_driven_while_selected_and_let_go_within_a_few_cycles(played):
    assert played.data(played.cycle) is None
    played.read(1e6, clocks=3, ends=False)
    assert played.data(played.cycle) is not None
    released = played.cycle
    played.edge(CS, 1, released)
    played.until(released + 60)
    assert played.data(released + 16) is None  # 128 ns; the chip: 40 ns, from memory


def test_clock_that_stops_in_mid_frame_leaves_the_next_frame_whole(played):
    for clocks in range(32):
        played.read(1e6, clocks=clocks)
        assert played.data(played.cycle) is None
        played.chip.look(1)
        assert number(played.read(2e6)) == 0x01234568, clocks
        played.chip.look(1)
    assert played.chip.short == 32 and played.chip.reads == 64


def test_more_clocks_than_a_frame_bring_zeros_and_are_counted(played):
    assert number(played.read(1e6, clocks=40)) == 0x01234568 << 8
    played.chip.look(1)
    assert played.chip.long == 1


def test_select_that_is_held_keeps_its_frame_and_gets_the_newest_after_it(played):
    got = played.read(1e6, clocks=16, ends=False)
    for word in range(1, 40):  # many frames come meanwhile: none may wait for another
        played.chip.give(word << 18)
        played.chip.look(1)
        played.until(played.cycle + 500)
    assert number(got) == 0x01234568 >> 16
    played.select_ends()
    played.chip.look(1)
    played.until(played.cycle + 60)
    assert number(played.read(1e6)) == 39 << 18


def test_select_that_is_held_long_lets_the_line_go_until_it_has_been_high(played):
    played.read(1e6, clocks=5, ends=False)
    played.chip.look(40)
    assert len(played.machines) == 2
    played.chip.look(40)
    assert len(played.machines) == 1 and played.chip.held == 1  # the counter alone: nothing drives the line
    played.select_ends()
    played.chip.look(1)
    played.until(played.cycle + 100)
    assert number(played.read(1e6)) == 0x01234568


def test_silent_chip_drives_nothing_until_it_is_given_a_frame(played):
    played.chip.give(None)
    assert [machine for machine in played.machines if machine.out_base == MISO] == []
    played.chip.give(0x7FFC0001)
    played.until(played.cycle + 100)
    assert number(played.read(1e6)) == 0x7FFC0001


def test_two_chips_on_one_bus_answer_each_for_itself():
    dome, stone = Played(1), Played(2)
    pins = [(dome, CS), (stone, 5)]
    stone.made.machine.level.update({5: 1, SCK: 0})
    stone.chip = stone.made.chip.Chip(1, [5, SCK, MISO])
    for played, word in ((dome, 0x01234568), (stone, 0x089ABCD0)):
        played.chip.give(word)
        played.until(played.cycle + 200)
    assert pins[1][0].chip.data == pins[0][0].chip.data
    for _ in range(50):
        for played, other, word in ((dome, stone, 0x01234568), (stone, dome, 0x089ABCD0)):
            begin = played.cycle
            assert number(_read_of(played, other)) == word
            assert other.data(other.cycle) is None and not [
                at for at, now in other.machines[0].log if at > begin and now is not None
            ]


def _read_of(played, other):
    """A read of one chip whose clock the other one sees as well."""
    chip, cs = (played.chip, CS) if played.chip.select.number == CS else (played.chip, 5)
    edges = []
    kept = played.edge

    def edge(pin, level, cycle):
        pin = cs if pin == CS else pin
        edges.append((pin, level, cycle))
        kept(pin, level, cycle)

    played.edge = edge
    bits = played.read(2e6)
    played.edge = kept
    other.cycle = max(other.cycle, edges[0][2] - 10)
    for pin, level, cycle in edges:
        if pin == SCK:
            other.edge(pin, level, cycle)
    other.until(played.cycle)
    assert chip.select.number == cs
    return bits
