"""What MicroPython runs first behind a pseudo-terminal (host/board_pty/board.py): the simulated board, then boot files.

    micropython -i child.py IN OUT     file descriptors of two pipes to the parent

Mounts the board's own file system at "/", runs boot.py always and main.py only if the parent says so, and leaves
the terminal to the interpreter's prompt. What is outside the board lives in the parent; every piece of time is one
request, answered when that time has passed there. A reset never returns: the parent ends this process.

Ctrl-C may strike between any two steps. So answers are frames of one size, read in one call, and numbered: an
answer that nobody took any more is skipped by the next request.
"""

import gc
import json
import struct
import sys

FRAME = 768  # bytes of an answer; PIPE_BUF is 4096, so one read takes it whole or not at all
CONFIG_FRAME = 4096
INTERRUPT = "interrupt"
MARK = "\x1b]board\x07"  # printed where the prompt begins; the parent takes it out


class Pipe:
    """Requests to the parent and its answers."""

    def __init__(self, source, sink):
        self._source = source
        self._sink = sink
        self._frame = bytearray(CONFIG_FRAME)
        self._number = 0

    def tell(self, name, *values):
        """A message that is not answered."""
        text = json.dumps((name, 0) + values).encode()
        self._sink.write(struct.pack("<I", len(text)) + text)

    def ask(self, name, *values):
        """A request; its answer."""
        self._number += 1
        number = self._number
        text = json.dumps((name, number) + values).encode()
        self._sink.write(struct.pack("<I", len(text)) + text)
        while True:
            answer = self.receive()
            if answer[0] == number:
                if answer[1] == INTERRUPT:
                    raise KeyboardInterrupt
                return answer[1]

    def receive(self):
        """One answer; the process ends with its parent."""
        if self._source.readinto(self._frame) != len(self._frame):
            sys.exit(1)
        answer = json.loads(bytes(self._frame))
        if len(self._frame) != FRAME:
            self._frame = bytearray(FRAME)  # the first one is the configuration
        return answer


class PtyOutside:
    """Outside's surface, answered by the parent."""

    def __init__(self, pipe, config):
        self._pipe = pipe
        self._sense_pins = config["sense_pins"]
        self._chips = config["selects"]
        self._frames = {}
        self._watched = config["watched"]
        self._driving = -1
        self._gathered_us = 0
        self._quiet_us = 0
        self._now_us = 0
        self._closed = 0
        self._waves = ()
        self.host_reading = True
        self.rx = bytearray()
        self.orders = []
        self._take(config["now"])

    def advance(self, dt_us, levels, rose):
        """One piece of time; a short one in which nothing can change is only noted."""
        driven = high = 0
        for pin in levels:
            driven |= 1 << pin
            if levels[pin]:
                high |= 1 << pin
        driving = high & self._watched
        self._now_us += dt_us
        if self._now_us < self._quiet_us and driving == self._driving and not rose:
            self._gathered_us += dt_us
            return False
        self._driving = driving
        gathered_us, self._gathered_us = self._gathered_us, 0
        self._take(self._pipe.ask("advance", gathered_us + dt_us, driven, high, rose))
        return True

    def _take(self, now):
        self._now_us, self._quiet_us, self._closed, self._waves, frames = now
        for bus, select, frame in frames:
            self._frames[bus, select] = bytes(frame)

    def level(self, pin):
        """0 = closed to GND, None = open."""
        return sensed_level(pin, self._closed, self._sense_pins, self._waves, self._now_us)

    def selects(self, bus):
        """Chip-select pins of a bus."""
        return self._chips.get(bus, ())

    def transfer(self, bus, select, out, count):
        """A read-only chip's frame is here already; others are asked."""
        frame = self._frames.get((bus, select))
        if frame is not None:
            return (frame + bytes(count))[:count]
        return bytes(self._pipe.ask("transfer", bus, select, None if out is None else list(out), count))

    def i2c(self, bus, address, out, count):
        """Write then read; None when nothing acknowledges."""
        answer = self._pipe.ask("i2c", bus, address, list(out), count)
        return None if answer is None else bytes(answer)

    def analog(self, pin):
        """0..65535."""
        return self._pipe.ask("analog", pin)

    def serial_out(self, data):
        """The device prints to the real terminal; nothing comes this way."""


