from common import Select, Wire, run
from tizzone.probes.max31855 import MAX31855
from tizzone.probes.reading import Reading

# 450 °C and 25 °C, the same with each fault bit, ones, zeros, a reserved bit, beyond the table.
FRAMES = (
    b"\x1b\xd8\x19\x00", b"\x1b\xdc\x19\x10", b"\x1b\xe0\x19\x20", b"\x1b\xd9\x19\x01",
    b"\x1b\xd9\x19\x02", b"\x1b\xd9\x19\x04", b"\xff\xff\xff\xff", b"\x00\x00\x00\x00",
    b"\x1b\xda\x19\x00", b"\x7f\xfc\x19\x00", b"\x00\x04\x19\x00", b"\x00\x04\x90\x00",
)  # fmt: skip
run(
    MAX31855(Wire(FRAMES), Select(), Reading(), "K"),
    ["none", "open", "short_ground", "short_supply", "silent", "stuck", "garbled", "range"],
)
