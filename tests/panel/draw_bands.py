"""On MicroPython: draws screens with its own framebuf. Arguments: device folder, JSON file of screens."""

import binascii
import json
import sys

sys.path.insert(0, sys.argv[1])

import framebuf  # noqa: E402
from tizzone.panel.canvas import Canvas  # noqa: E402

pixels, strip = bytearray(1024), bytearray(128)
canvas = Canvas(
    pixels,
    framebuf.FrameBuffer(pixels, 128, 64, framebuf.MONO_VLSB),
    strip,
    framebuf.FrameBuffer(strip, 128, 8, framebuf.MONO_VLSB),
)
with open(sys.argv[2]) as file:
    for bands in json.load(file):
        for number in range(4):
            canvas.draw(number, bands[number])
        print(binascii.hexlify(pixels).decode())