def wired_port(pipe, config):
    """The board's Port: pins are told at once, the watchdog lives in the parent, a reset ends the process."""

    class PtyPort(Port):
        def settle(self, number):
            Port.settle(self, number)
            if config["watched"] >> number & 1 and number in self.levels:
                pipe.tell("pin", number, self.levels[number])

        def arm(self, timeout_ms):
            Port.arm(self, timeout_ms)
            self.watchdog_us = 0  # the parent's bites, also while this interpreter hangs or sits at the prompt
            self.is_armed = True
            pipe.tell("arm", timeout_ms)

        def feed(self):
            if not self.is_armed:
                self.refuse(RuntimeError, "watchdog fed before it was armed")
            pipe.tell("feed")

        def restart(self):
            pipe.tell("reset")
            while True:
                pipe.receive()  # until the parent ends this process

    port = PtyPort(PtyOutside(pipe, config), config["mcu"])
    port.is_armed = False
    port.cause = config["cause"]
    port.now_us = config["now"][0]
    port.boot_us = config["boot_us"]
    port.levels = {pin: level for pin, level in config["levels"]}  # pins outlive a soft reset
    return port


class FlashFile:
    """A block device on an open file, for littlefs."""

    SIZE = 4096  # bytes of a block, as rp2 has it

    def __init__(self, file, blocks):
        self._file = file
        self._blocks = blocks

    def readblocks(self, block, buffer, offset=0):
        """Fill the buffer from a block."""
        self._file.seek(block * self.SIZE + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        """Put the buffer into a block."""
        self._file.seek(block * self.SIZE + offset)
        self._file.write(buffer)

    def ioctl(self, operation, argument):
        """4: number of blocks, 5: size of one, 6: erase."""
        return {4: self._blocks, 5: self.SIZE, 6: 0}.get(operation)


def mount(config):
    """The board's file system at "/"; nothing of the laptop's stays visible."""
    import os

    import vfs

    if config["flash_blocks"]:
        file = open(config["folder"], "r+b")  # noqa: SIM115 - lives as long as the process
        device = FlashFile(file, config["flash_blocks"])
        try:
            disk = vfs.VfsLfs2(device)
        except OSError:
            vfs.VfsLfs2.mkfs(device)
            disk = vfs.VfsLfs2(device)
    else:
        disk = vfs.VfsPosix(config["folder"])
    vfs.umount("/")
    vfs.mount(disk, "/")
    os.chdir("/")
    sys.path[:] = ["", ".frozen", "/lib"]


def run_file(name, scope):
    """Run a file of the board; True if it ended well or is absent."""
    try:
        with open(name) as file:
            text = file.read()
    except OSError:
        return True
    try:
        exec(text, scope)
    except SystemExit:
        raise
    except BaseException as error:  # what ends a boot file ends it as on a board: shown, then the prompt
        sys.print_exception(error)
        return False
    return True


_source = open("/dev/fd/" + sys.argv[1], "rb")  # noqa: SIM115
_sink = open("/dev/fd/" + sys.argv[2], "wb")  # noqa: SIM115
_pipe = Pipe(_source, _sink)
_config = _pipe.receive()[1]
sys.path[:0] = _config["path"]  # ours first: else the builtin modules of these names are found

import time  # noqa: E402, F401, I001

import machine  # noqa: E402
import micropython  # noqa: E402, F401
import simboard  # noqa: E402
from mainsphase import sensed_level  # noqa: E402
from port import Port  # noqa: E402

simboard.port = wired_port(_pipe, _config)
machine.soft_reset = lambda: sys.exit()
mount(_config)
_pipe.tell("up")
_scope = {"__name__": "__main__"}
gc.collect()

try:
    if run_file("boot.py", _scope) and _config["run_main"]:
        run_file("main.py", _scope)
    globals().update(_scope)
finally:
    sys.stdout.write(MARK)
