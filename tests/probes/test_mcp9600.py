"""MCP9600 and MCP9601: independent decoder, identity, settings, update flag, faults."""

import random

import pytest
from probe_standins import Wires
from stubs import Device, Registers, load
from tizzone.probes.mcp9600 import MCP9600, TYPES
from tizzone.probes.reading import (
    NO_VALUE_MC,
    NONE_YET,
    OPEN,
    RANGE,
    SHORT_GROUND,
    STUCK,
    WRONG_CHIP,
    Reading,
)
from watched import Watched

from host.chips.mcp9600 import FakeMCP9600


def driver(chip=None, kind="K", name="mcp9600"):
    bus = Wires() if chip is None else Wires(x67=chip)
    return MCP9600(bus, 0x67, Reading(), kind, name)


def test_independent_decoder_gives_the_same_values_and_faults(monkeypatch):
    # Source: adafruit-circuitpython-mcp9600 2.0.10 (PyPI) over a stub of its bus.
    module = load(monkeypatch, "adafruit_mcp9600")
    wire = Registers({0x20: b"\x40\x12"}, size=2)
    Device.wire = wire
    reference = module.MCP9600(None)
    rng, probe, compared = random.Random(9600), driver(), {"value": 0, "fault": 0, "range": 0}
    for i in range(10000):
        hot, cold = rng.randrange(65536), rng.randrange(65536)
        if i % 2:
            hot, cold = rng.randrange(22000), rng.randrange(2000)
        status = 0x40 | (0x10 if i % 3 == 0 else 0)
        wire.memory.update({0: hot.to_bytes(2, "big"), 2: cold.to_bytes(2, "big")})
        wire.memory[4] = bytes([status, 0])
        probe.decode(status, hot, cold)
        r = probe.reading
        value_c, junction_c = reference.temperature, reference.ambient_temperature
        if -40 <= junction_c <= 125:
            assert abs(r.junction_mc - junction_c * 1000) <= 1
        if reference.input_range:
            assert r.fault == RANGE and r.value_mc == NO_VALUE_MC
            compared["fault"] += 1
        elif -40 <= junction_c <= 125 and -200 <= value_c <= 1372:
            assert r.fault == 0 and abs(r.value_mc - value_c * 1000) <= 1
            compared["value"] += 1
        else:
            assert r.fault == RANGE and r.value_mc == NO_VALUE_MC
            compared["range"] += 1
    assert min(compared.values()) > 1000, compared


@pytest.mark.parametrize("kind", TYPES)
def test_type_and_resolution_reach_the_chip(world, clock, kind):
    chip = FakeMCP9600(world.hot, world.cold, clock.now_us)
    assert driver(chip, kind).check() == 0
    # Codes of register 05h bits 6..4: K0 J1 T2 N3 S4 E5 B6 R7 (DS20005426, register 5-6).
    assert chip.words[0x05] == {"K": 0, "J": 1, "T": 2, "N": 3, "S": 4, "E": 5, "B": 6, "R": 7}[kind] << 4
    assert chip.words[0x06] == 0xA0


def test_the_serial_stands_still_until_there_is_a_new_result(world, clock):
    chip = FakeMCP9600(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    probe.check()
    assert probe.read().fault == NONE_YET and probe.reading.serial == 0
    clock.us += 143_000
    assert probe.read().serial == 1 and probe.reading.fault == 0
    clock.us += 100_000
    assert probe.read().serial == 1
    clock.us += 43_000
    assert probe.read().serial == 2


@pytest.mark.parametrize(
    ("identity", "name", "expected"),
    [(0x40, "mcp9600", 0), (0x41, "mcp9601", 0), (0x41, "mcp9600", WRONG_CHIP),
     (0x40, "mcp9601", WRONG_CHIP), (0x55, "mcp9600", WRONG_CHIP)],
)  # fmt: skip
def test_the_identity_must_be_that_of_the_pin_map(world, clock, identity, name, expected):
    chip = FakeMCP9600(world.hot, world.cold, clock.now_us, identity=identity)
    assert driver(chip, name=name).check() == expected


@pytest.mark.parametrize(("fault", "code"), [("open", OPEN), ("short_ground", SHORT_GROUND)])
def test_only_the_9601_sees_an_open_or_shorted_probe(world, clock, fault, code):
    world.hot_c = 450.0
    for identity, name, expected in ((0x41, "mcp9601", code), (0x40, "mcp9600", 0)):
        chip = FakeMCP9600(world.hot, world.cold, clock.now_us, identity=identity, noise_k=0.0)
        probe = driver(chip, name=name)
        probe.check()
        chip.set_fault(fault)
        clock.us += 250_000
        assert probe.read().fault == expected
    assert probe.reading.value_mc == 25000  # what its header warns of: a cold reading, no fault


def test_a_chip_that_lost_its_settings_is_named_and_set_up_again(world, clock):
    chip = FakeMCP9600(world.hot, world.cold, clock.now_us)
    probe = driver(chip, "J")
    probe.check()
    chip.restart()
    clock.us += 250_000
    assert probe.read().fault == STUCK  # both registers read 0
    clock.us += 250_000
    probe.read()
    clock.us += 250_000
    assert probe.read().fault == 0


@pytest.mark.parametrize("arguments", [("X", "mcp9600", 0x67), ("K", "mcp9602", 0x67), ("K", "mcp9600", 0x48)])
def test_settings_that_the_chip_lacks_are_refused(arguments):
    kind, name, address = arguments
    with pytest.raises(ValueError, match="MCP9600"):
        MCP9600(Wires(), address, Reading(), kind, name)


@pytest.mark.slow
def test_every_code_stays_below_two_to_the_thirty():
    probe = driver(name="mcp9601")
    for word in range(65536):
        probe.decode(Watched(0x40), Watched(word), Watched(400))
        r = probe.reading
        assert (r.fault == 0) is (r.value_mc != NO_VALUE_MC)
