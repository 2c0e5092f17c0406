"""Stubs that let the CircuitPython drivers (tests/requirements-decoders.txt) run over our fake bytes."""

import importlib
import sys
import types

import pytest


class Device:
    """Bus device of the stub: hands every access to `Device.wire`, set by the test."""

    wire = None

    def __init__(self, *arguments, **named):
        pass

    def __enter__(self):
        return self

    def __exit__(self, *details):
        return False

    def readinto(self, buf, start=0, end=None):
        end = len(buf) if end is None else end
        buf[start:end] = Device.wire.read(end - start)

    def write(self, buf, start=0, end=None):
        Device.wire.write(bytes(buf[start : len(buf) if end is None else end]))

    def write_then_readinto(self, out, buf, out_end=None, in_start=0, in_end=None):
        self.write(out, end=out_end)
        self.readinto(buf, start=in_start, end=in_end)


class Registers:
    """Registers behind a pointer byte with bit 7 for writing (SPI), or a plain pointer (I2C)."""

    def __init__(self, memory=None, size=1):
        self.memory = memory if memory is not None else {}
        self.size = size  # bytes per pointer step
        self.pointer = 0
        self.clear_bits = {}  # register: bits that read back as 0

    def write(self, data):
        self.pointer = data[0] & 0x7F if self.size == 1 else data[0]
        # (the MCP9600 driver sends a byte too many before it reads: only SPI writes count here)
        if len(data) > 1 and data[0] & 0x80 and self.size == 1:
            keep = ~self.clear_bits.get(self.pointer, 0) & 0xFF
            self.memory[self.pointer] = bytes([data[1] & keep]) + data[2:]

    def read(self, n):
        out = b""
        step = self.pointer
        while len(out) < n:
            out += self.memory.get(step, b"\0" * self.size)
            step += 1
        return out[:n]


def load(monkeypatch, name):
    """Import a CircuitPython module afresh over the stubs; skipped where it is not installed."""
    typing_stub = type("Literal", (), {"__class_getitem__": classmethod(lambda cls, item: cls)})
    for module_name, members in (
        ("adafruit_bus_device", {}),
        ("adafruit_bus_device.spi_device", {"SPIDevice": Device}),
        ("adafruit_bus_device.i2c_device", {"I2CDevice": Device}),
        ("busio", {"SPI": object, "I2C": object}),
        ("digitalio", {"DigitalInOut": object}),
        ("typing_extensions", {"Literal": typing_stub}),
        ("circuitpython_typing", {}),
        ("circuitpython_typing.device_drivers", {"I2CDeviceDriver": object}),
    ):
        module = types.ModuleType(module_name)
        module.__dict__.update(members)
        monkeypatch.setitem(sys.modules, module_name, module)
    sys.modules["adafruit_bus_device"].spi_device = sys.modules["adafruit_bus_device.spi_device"]
    sys.modules["adafruit_bus_device"].i2c_device = sys.modules["adafruit_bus_device.i2c_device"]
    if importlib.util.find_spec(name) is None:
        pytest.skip("tests/requirements-decoders.txt is not installed")
    for loaded in [m for m in sys.modules if m == name or m.startswith(name + ".")]:
        monkeypatch.delitem(sys.modules, loaded)
    return importlib.import_module(name)
