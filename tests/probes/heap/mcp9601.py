from common import Wires, run
from tizzone.probes.mcp9600 import MCP9600
from tizzone.probes.reading import Reading


def registers(hot=b"\x1c\x20", status=0x40, device=0xA0):
    """Settings as written, junction 25 °C."""
    return {0: hot, 2: b"\x01\x90", 4: bytes((status,)), 5: b"\x00", 6: bytes((device,))}


class Turns(Wires):
    """A turn also ends where a read ends early."""

    def readfrom_mem_into(self, address, register, buf):
        at = self.at
        Wires.readfrom_mem_into(self, address, register, buf)
        ends = (register == 6 and buf[0] != 0xA0) or (register == 4 and not buf[0] & 0x40)
        if ends and self.at == at:
            self.at = (at + 1) % len(self.answers)


# 450 °C twice, no new result, open, short, an alert that nobody asked for, other settings, no answer,
# beyond type K.
TURNS = (
    registers(), registers(b"\x1c\x21"), registers(status=0), registers(status=0x50),
    registers(status=0x60), registers(status=0x41), registers(device=0x80), None,
    registers(b"\x7f\x00"), registers(device=0),
)  # fmt: skip
run(
    MCP9600(Turns(TURNS, 2), 0x67, Reading(), "K", "mcp9601"),
    ["none", "open", "short_ground", "garbled", "wrong_chip", "silent", "range", "stuck"],
)
