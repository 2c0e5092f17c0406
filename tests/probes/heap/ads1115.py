from common import Wires, run
from tizzone.probes.ads1115 import ADS1115
from tizzone.probes.reading import Reading

probe = ADS1115(None, 0x48, Reading())


def registers(word, config=None):
    """A conversion and the configuration as written."""
    setting = bytes(probe.order[1:]) if config is None else config
    return {0: bytes((word >> 8, word & 255)), 1: setting}


# About 450 °C twice, output at the supply, at ground, the end code, other settings, no answer.
probe.i2c = Wires(
    (registers(0x46E0), registers(0x46E8), registers(0x6590), registers(2), registers(0x7FFF),
     registers(0x46E0, b"\x85\x83"), None),
    0,
)  # fmt: skip
run(probe, ["none", "open", "stuck", "range", "wrong_chip", "silent"])
