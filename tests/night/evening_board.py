"""A board around the evening's part of a tick: stand-ins of stone, forecast, buzzer and store, told by hand."""

import types

from host.shim.loader import world

W = world()
M = W.load("tizzone.evening.evening")
S = W.load("tizzone.evening.sequence")
R = W.load("tizzone.evening.breads")
L = W.load("tizzone.safety.limits")
buzzer = W.load("tizzone.board_io.buzzer")
BREADS, PLACE, TAUGHT = 1, 2, 4
TICK_MS = 250
SETTINGS = {"setpoint_c": 430, "soak_min": 15, "bake_s": 75, "breads": 6, "cool_c": 240, "top_share_pct": 55}
#      dome ramp soak stone wait share breads bake sag recover lift lift_s rest
LEG = [420, 0, 15, 405, 40, 48, 12, 80, 20, 420, 6, 30, 300]


def told(**values):
    return types.SimpleNamespace(**values)


class Stone:
    """A stone at 431.6 degrees that is ready at once; `did`: what its model was told."""

    def __init__(self):
        self.did = []
        self.surface_c, self.basis, self.sees_breads = 431.6, 2, 1
        self.probed = self.spots_this_evening = 0
        self.wanted_c, self.is_ready = None, True

    def begin(self, dome_c, known):
        self.did.append(("begin", dome_c, known))

    def step(self, dome_c, deck, dt_s, bread):
        self.did.append(("step", dome_c, deck, dt_s, bread))

    def probe(self, value_c, dt_s):
        self.did.append(("probe", value_c, dt_s))

    def ready(self, wanted_c):
        self.wanted_c = wanted_c
        return self.is_ready


class Store:
    """What the last evening left."""

    def __init__(self, **values):
        self.values = values

    def load(self, name):
        value = self.values.get(name)
        return value, "missing" if value is None else "ok"


class App:
    """A board between evenings, not armed: nothing is stored; `did`: what was done to it, in order."""

    def __init__(self, stone=None, **stored):
        self.did = []
        self.board = told(PROBES={"dome": {}})
        self.settings, self.release_reason, self.top_share_pct = dict(SETTINGS), "", 55
        self.supervisor = told(
            ceiling_mc=480_000, permit=told(granted=0), first_out=0, latch_changed=0, armed=0, own_writes=told(stalls=0)
        )
        self.sequence = W.load("tizzone.evening.plan_in_force").sequence_of(SETTINGS, 480_000)
        self.memory = told(store=Store(**stored), failed=0)
        self.dome = told(usable=True, pv_mc=411_000)
        self.stone = stone
        zone = lambda: told(on=0, switchings=0)  # noqa: E731
        self.heater = told(top=zone(), deck=zone(), contactor_switchings=0)
        self.pid = told(
            match=lambda *given: self.did.append(("match", *given)),
            retarget=lambda *given: self.did.append(("retarget", *given)),
        )
        self.is_quiet = True
        self.evening = M.Evening(self)
        self.evening.stone = Stone()
        self.evening.forecast = told(
            forget=lambda: self.did.append("forget"), tick=lambda stone, **given: self.did.append(("forecast", given))
        )
        self.evening.buzzer = told(
            play=lambda pattern: self.did.append(("play", pattern)), tick=lambda *given: self.beats.append(given)
        )
        self.beats = []

    def quiet(self):
        return self.is_quiet

    def tick(self, count=1, dt_ms=TICK_MS):
        for _ in range(count):
            self.evening.tick(self, dt_ms)
        return self

    def stage(self, stage, state=S.RUNNING, stage_ms=0):
        """Put the sequence there, and let a tick pass."""
        self.sequence.state, self.sequence.stage, self.sequence.stage_ms = state, stage, stage_ms
        return self.tick()

    def plays(self):
        found = [what[1] for what in self.did if what[0] == "play"]
        self.did = [what for what in self.did if what[0] != "play"]
        return found


def on_plan():
    """An App one tick into a plan of two legs."""
    made = App(plan={"name": "hall", "end_c": 200, "legs": [LEG, [*LEG[:5], 70, *LEG[6:]]]})
    made.sequence.start(False)
    made.tick()
    return made
