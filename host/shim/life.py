"""One board's life from power-up on, for both runtimes: boot file, application, prompt, hang, no supply.

`turn()` does one piece: a boot, one step of the application, or 250 ms of whatever is left when there is none. However
the program ends, it ends through the device's own `run()`: `finish()` lets it meet the error in its loop. `whole()`
runs it from its first line to its last instead, for boards that need not be copied.
"""

import io
import sys

try:
    from host.shim.console import Console
    from host.shim.port import BoardHung, BoardReset
except ImportError:  # on MicroPython, where this folder itself is on the path
    from console import Console  # type: ignore[no-redef]
    from port import BoardHung, BoardReset  # type: ignore[no-redef]

IDLE_US = 250_000
STILL_STEPS = 100
MODES = ("boot", "run", "prompt", "hung", "off")


def finish(module, app, error):
    """Let run() of the application's module meet `error` in its loop: its own `except` and `finally` do the rest."""

    def step():
        raise error

    kept = module.App
    app.start = lambda: True
    app.step = step
    module.App = lambda: app
    try:
        module.run()
    finally:
        module.App = kept


def whole(life, module, stream, after):
    """Run run() of the application's module from its first line to its end. `after()` is called when the start is
    through, after each step, and every 250 ms while the program hangs."""

    class Guest(module.App):
        is_started = False

        def start(self):
            is_armed = super().start()
            self.is_started = True
            shown(self, "prompt" if is_armed is False else "run")
            return is_armed

        def step(self):
            super().step()
            if self.is_started:
                shown(self, "run")

    def shown(app, mode):
        life.app = app
        life.mode = mode
        after()

    def hang():
        life.note("hang", "")
        life.mode = "hung"
        while True:
            after()
            life.port.pass_us(IDLE_US, True)

    kept = module.App
    module.App = lambda: Guest(stream)
    life.port.on_hang = hang
    try:
        module.run()
    finally:
        module.App = kept
        life.port.on_hang = None
        life.app = None


class Life:
    """Runs `boot()` and `make_app(console)` on a Port. `notes` tells what happened: [us, kind, text].

    `make_app` may return None: the program has run and is over. `end(app, error)`: how a program that raised ends.
    `cut_types`: exceptions that mean the supply went away in the middle of a write."""

    def __init__(self, port, boot, make_app, cut_types=(), end=None):
        self.end = end
        self.port = port
        self.cut_types = cut_types
        self.trace = ""  # of the last crash
        self.boot = boot
        self.make_app = make_app
        self.mode = "boot"  # one of MODES
        self.still = 0
        self.app = None
        self.off_us = 0
        self.notes = []

    def note(self, kind, text):
        """Remember an event of the board's life."""
        self.notes.append([self.port.now_us, kind, text])

    def turn(self):
        """One piece of life; whatever the device raises ends here as it would on a board."""
        before_us = self.port.now_us
        try:
            if self.mode == "run":
                self.app.step()
                # A step that never waits would stop the simulated time.
                self.still = self.still + 1 if self.port.now_us == before_us else 0
                if self.still > STILL_STEPS:
                    self.port.pass_us(1000)
            elif self.mode == "boot":
                self.start()
            else:
                self.wait()
        except BoardReset as reset:
            self.reset(reset.cause, reset.off_us)
        except BoardHung:
            self.note("hang", "")
            self.mode = "hung"
        except self.cut_types:
            self.reset("power", IDLE_US)
        except (Exception, KeyboardInterrupt) as error:
            self.crash(error)

    def start(self):
        """Boot file, application, its start."""
        self.note("boot", self.port.cause)
        self.app = None
        if self.port.fs is not None:
            self.port.fs.power_up()
        self.boot()
        self.app = self.make_app(Console(self.port))
        # An application that says False leaves the board to whoever is at the prompt.
        self.mode = "prompt" if self.app is None or self.app.start() is False else "run"

    def wait(self):
        """Nothing runs: at the prompt, hung, or without supply."""
        if self.mode == "off":
            piece = min(IDLE_US, self.off_us)
            if piece > 0:
                self.port.advance(piece)
            self.off_us -= piece
            if self.off_us <= 0:
                self.mode = "boot"
            return
        self.port.pass_us(IDLE_US, self.mode == "hung")

    def reset(self, cause, off_us):
        """The chip starts again, after `off_us` without supply."""
        self.note("reset", cause)
        self.port.reset(cause)
        self.app = None
        self.off_us = off_us
        self.mode = "off" if off_us else "boot"

    def crash(self, error):
        """An exception out of the application: it ends as the device's run() ends, then the board is at the prompt."""
        self.trace = trace(error)
        self.note("crash", f"{type(error).__name__}: {error}")
        self.mode = "prompt"
        if self.app is None or self.end is None:
            return
        try:
            self.end(self.app, error)
        except BoardReset as reset:
            self.reset(reset.cause, reset.off_us)
        except (Exception, KeyboardInterrupt) as second:
            if second is not error:
                self.note("crash", f"while making safe: {type(second).__name__}: {second}")


def trace(error):
    """The whole traceback as text, on either runtime."""
    text = io.StringIO()
    if hasattr(sys, "print_exception"):
        sys.print_exception(error, text)
    else:
        import traceback

        traceback.print_exception(error, file=text)
    return text.getvalue()
