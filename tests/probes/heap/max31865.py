from common import Select, Wire, run
from tizzone.probes.max31865 import MAX31865
from tizzone.probes.reading import Reading

probe = MAX31865(None, Select(), Reading(), "pt100", 400, 3, 50)


def frame(word=0x55A0, status=0, config=None):
    """Settings as written, a result of about 80 °C and the fault status register."""
    setting = probe.run if config is None else config
    return bytes((0, setting, word >> 8, word & 255)) + bytes(probe.limits[1:]) + bytes((status,))


# Healthy for long enough that a fault cycle is ordered and answered, then every fault.
healthy = [frame(0x55A0 + 2 * (i & 1)) for i in range(39)]
ordered = [frame(), frame(config=probe.cycle & 0xF3)]
faults = [
    frame(status=0x80), frame(status=0x40), frame(status=0x04), frame(0x55A1), frame(config=0),
    b"\xff" * 9, bytes(9), frame(0xFFF0),
]  # fmt: skip
probe.spi = Wire(healthy + ordered + faults)
run(
    probe,
    ["none", "open", "short_ground", "short_supply", "garbled", "wrong_chip", "silent", "stuck", "range"],
)
