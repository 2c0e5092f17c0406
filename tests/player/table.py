"""The device's code and the player's code joined pin to pin on the laptop: no chip, no emulator, a whole drill in
seconds. Time moves in steps of the board (250 ms); within one the player goes on every 4 ms."""

import random

from host.pins import pin_map
from host.player.bench import Bench
from host.player.harness import Harness
from host.player.talk import BoardLine
from host.player.wire import PlayerClient
from host.shim.loader import world
from host.shim.local import LocalBoard
from host.shim.mainsphase import flows
from host.shim.port import Port
from host.shim.simfs import SimFS
from host.simulator.assembly import assembled
from host.simulator.first_files import first_files
from tests.player.conftest import SETTINGS, small
from tests.player.fakes.loaded import fresh

PASS_US = 4000


class Side:
    """What the simulated board is wired to: the player's pins."""

    def __init__(self, harness, made, player):
        self.harness, self.made, self.player = harness, made, player
        self.pins = harness.pins
        self.wires = {wire.pin: wire for wire in harness.wires if wire.pin is not None}
        self.outputs = [wire for wire in harness.wires if wire.is_output]
        self.now_us = self.quiet_us = self.pass_us = 0
        self.rx, self.sent = bytearray(), bytearray()
        self.orders, self.happened, self.host_reading = [], [], True
        self.random = random.Random(1)
        self.words = {}

    def advance(self, dt_us, levels, rose=0):
        """Outputs to the player's pins, at their time; then its passes."""
        self.made.time.us = self.now_us
        for wire in self.outputs:
            level = levels.get(wire.pin, 0)
            if rose >> wire.pin & 1 and level:
                self.made.machine.outside(wire.player, 0)
            self.made.machine.outside(wire.player, level)
        end_us = self.now_us + dt_us
        while self.pass_us <= end_us:
            self.made.time.us = self.pass_us
            self.player.step()
            self.pass_us += PASS_US
        self.now_us = self.made.time.us = end_us
        return True

    def level(self, pin):
        """0 where the player closes the line, None where nothing does."""
        wire = self.wires.get(pin)
        if wire is None:
            return None
        if wire.name.startswith("MAINS_SENSE"):
            machine = self.made.rp2.machines.get(6 + (wire.name == "MAINS_SENSE_DECK"))
            if machine is not None and machine.running:
                return 0 if flows(2 if machine.program.__name__ == "whole_waves" else 1, self.now_us) else None
        return self.made.machine.driven.get(wire.player)

    def sense_waves(self):
        """Of the runtime micropython alone."""
        raise NotImplementedError

    def selects(self, bus):
        """The chip selects of a bus."""
        return tuple(spec["cs"] for spec in self.pins.PROBES.values())

    def transfer(self, bus, select, out, count):
        """A read of the played chip: the newest word that its machine has been given."""
        wire = self.wires[select]
        self.made.time.us = self.now_us
        self.made.machine.outside(wire.player, 0)
        number = ("dome", "stone").index(wire.name.partition(".")[0])
        machine = self.made.rp2.machines.get(number)
        data = bytes(count)
        if machine is not None and machine.running:
            if machine.queue:
                self.words[number] = machine.queue[-1]
                machine.queue.clear()
            data = self.words[number].to_bytes(4, "big")[:count]
            self.made.rp2.machines[4 + number].counts.append(8 * count)
        self.made.machine.outside(wire.player, 1)
        return data

    def i2c(self, bus, address, out, count):
        """Nobody."""

    def analog(self, pin):
        """Nothing."""
        return 0

    def serial_out(self, data):
        """The board sends."""
        self.sent += data


class PlayerPort:
    """The player's serial port: its loop goes round while somebody waits for it."""

    def __init__(self, table):
        self.table = table
        self.gone = False

    @property
    def in_waiting(self):
        if self.gone:
            raise OSError(5, "unplugged")
        return len(self.table.out)

    def read(self, count):
        if not self.in_waiting:
            self.table.player.step()
        data, self.table.out = self.table.out[:count], self.table.out[count:]
        return data

    def write(self, data):
        if self.gone:
            raise OSError(5, "unplugged")
        self.table.inbox += data

    def close(self):
        self.gone = True


class BoardPort:
    """The board's serial port."""

    def __init__(self, side):
        self.side = side

    @property
    def in_waiting(self):
        return len(self.side.sent)

    def read(self, count):
        data, self.side.sent = bytes(self.side.sent[:count]), self.side.sent[count:]
        return data

    def write(self, data):
        self.side.rx += data

    def close(self):
        pass


class Table:
    """Both on the table: `bench` has begun."""

    def __init__(self, board="pico", settings=None, plant=None, release_c=480):
        self.harness = Harness(pin_map.read(board))
        self.made = fresh()
        self.made.machine.level.update(dict.fromkeys(range(29), 0))
        for wire in self.harness.wires:
            if wire.name.endswith(".cs"):
                self.made.machine.level[wire.player] = 1
        self.inbox, self.out = bytearray(), b""
        self.player = self.made.play.Player((self._read, self._write))
        self.side = Side(self.harness, self.made, self.player)
        device = world()
        wanted = {**SETTINGS, **(settings or {})}
        files = first_files(device, self.harness.pins, self.side, wanted, release_c > 0) if release_c else SimFS()
        self.board = LocalBoard(device, self.side, self.harness.pins, files)
        assert isinstance(self.board.port, Port)
        outside = assembled(self.harness.pins, plant or small(), 1)
        self.port = PlayerPort(self)
        line = BoardLine(lambda: BoardPort(self.side), self.clock)
        client = PlayerClient(self.port, self.clock)
        self.bench = Bench(self.harness, client, line, outside, self.clock, self.sleep)
        kept, self.made.play._SILENT_MS = self.made.play._SILENT_MS, 60_000
        self.bench.begin()  # before the board, whose start is one long piece of its life
        while self.board.report is None:
            self.board.turn()
        self.bench.turn()
        self.made.play._SILENT_MS = kept

    def _read(self):
        return bytes([self.inbox.pop(0)]) if self.inbox else None

    def _write(self, text):
        self.out += text.encode()

    def clock(self):
        """Seconds."""
        return self.side.now_us / 1e6

    def sleep(self, seconds):
        """A piece of the board's life: a tick, as a rule."""
        self.board.turn()
