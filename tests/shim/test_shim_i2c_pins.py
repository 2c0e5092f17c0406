"""The simulated I2C and SPI refuse units and pins as the hardware does (RP2040 datasheet 1.4.3; the ports' units)."""

import pytest

from host.pins import pin_map
from host.shim.loader import DEVICE, world
from host.shim.port import Port
from host.shim.simfs import SimFS
from host.simulator.assembly import assembled


def opened(mcu, kind, unit, **numbers):
    """ "" or the words with which the simulated board refuses this bus."""
    bench = pin_map.read("bench")
    del bench.PROBES
    device = world(DEVICE)
    with device.running(Port(assembled(bench, None), mcu, bench, SimFS())):
        machine = device.load("machine")
        try:
            getattr(machine, kind)(unit, **{name: machine.Pin(number) for name, number in numbers.items()})
        except ValueError as error:
            return str(error)
    return ""


@pytest.mark.parametrize("mcu", ["rp2040", "rp2350"])
@pytest.mark.parametrize(
    ("unit", "sda", "scl", "refused"),
    [
        (0, 0, 1, False), (0, 4, 5, False), (0, 20, 21, False), (1, 2, 3, False), (1, 26, 27, False),
        (0, 1, 0, True), (1, 0, 1, True), (0, 0, 3, True), (0, 2, 1, True), (1, 3, 2, True), (0, 16, 19, True),
    ],
)  # fmt: skip
def test_shim_i2c_of_rp2_takes_its_own_pins_only(mcu, unit, sda, scl, refused):
    assert (opened(mcu, "I2C", unit, sda=sda, scl=scl) != "") == refused


@pytest.mark.parametrize(
    ("mcu", "kind", "unit", "refused"),
    [
        ("rp2040", "I2C", 2, True), ("rp2040", "I2C", -1, True), ("rp2040", "I2C", True, True),
        ("esp32", "I2C", 0, False), ("esp32", "I2C", 1, False), ("esp32", "I2C", 2, True),
        ("esp32c3", "I2C", 0, False), ("esp32c3", "I2C", 1, True),
        ("esp32", "SPI", 0, True), ("esp32", "SPI", 2, False), ("esp32c3", "SPI", 1, False),
        ("esp32c3", "SPI", 2, True),
    ],
)  # fmt: skip
def test_shim_bus_units_are_the_ports(mcu, kind, unit, refused):
    pins = {"sda": 4, "scl": 5} if kind == "I2C" else {"sck": 4, "mosi": 5, "miso": 7}
    words = opened(mcu, kind, unit, **pins)
    assert (words != "") == refused and ("does not exist" in words) == refused
