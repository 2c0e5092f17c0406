"""A supervisor with everything it sees, and a heater on simulated pins: what the safety tests share.

Device modules come from `world()`, never from an import, so that the mutation run can put a changed one in its place.
"""

import types

from host.shim.loader import World
from host.shim.port import Port

TICK_MS = 250
_worlds = []


def world():
    """The World under test."""
    if not _worlds:
        _worlds.append(World())
    return _worlds[0]


def replace_world(other):
    """Put another World (with a changed module) under test."""
    _worlds[:] = [other]


def load(name):
    """One device module, by room and name: "safety.supervisor"."""
    return world().load("tizzone." + name)


L = World().load("tizzone.safety.limits")  # figures only
CAP_MS = World().load("tizzone.integers").CAP_MS


class Condition:
    """Stands for a Conditioner: what the supervisor reads of one."""

    def __init__(self, pv_mc=20_000):
        self.usable = True
        self.fault = 0
        self.pv_mc = pv_mc
        self.limit_mc = pv_mc
        self.same_ms = 0

    def reads(self, pv_mc):
        """A good reading."""
        self.pv_mc = self.limit_mc = pv_mc
        self.usable = True
        self.fault = 0

    def fails(self, fault):
        """A reading with this fault code."""
        self.usable = False
        self.fault = fault


class Bench:
    """A supervisor, armed and passed, of an oven in mid-evening with every permissive made."""

    def __init__(self, stone=True, sensed=True, ready=True, high_limit_mc=500_000, release_mc=480_000, **more):
        self.module = load("safety.supervisor")
        self.sup = self.module.Supervisor(high_limit_mc, release_mc, **more)
        self.dome = Condition()
        self.stone = Condition() if stone else None
        self.seen = load("safety.seen").Seen(self.dome, self.stone)
        self.is_fresh = True
        self.is_sensed = sensed
        if ready:
            self.make_ready()

    def make_ready(self):
        """Every permissive made."""
        self.sup.armed = 1
        self.sup.self_test = self.module.PASSED
        seen = self.seen
        seen.enable = seen.limit_ok = seen.selector_ours = seen.fan_ok = seen.door_shut = seen.readback_ok = 1
        seen.fan_on = 1
        seen.box_mc = 30_000
        seen.active = seen.session = 1
        self.set_setpoint(200_000)
        if self.is_sensed:
            seen.mirror_open = 1
            seen.top_sense = seen.deck_sense = 0

    def set_setpoint(self, setpoint_mc):
        """As the sequence keeps it."""
        self.seen.setpoint_mc = setpoint_mc
        self.seen.setpoint_inverted = ~setpoint_mc

    def tick(self, dt_ms=TICK_MS, ticks=1):
        """Judge; the permit."""
        for _ in range(ticks):
            if self.is_fresh:
                self.seen.dome_serial = (self.seen.dome_serial + 1) & 0xFFFF
            permit = self.sup.judge(self.seen, dt_ms)
        return permit

    def run(self, ms, dt_ms=TICK_MS):
        """Judge for a time; the permit."""
        return self.tick(dt_ms, ms // dt_ms)

    def contactor(self, on):
        """The contactor is commanded and follows."""
        self.seen.contactor_on = on
        if self.is_sensed:
            self.seen.mirror_open = 1 - on

    def relays(self, top, deck):
        """The relays are commanded and conduct as they should."""
        seen = self.seen
        seen.top_on, seen.deck_on = top, deck
        if self.is_sensed:
            seen.top_sense = 2 if top and seen.contactor_on else 0
            seen.deck_sense = 2 if deck and seen.contactor_on else 0

    @property
    def first(self):
        """Name of the trip that came first."""
        return L.CONDITION_NAMES[self.sup.first_out]

    def is_present(self, name):
        """Is this condition present?"""
        return bool(self.sup.present[L.CONDITION_NAMES.index(name)])

    def end_session(self):
        """The sequence has left the evening."""
        self.seen.active = self.seen.session = 0
        self.contactor(0)
        self.relays(0, 0)
        self.seen.out_pm = 0


class Wires:
    """What is outside a Port in the heater's and the contacts' tests: `closed` = pins held to GND."""

    def __init__(self):
        self.closed = set()
        self.flows = {}  # pin -> function of the time in us: does current flow?
        self.now_us = 0
        self.rx = bytearray()
        self.orders = []
        self.edges = []

    def advance(self, dt_us, levels, rose=0):
        """Time passes."""
        self.now_us += dt_us
        if rose:
            self.edges.append(rose)

    def level(self, pin):
        """0 = held to GND."""
        if pin in self.flows:
            return 0 if self.flows[pin](self.now_us) else None
        return 0 if pin in self.closed else None

    def selects(self, bus):
        """No chips."""
        return ()


FULL_MAP = {
    "HEAT_TOP": 10, "HEAT_DECK": 11, "CONTACTOR": 12, "COOLING_FAN": 13, "CONTACTOR_DRIVE": "level",
    "ENABLE": 2, "LIMIT_OK": 3, "SELECTOR": 4, "CONTACTOR_OPEN": 5, "MAINS_SENSE_TOP": 6, "MAINS_SENSE_DECK": 7,
    "FAN_OK": 8, "DOOR": 9,
}  # fmt: skip


class Pins:
    """A heater on a simulated board. `with pins:` lets that board act."""

    def __init__(self, mcu="rp2040", without=(), pulse=False, **more):
        names = {name: FULL_MAP[name] for name in FULL_MAP if name not in without}
        if pulse:
            names["CONTACTOR_DRIVE"] = "pulse"
        self.board = types.SimpleNamespace(**names)
        self.wires = Wires()
        self.port = Port(self.wires, mcu)
        self.permit = load("safety.supervisor").Permit()
        self._running = None
        with self:
            self.heater = load("board_io.heater").Heater(self.board, **more)

    def __enter__(self):
        self._running = world().running(self.port)
        self._running.__enter__()
        return self

    def __exit__(self, *error):
        return self._running.__exit__(*error)

    def levels(self):
        """(top, deck, contactor) at the pads."""
        get = self.port.levels.get
        return (get(10, 0), get(11, 0), get(12, 0))

    def allow(self, granted=1, contactor=1, tripped=0):
        """A fresh permit."""
        self.permit.granted, self.permit.contactor, self.permit.tripped = granted, contactor, tripped
        self.permit.serial = (self.permit.serial + 1) & 0xFFFF
        return self.permit

    def drive(self, top_pm=1000, deck_pm=1000, dt_ms=TICK_MS, **permit):
        """One tick with a fresh permit, then the time passes; levels at its end."""
        with self:
            self.heater.drive(top_pm, deck_pm, self.allow(**permit), dt_ms)
            levels = self.levels()
            self.port.sleep_us(TICK_MS * 1000)
        return levels

    def settled(self):
        """The contactor has been closed for a tick: the next drive() begins a window."""
        self.drive(granted=0)
        return self
