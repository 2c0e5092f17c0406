"""An App on stand-ins for its parts, which note what is asked of them: for the tests of its own lines."""

import types

from host.shim.dark import Dark
from host.shim.loader import World
from host.shim.port import Port

WORLD = World()
A = WORLD.load("tizzone.app")
S = WORLD.load("tizzone.evening.sequence")
L = WORLD.load("tizzone.safety.limits")
TIME = WORLD.load("time")


def some(**values):
    """A part with these attributes."""
    return types.SimpleNamespace(**values)


class Bench:
    """An App whose parts note what is asked of them in `done`. `with bench:` lets its board act."""

    def __init__(self):
        self.done = []
        self.port = Port(Dark(), "rp2040", some(PROBES={}))
        self.sending = 0
        app = self.app = A.App.__new__(A.App)
        app.board = some(WATCHDOG_MS=4000)
        app.heater = some(
            top=some(on=0), deck=some(on=0), contactor_on=0, fan_on=0, follows=self.noting("follows", 1),
            take_deadman=lambda: 0, drive=self.noting("drive"), prove=self.noting("prove", 0),
            run_fan=self.noting("fan"), all_off=self.noting("all off"),
        )  # fmt: skip
        app.sequence = some(
            active=1, session=1, stage=S.PREHEAT, cool_mc=250_000, setpoint_mc=200_000, setpoint_inverted=~200_000,
            step=self.noting("step"), proved=self.noting("proved"),
        )  # fmt: skip
        self.permit = some(granted=1)
        app.supervisor = some(
            permit=self.permit, first_out=L.NONE, holding=0, stopping=0, armed=1,
            judge=self.noting("judge", self.permit), withdraw_unless=self.noting("withdraw"),
            warmth=some(below=self.noting("below", 1)), raise_event=self.noting("raise"),
        )  # fmt: skip
        app.evening = some(opening=0, keeping=0, tick=self.noting("evening"))
        app.link = some(
            is_sending=lambda: self.sending, next_line=lambda: (None, ""), reply=self.noting("reply"),
            send=self.noting("send", 1), pause_over=self.noting("pause over"),
        )  # fmt: skip
        app.memory = some(wrote=0, keep_latch=self.noting("keep latch"), log=self.noting("log"))
        app.contacts = some(sampling_ms=15, sample=self.noting("sample"), sense=self.noting("sense"))
        app.due, app.pid = some(write=self.noting("due")), some(update=self.noting("pid", 50.0))
        app.dome, app.stone = some(usable=True, pv_mc=150_000, update=self.noting("dome")), None
        app.seen = some(session=1, proving=0, box_mc=1, clock_error_ms=0)
        app.witness = app.learning = app.panel = app.watchdog = None
        app.probes, app.reset_due, app.top_share_pct = {}, False, 50
        app.out_pm = app.ticks = app._uncollected = app._clock_ms = 0
        app._last_ms = app._next_ms = app._clock_s = 0

    def noting(self, name, answer=None):
        """A part's function that notes its call."""

        def call(*args, **more):
            self.done.append((name, *args, *more.values()))
            return answer

        return call

    def names(self):
        """What was called, in order."""
        return [entry[0] for entry in self.done]

    def __enter__(self):
        self._running = WORLD.running(self.port)
        self._running.__enter__()
        return self.app

    def __exit__(self, *error):
        return self._running.__exit__(*error)
