from common import Select, Wire, run
from tizzone.probes.max6675 import MAX6675
from tizzone.probes.reading import Reading

# 450 °C twice, open, ones, zeros, a wrong bit, the top code.
FRAMES = (b"\x38\x40", b"\x38\x48", b"\x38\x44", b"\xff\xff", b"\x00\x00", b"\x38\x42", b"\x7f\xf8")
run(
    MAX6675(Wire(FRAMES), Select(), Reading()),
    ["none", "open", "silent", "stuck", "garbled", "range"],
)
