"""A board's memory on a simulated medium: for the tests of what it keeps over power cuts."""

from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port
from host.shim.simfs import SimFS

WORLD = World()
M = WORLD.load("tizzone.memory.memory")
L = WORLD.load("tizzone.safety.limits")
SETTINGS = WORLD.load("tizzone.memory.settings")
SUPERVISOR = WORLD.load("tizzone.safety.supervisor")
LATCH = {"first_out": "none", "tripped": [], "in_a_row": 0, "locked_out": 0, "rest_ms": 0, "cold": 0}


class Board:
    """A medium and what starts on it. `with board:` lets it act."""

    def __init__(self, **stored):
        self.fs = SimFS()
        self.port = Port(Dark(), "rp2040", None, self.fs)
        self.memory = self.start()
        for name, value in stored.items():
            self.put(name, value)

    def start(self, cause="power"):
        """A Memory as after a start of the board."""
        self.port.cause = cause
        with self:
            self.memory = M.Memory()
        return self.memory

    def __enter__(self):
        self._running = WORLD.running(self.port)
        self._running.__enter__()
        return self.memory if hasattr(self, "memory") else None

    def __exit__(self, *error):
        return self._running.__exit__(*error)

    def put(self, name, value):
        """As an earlier start has left it: both copies."""
        with self:
            self.memory.store.save(name, value)

    def kept(self, name):
        """What the flash holds under this name, or None."""
        with self:
            return self.memory.store.load(name)[0]

    def spoil(self, name, copies=2):
        """Turn over a bit in so many copies."""
        for path in sorted(path for path in self.fs.files if path.startswith(name + "."))[:copies]:
            data = bytearray(self.fs.files[path])
            data[-3] ^= 1
            self.fs.files[path] = bytes(data)

    def lose(self, name):
        """Both copies are gone."""
        for path in [path for path in self.fs.files if path.startswith(name + ".")]:
            del self.fs.files[path]

    def judged(self, cause="power"):
        """(supervisor, memory) after the latch and the end of the last run have been looked at in a start."""
        memory, sup = self.start(cause), SUPERVISOR.Supervisor(500_000, 480_000)
        with self:
            memory.restore_latch(sup)
            memory.tell_last_end(sup)
        return sup, memory

    def trip(self, cause="power"):
        """Name of the trip that such a start ends with."""
        return L.CONDITION_NAMES[self.judged(cause)[0].first_out]


def used(**stored):
    """A board that has run before and was stopped in good order."""
    return Board(**{"settings": {}, "latch": LATCH, "session": {"open": 0, "planned": 0}, **stored})
