"""A witness step's look on stand-ins for witness and board: for the tests of what each step looks at."""

import types

from host.shim.loader import World

WORLD = World()
E = WORLD.load("tizzone.commissioning.evidence")
L = WORLD.load("tizzone.safety.limits")
STEPS = WORLD.load("tizzone.commissioning.release").STEPS


class Witness:
    """What a look marks."""

    def __init__(self, base_mc=20_000):
        self.bits = self.value_mc = self.count_ms = self.was_closed = self.heated = self.cut_asked = 0
        self.base_mc = self.base_stone_mc = base_mc
        self.lost_ms = -1
        self.fault = ""
        self.high_limit_c = 500

    def mark(self, bit):
        """Evidence was seen."""
        self.bits |= 1 << bit

    def fail(self, why):
        """The step has failed."""
        self.fault = why


def probe(pv_mc=20_000):
    """A good reading."""
    return types.SimpleNamespace(usable=True, pv_mc=pv_mc, limit_mc=pv_mc)


def zone(on=0):
    """A zone's relay."""
    return types.SimpleNamespace(on=on, pin=1)


class App:
    """What a look reads of the board: idle, cold, nothing closed, nothing flows."""

    def __init__(self, session=1, **seen):
        self.dome, self.stone = probe(), probe()
        self.sequence = types.SimpleNamespace(session=session)
        self.heater = types.SimpleNamespace(top=zone(), deck=zone(), contactor_on=0, follows=lambda: 1)
        self.supervisor = types.SimpleNamespace(
            first_out=L.NONE,
            permit=types.SimpleNamespace(granted=0),
            ceiling_mc=480_000,
            lower_limit=self.lowered,
            restore_limit=lambda: self.lowered(500_000),
        )
        self.release_c = 60
        self.limit_mc = None
        values = {
            "enable": 1, "selector_ours": 1, "limit_ok": 1, "fan_ok": 1, "fan_on": 1, "mirror_open": 1, "top_sense": 0,
            "deck_sense": 0, "top_on": 0, "deck_on": 0, "readback_ok": 1,
        }  # fmt: skip
        self.seen = types.SimpleNamespace(**{**values, **seen})

    def lowered(self, limit_mc):
        """The limit was lowered or restored."""
        self.limit_mc = limit_mc


def look(step, w, app, ticks=1, dt_ms=250):
    """The witness after so many looks."""
    for _ in range(ticks):
        E.WATCHES[STEPS.index(step)](w, app, app.seen, dt_ms)
    return w


def cutting(dome_mc=40_000, **changes):
    """(w, app) under real heat, with the cut asked for."""
    app, w = App(top_on=1, top_sense=2), Witness()
    app.dome.pv_mc = app.dome.limit_mc = dome_mc
    app.heater.top.on = app.supervisor.permit.granted = w.was_closed = w.cut_asked = 1
    for name, value in changes.items():
        setattr(app.seen if hasattr(app.seen, name) else w, name, value)
    return w, app
