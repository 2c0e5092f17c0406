from common import Select, Wire, run
from tizzone.probes.max31856 import MAX31856
from tizzone.probes.reading import Reading

probe = MAX31856(None, Select(), Reading(), "K", 50, 1)


def frame(hot=b"\x1c\x20\x00", status=0, cr0=None):
    """Settings as written, junction 25 °C, a result and the status register."""
    first = bytes((0, probe.cr0 if cr0 is None else cr0, probe.cr1)) + bytes(8)
    return first + b"\x19\x00" + hot + bytes((status,))


# 450 °C, open, beyond the supply, out of range, lost settings, ones, zeros, beyond type K.
probe.spi = Wire(
    (frame(), frame(b"\x1c\x21\x20"), frame(status=1), frame(status=2), frame(status=64), frame(cr0=0),
     b"\xff" * 17, bytes(17), frame(b"\x64\x00\x00"))
)  # fmt: skip
run(probe, ["none", "open", "short_supply", "range", "wrong_chip", "silent", "stuck"])
