"""MAX31856: codes, independent decoder, settings, types, thresholds of its ranges."""

import random

import pytest
from probe_standins import Select, Wire
from stubs import Device, Registers, load
from tizzone.probes.max31856 import MAX31856, RANGE_C, TYPES
from tizzone.probes.reading import NO_VALUE_MC, NONE_YET, OPEN, RANGE, SHORT_SUPPLY, WRONG_CHIP, Reading
from watched import Watched

from host.chips.max31856 import FakeMAX31856

# Source: register codes of the datasheet's linearised temperature, each checked with the decoders of
# the Linux kernel (max31856.c) and of adafruit-circuitpython-max31856 0.12.7.
CODES = [
    (1600.0, 0x640000), (1000.0, 0x3E8000), (100.9375, 0x064F00), (25.0, 0x019000),
    (0.0625, 0x000100), (-0.0625, 0xFFFF00), (-1.0, 0xFFF000), (-250.0, 0xF06000),
]  # fmt: skip


def driver(chip=None, **options):
    return MAX31856(Wire(chip), Select(), Reading(), **options)


def registers(probe, hot=0x1C2000, cold=0x1900, status=0):
    """17 bytes as the chip answers them: settings as written, then the results."""
    buf = bytearray(17)
    buf[1], buf[2] = probe.cr0, probe.cr1
    buf[11:13] = cold.to_bytes(2, "big")
    buf[13:16] = hot.to_bytes(3, "big")
    buf[16] = status
    return buf


@pytest.mark.parametrize(("t_c", "code"), CODES)
def test_codes_of_the_datasheet_are_exact(t_c, code):
    for kind in "KB":
        probe = driver(type=kind)
        probe.decode(registers(probe, code))
        r = probe.reading
        if RANGE_C[kind][0] <= t_c <= RANGE_C[kind][1]:
            assert abs(r.value_mc - t_c * 1000) < 1 and r.fault == 0
        else:
            assert r.fault == RANGE and r.value_mc == NO_VALUE_MC
        assert r.junction_mc == 25000


def test_independent_decoder_gives_the_same_values_and_faults(monkeypatch):
    # Source: adafruit-circuitpython-max31856 0.12.7 (PyPI) over a stub of its bus.
    module = load(monkeypatch, "adafruit_max31856")
    wire = Registers({n: b"\0" for n in range(16)})
    wire.clear_bits = {0: 0x40}
    Device.wire = wire
    reference = module.MAX31856(None, None)
    rng, probe, compared = random.Random(31856), driver(), {"value": 0, "fault": 0, "range": 0}
    for i in range(10000):
        hot, cold = rng.randrange(1 << 24), rng.randrange(1 << 16)
        status = rng.randrange(256) if i % 3 == 0 else 0
        for n, value in enumerate(cold.to_bytes(2, "big") + hot.to_bytes(3, "big") + bytes([status])):
            wire.memory[0x0A + n] = bytes([value])
        probe.decode(registers(probe, hot, cold, status))
        r, theirs = probe.reading, reference.fault
        assert abs(r.junction_mc - reference.unpack_reference_temperature() * 1000) <= 1
        if any(theirs.values()):
            assert r.value_mc == NO_VALUE_MC
            if theirs["open_tc"]:
                assert r.fault == OPEN
            elif theirs["voltage"]:
                assert r.fault == SHORT_SUPPLY
            else:
                assert r.fault == RANGE
            compared["fault"] += 1
            continue
        value_c = reference.read_high_res_temp()  # 19 bits; the other getter keeps unused bits
        if -200 <= value_c <= 1372:
            assert r.fault == 0 and abs(r.value_mc - value_c * 1000) <= 1
            compared["value"] += 1
        else:
            assert r.fault == RANGE
            compared["range"] += 1
    assert min(compared.values()) > 1000, compared


@pytest.mark.parametrize("kind", TYPES)
@pytest.mark.parametrize("hz", [50, 60])
@pytest.mark.parametrize("average", [1, 2, 4])
def test_type_filter_and_averaging_reach_the_chip(world, clock, kind, hz, average):
    chip = FakeMAX31856(world.hot, world.cold, clock.now_us, couple=kind)
    probe = driver(chip, type=kind, hz=hz, average=average)
    assert probe.check() == 0
    # Registers 00h and 01h: datasheet, tables of CR0 and CR1 (codes seen in two drivers).
    assert chip.memory[0] & 1 == (hz == 50) and chip.memory[0] & 0x80
    assert chip.memory[1] & 0x0F == "BEJKNRST".index(kind)
    assert chip.memory[1] >> 4 == {1: 0, 2: 1, 4: 2}[average]
    assert probe.period_ms <= 250


def test_before_the_first_conversion_there_is_no_number(world, clock):
    chip = FakeMAX31856(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    assert probe.check() == 0
    assert probe.read().fault == NONE_YET
    clock.us += 100_000
    assert probe.read().fault == 0


def test_a_chip_that_lost_its_settings_is_named_and_set_up_again(world, clock):
    chip = FakeMAX31856(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    probe.check()
    clock.us += 250_000
    assert probe.read().fault == 0
    chip.restart()
    assert probe.read().fault == WRONG_CHIP
    clock.us += 250_000
    assert probe.read().fault == 0


def test_a_wrong_type_of_probe_shows_up_as_it_would(world, clock):
    world.hot_c, world.cold_c = 400.0, 25.0
    chip = FakeMAX31856(world.hot, world.cold, clock.now_us, couple="J", noise_k=0.0)
    probe = driver(chip, type="K")
    probe.check()
    clock.us += 250_000
    # E_J(400) - E_J(25) + E_K(25) = 21.848 - 1.277 + 1.000 mV (NIST) = 21.571 mV, type K 521.8 °C.
    assert abs(probe.read().value_mc / 1000 - 521.8) < 0.2


@pytest.mark.parametrize("options", [{"type": "X"}, {"type": "KN"}, {"hz": 55}, {"average": 16}])
def test_settings_that_the_chip_lacks_are_refused(options):
    with pytest.raises(ValueError, match="MAX31856"):
        driver(**options)


def test_every_integer_stays_below_two_to_the_thirty():
    probe = driver(type="B")
    for hot in [*range(0, 1 << 24, 1023), 0x7FFFFF, 0x800000, 0xFFFFFF]:
        probe.decode([Watched(v) for v in registers(probe, hot, hot & 0xFFFF)])
