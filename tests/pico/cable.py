"""A USB cable from a Rig to code that knows serial ports and wall time: both become the rig's.

    with Cable(rig) as port: deploy(port, plan)        # port is "rig://..."

Inside the block `time` of the deploy code and of mpremote is emulated, so that no wait depends on the machine.
"""

import mpremote.transport_serial
import serial

import host.deploy.check
import host.deploy.entry
import host.deploy.line
import host.deploy.measure
import host.deploy.run
from tests.pico import protocol_rig

MODULES = (
    host.deploy.check, host.deploy.entry, host.deploy.line, host.deploy.measure, host.deploy.run,
    mpremote.transport_serial,
)  # fmt: skip


class Clock:
    """`time` of one rig."""

    def __init__(self, rig):
        self._rig = rig

    def monotonic(self):
        """Emulated seconds."""
        return self._rig.t

    time = monotonic

    def sleep(self, seconds):
        """Let them pass."""
        self._rig.run(seconds)


class Cable:
    """`cut_at`: after so many bytes to the board its supply goes for a moment, once."""

    def __init__(self, rig, cut_at=None):
        self.rig = rig
        self.cut_at = cut_at
        self.wrote = 0

    def cut(self):
        """The board loses its supply."""
        self.cut_at = None
        self.rig.act("power_cycle")
        self.rig.run(0.05)

    def __enter__(self):
        if "tests.pico" not in serial.protocol_handler_packages:
            serial.protocol_handler_packages.append("tests.pico")
        self._name = name = f"r{id(self)}"
        protocol_rig.PORTS[name] = self
        self._kept = [(module, module.time) for module in MODULES]
        for module in MODULES:
            module.time = Clock(self.rig)
        return f"rig://{name}"

    def __exit__(self, *what):
        for module, real in self._kept:
            module.time = real
        del protocol_rig.PORTS[self._name]
