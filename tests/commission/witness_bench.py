"""A witness on stand-ins for its board: for the tests of its own lines."""

import types

from host.pins import pin_map
from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port

WORLD = World()
C = WORLD.load("tizzone.commissioning.release")
W = WORLD.load("tizzone.commissioning.witness")
SUPERVISOR = WORLD.load("tizzone.safety.supervisor")
BY = ["MB", "20260105"]
ALL = {"papers": 0, "electrical": 0, "dead": 3, "lamp": 7, "transfer": 15, "cutoff": 7, "first-heat": 3, "limiter": 3,
       "identify": 0, "full-heat": 1}  # fmt: skip
NAMES = list(ALL)
MEASURED = [name for name in NAMES if ALL[name]]


PORT = Port(Dark(), "rp2040")


def some(**values):
    """A part with these attributes."""
    return types.SimpleNamespace(**values)


class App:
    """What a witness knows of a board: idle, cold, wired in full; `done` steps are in the record on its flash."""

    def __init__(self, done=0, high_limit_c=500, **pins):
        changed = vars(pin_map.read("boards/pico.py")) | pins
        self.board = some(**{name: value for name, value in changed.items() if value != "gone"})
        self.signed = {"high_limit_c": high_limit_c, "exclusive": 0, "calibration": {}}
        self.refuses = False
        self.saved = []
        self.memory = some(commissioning=lambda: self.stored, keep_commission=self.keep)
        self.dome, self.stone = some(usable=True, pv_mc=20_000, limit_mc=20_000), some(usable=True, pv_mc=19_000)
        self.heater = some(
            contactor_on=0, contactor_switchings=0, top=some(on=0, switchings=0), deck=some(on=0, switchings=0), fan=13
        )
        self.sequence = some(session=0, setpoint_mc=60_000)
        self.seen = some(mirror_open=1)
        self.acts = some(change_setpoint=lambda value_mc: setattr(self.sequence, "setpoint_mc", value_mc))
        with WORLD.running(PORT):
            steps = [[*BY, n] for n in range(done)]
            self.stored = C.record(self.board, self.signed, C.earned_c(done), steps) if done else None
            self.release_c, self.release_reason = C.release(self.stored, self.board, self.signed)
        self.supervisor = SUPERVISOR.Supervisor(high_limit_c * 1000, self.release_c * 1000)
        self.restart()

    def restart(self):
        """A witness as after a start."""
        with WORLD.running(PORT):
            self.witness = W.Witness(self)
        return self.witness

    def keep(self, record):
        """The record goes to the flash, or not."""
        self.saved.append(record)
        if not self.refuses:
            self.stored = record
        return not self.refuses

    def say(self, line=""):
        """A line after `witness`: the reply."""
        with WORLD.running(PORT):
            return W.command(self, line.split())

    def tick(self, dt_ms=250):
        """One tick of the witness."""
        with WORLD.running(PORT):
            self.witness.tick(self, dt_ms)
        return self.witness

    def enter(self, step):
        """Begin or attest it, whichever it takes: the reply."""
        return self.say(f"{'begin' if ALL[step] else 'attest'} {step} MB 20260105")

    def told(self):
        """The answer to a bare `witness` as a dict."""
        reply = self.say()
        assert reply.startswith("ok ")
        before, _, reason = reply[3:].partition(" reason=")
        return {**dict(part.split("=", 1) for part in before.split()), "reason": reason}

    def begun(self):
        """The step under way, by its reply."""
        return self.told()["active"]


def at(step, **more):
    """A board whose next step is this one."""
    return App(NAMES.index(step), **more)


def watching(step, **more):
    """One where it has begun."""
    app = at(step, **more)
    assert app.enter(step) == "ok"
    return app


def seen_all(step, **more):
    """One where the board has seen everything."""
    app = watching(step, **more)
    app.witness.bits = app.witness.all_bits
    return app


def mark_of(app):
    """The mark of its record."""
    with WORLD.running(PORT):
        return C.fingerprint(app.board, app.signed)


TODO = {"dead": "dome-warmed,stone-warmed", "lamp": "top-current,deck-current,reading-rose",
        "transfer": "selector-opens-contactor,enable-opens-contactor,fan-turns,fan-rests",
        "cutoff": "heat-was-on,heat-off-in-one-tick,contactor-fell", "first-heat": "reached,burned-off",
        "limiter": "limiter-opens-contactor,limiter-reset", "full-heat": "reached"}  # fmt: skip
