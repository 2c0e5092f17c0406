"""MAX31865: datasheet tables, independent decoder, wires, thresholds, the fault cycle."""

import csv
import random
from pathlib import Path

import pytest
from probe_standins import Select, Wire
from stubs import Device, Registers, load
from tizzone.probes.max31865 import MAX31865
from tizzone.probes.reading import (
    FAULT_NAMES,
    NO_VALUE_MC,
    NONE_YET,
    OPEN,
    RANGE,
    SHORT_GROUND,
    SHORT_SUPPLY,
    Reading,
)
from watched import Watched

from host.chips.max31865 import FakeMAX31865

DATA = Path(__file__).resolve().parents[1] / "data" / "probes"


def driver(chip=None, **options):
    return MAX31865(Wire(chip), Select(), Reading(), **options)


def registers(probe, word, status=0):
    """9 bytes as the chip answers them: settings as written, then the result."""
    return bytes([0, probe.expected]) + word.to_bytes(2, "big") + bytes(probe.limits[1:]) + bytes([status])


def test_every_row_of_the_datasheet_example_table():
    # Source: MAX31865 datasheet 19-6478 p.19, table 9 (Pt100, 400 ohm): register and temperature.
    probe, seen = driver(), 0
    with open(DATA / "max31865_table9_pt100_400R.csv", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            t_c, word = int(row["t_C"]), int(row["reg_hex_16bit"], 16)
            assert word >> 1 == int(row["code_dec"])
            probe.decode(registers(probe, word))
            if t_c < -60:
                assert probe.reading.fault == RANGE  # our table ends there
                continue
            # half a code is 0.016 K here; the independent driver is within 0.017 K of every row
            assert probe.reading.fault == 0 and abs(probe.reading.value_mc / 1000 - t_c) <= 0.03
            seen += 1
    assert seen == 28


def test_ratio_codes_of_the_datasheet(world):
    # Source: datasheet p.14, table 5: ratio -> register.
    chip = FakeMAX31865(lambda: 0.0, lambda: 0.0, lambda: 0, r0_ohm=100.0, rref_ohm=400.0)
    for ratio, word in ((0.125, 0x2000), (0.25, 0x4000), (0.5, 0x8000), (0.75, 0xC000)):
        chip.load(round(ratio * 32768))
        assert int.from_bytes(chip.memory[1:3], "big") & 0xFFFE == word


def test_independent_decoder_gives_the_same_values_and_faults(monkeypatch):
    # Source: adafruit-circuitpython-max31865 2.2.27 (PyPI) over a stub of its bus.
    module = load(monkeypatch, "adafruit_max31865")
    monkeypatch.setattr(module.time, "sleep", lambda seconds: None)
    wire = Registers({n: b"\0" for n in range(8)})
    Device.wire = wire
    reference = module.MAX31865(None, None, rtd_nominal=100, ref_resistor=400.0, wires=3)
    rng, probe, compared = random.Random(31865), driver(), {"value": 0, "fault": 0, "range": 0}
    for i in range(10000):
        word = rng.randrange(1 << 15) << 1
        status = rng.choice((0x80, 0x40, 0x20, 0x10, 0x08, 0x04)) if i % 3 == 0 else 0
        word |= 1 if status else 0
        wire.memory[1], wire.memory[2] = bytes([word >> 8]), bytes([word & 255])
        wire.memory[7] = bytes([status])
        high, low, refin_low, refin_high, rtdin_low, ovuv = reference.fault
        probe.decode(registers(probe, word, status))
        r = probe.reading
        if any(reference.fault):
            expected = (
                SHORT_SUPPLY if ovuv
                else OPEN if high or refin_low or refin_high
                else SHORT_GROUND
            )  # fmt: skip
            assert r.fault == expected and r.value_mc == NO_VALUE_MC
            compared["fault"] += 1
        elif r.fault == 0:
            assert abs(r.value_mc / 1000 - reference.temperature) <= 0.03
            compared["value"] += 1
        else:
            value_c = reference.temperature
            assert r.fault == RANGE and not -60 < value_c < 620 or word == 0
            compared["range"] += 1
    assert min(compared.values()) > 1000, compared


@pytest.mark.parametrize("wires", [2, 3, 4])
@pytest.mark.parametrize(("kind", "rref"), [("pt100", 400), ("pt100", 430), ("pt1000", 4300)])
def test_element_wires_and_reference_reach_the_chip(world, clock, wires, kind, rref):
    world.hot_c = 450.0
    r0 = 1000.0 if kind == "pt1000" else 100.0
    chip = FakeMAX31865(world.hot, world.cold, clock.now_us, r0_ohm=r0, rref_ohm=float(rref), noise_k=0.0)
    probe = driver(chip, type=kind, rref_ohm=rref, wires=wires)
    assert probe.check() == 0
    assert bool(chip.memory[0] & 0x10) is (wires == 3)
    for _ in range(3):
        clock.us += 250_000
        r = probe.read()
    assert r.fault == 0 and abs(r.value_mc / 1000 - 450.0) <= 0.05


@pytest.mark.parametrize(
    ("fault", "name"), [("open", "open"), ("short_ground", "short_ground"), ("short_supply", "short_supply")]
)
def test_a_fault_that_comes_and_goes_is_seen_and_cleared(world, clock, fault, name):
    chip = FakeMAX31865(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    assert probe.check() == 0
    for _ in range(3):
        clock.us += 250_000
        probe.read()
    assert probe.reading.fault == 0
    chip.set_fault(fault)
    clock.us += 250_000
    assert FAULT_NAMES[probe.read().fault] == name
    chip.set_fault(None)
    for _ in range(2):
        clock.us += 250_000
        probe.read()
    assert probe.reading.fault == 0


def test_the_fault_cycle_runs_every_40_readings_without_losing_one(world, clock):
    chip = FakeMAX31865(world.hot, world.cold, clock.now_us)
    probe, cycles = driver(chip), []
    chip.written = lambda register, inner=chip.written: (
        cycles.append(1) if register == 0 and chip.memory[0] & 0x0C == 0x04 else None,
        inner(register),
    )
    probe.check()
    for _ in range(400):
        clock.us += 250_000
        r = probe.read()
        assert r.fault in (0, NONE_YET)
    assert 9 <= len(cycles) <= 11


@pytest.mark.parametrize("options", [{"type": "ni100"}, {"rref_ohm": 4300}, {"rref_ohm": 300}, {"wires": 5}, {"hz": 0}])
def test_settings_that_the_chip_lacks_are_refused(options):
    with pytest.raises(ValueError, match="MAX31865"):
        driver(**options)


def test_every_word_decodes_below_two_to_the_thirty_to_a_value_or_a_fault():
    probe = driver(rref_ohm=430)
    probe.platinum.ratio_pm = Watched(probe.platinum.ratio_pm)
    for word in [*range(0, 65536, 2), *range(1, 65536, 255)]:
        probe.decode([Watched(v) for v in registers(probe, word)])
        r = probe.reading
        assert (r.fault == 0) is (r.value_mc != NO_VALUE_MC)
