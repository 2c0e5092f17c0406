"""A Pico in software: MicroPython's real firmware on an emulated RP2040, in lock-step with this process.

Emulated time moves only in `run()`, `until()` and `ask()`, so that nothing here depends on how fast the machine is.
What the emulator leaves out: the second core, analogue levels, brown-out, and (unless asked for) what a miss in the
flash cache costs: a real board is slower.
"""

import json
import shutil
from pathlib import Path

from host.link.frames import unframed, with_checksum
from tests.pico.emulator_process import Emulated
from tests.pico.image import NoFirmware, firmware

EMULATOR = Path(__file__).parent / "emulator"
LOOK_S = 0.125
FAST_FLASH, SLOW_FLASH = (45, 0.7), (400, 3)  # ms of an erase and a page: typical, and the maximum (from memory)


def ready():
    """Raise NoFirmware, with one line, unless everything that a rig needs is there."""
    firmware()
    if not shutil.which("node"):
        raise NoFirmware("no node: the emulator of the Pico needs it")
    if not (EMULATOR / "node_modules" / "rp2040js").is_dir():
        raise NoFirmware("no emulator of the Pico: run npm install in tests/pico/emulator")
    try:
        import littlefs  # noqa: F401
    except ImportError:
        raise NoFirmware("littlefs-python is missing: pip install littlefs-python") from None


class Rig(Emulated):
    """One board with its oven. `flash`: an image (bytes); `oven`, `wiring`: changes to the emulator's own numbers;
    `flash_ms`: (erase of 4 kB, program of a page); `display`: {"unit", "addr"} of one on I2C; `xip`: cycles a miss of
    the flash cache costs (0 = none counted)."""

    def __init__(self, flash, oven=None, wiring=None, flash_ms=FAST_FLASH, display=None, xip=0, log=None):
        options = {"oven": json.dumps(oven or {}), "map": json.dumps(wiring or {}), "xip": str(xip)}
        options.update(eraseMs=str(flash_ms[0]), progMs=str(flash_ms[1]))
        if display:
            options["i2c"] = json.dumps(display)
        super().__init__(EMULATOR / "rig.mjs", {"flash": flash}, options)
        self.log = log
        self.now = {}  # the oven and the pins as they are
        self.serial = []  # (t, line) that the board has sent
        self.events = []  # (t, text) of pins, contacts and acts
        self.edges = []  # (t, mask) of what conducts
        self.resets = []  # (t, cause)
        self.raw = b""  # bytes sent that nobody has taken with `take()`

    def _took(self, answer):
        lists = {"serial": self.serial, "events": self.events, "edges": self.edges, "resets": self.resets}
        for name, kept in lists.items():
            new = [tuple(item) for item in answer.pop(name)]
            kept += new
            if self.log and name in ("serial", "events"):
                for t, text in new:
                    self.log(f"{t:10.3f} {'<' if name == 'serial' else '!'} {text}")
        self.raw += answer.pop("raw").encode("latin1")
        self.now = answer
        self.t = answer["t"]
        if answer.get("halted"):
            raise RuntimeError(f"the processor has halted: {answer['halted']}")
        return answer

    def run(self, seconds):
        """Let emulated time pass."""
        return self._took(self.op(op="run", s=seconds))

    def until(self, condition, seconds, step=0.25):
        """Run until a JavaScript condition on x, serial, events holds; False after `seconds`."""
        return self._took(self.op(op="until", js=condition, s=seconds, step=step))["ok"]

    def until_python(self, condition, seconds, step=LOOK_S):
        """Run until condition() is true; False after `seconds`."""
        return super().until_python(condition, seconds, step)

    def act(self, words):
        """Disturb something: a word of emulator/acts.mjs and its values."""
        self.op(op="act", words=words)

    def at(self, t, words):
        """The same at an emulated time."""
        self.op(op="at", t=t, words=words)

    def send(self, data):
        """Bytes for the board's serial port."""
        self.op(op="send", data=(data if isinstance(data, str) else data.decode("latin1")))

    def take(self):
        """The bytes that the board has sent since the last call."""
        data, self.raw = self.raw, b""
        return data

    def ask(self, text, seconds=4.0):
        """The reply to one link line, None if none comes."""
        seen = len(self.serial)
        self.send(with_checksum(text) + "\n")
        if self.log:
            self.log(f"{self.t:10.3f} > {text}")
        end = self.t + seconds
        while self.t < end:
            self.run(LOOK_S)
            for _, line in self.serial[seen:]:
                reply = unframed(line)
                if reply is not None:
                    return reply
        return None

    def status(self):
        """{"pv_mc": ..., ...} of a status reply; {} if there is none."""
        return dict(word.split("=", 1) for word in (self.ask("status") or "").split() if "=" in word)

    def stats(self, reset=False):
        """{"ticks", "gaps", "chips", "flash", ...}, see emulator/rig.mjs."""
        return self.op(op="stats", reset=reset)

    def boots_and_arms(self, seconds=30.0):
        """Run from power-up until the board has armed; when that was, None if it did not."""
        begun = self.t
        self.until("x.usb", 10)
        while self.t < begun + seconds:
            now = self.status()
            if now and "armed" not in now["missing"].split(","):
                return self.t - begun
        return None

    def heat_off_ms(self, since):
        """Milliseconds from `since` until nothing conducts any more; None while something does."""
        after = [edge for edge in self.edges if edge[0] >= since]
        if not after:
            return None if self.now["conducting"] else 0.0
        return (after[-1][0] - since) * 1000 if after[-1][1] == 0 else None
