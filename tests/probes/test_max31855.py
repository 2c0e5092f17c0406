"""MAX31855: datasheet codes, independent decoder, NIST table, faults, integers below 2**30."""

import csv
import json
import random
from pathlib import Path

import pytest
from probe_standins import Select, Wire
from stubs import Device, load
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.max31855 import MAX31855, junction_code, thermocouple_code
from tizzone.probes.reading import (
    FAULT_NAMES,
    GARBLED,
    NO_VALUE_MC,
    OPEN,
    RANGE,
    SHORT_GROUND,
    SHORT_SUPPLY,
    SILENT,
    STUCK,
    Reading,
)
from watched import Watched, watch_tables

from host.chips.max31855 import FakeMAX31855

DATA = Path(__file__).resolve().parents[1] / "data" / "probes"
HALF_CODE_K = 0.125


def driver(chip=None, kind="K"):
    return MAX31855(Wire(chip), Select(), Reading(), kind)


def decoded(probe, frame):
    probe.decode(int.from_bytes(frame[:2], "big"), int.from_bytes(frame[2:], "big"))
    return probe.reading


def test_codes_of_the_datasheet_tables_are_exact():
    # Source: MAX31855 datasheet 19-5793 Rev 5 p.10, tables 4 and 5.
    tables = json.loads((DATA / "max31855_tables.json").read_text())
    assert len(tables["thermocouple_D31_18"]) == 8 and len(tables["internal_D15_4"]) == 8
    for hot in tables["thermocouple_D31_18"]:
        assert thermocouple_code(int(hot["bits"], 2) << 2) / 4 == hot["t_C"]
    for cold in tables["internal_D15_4"]:
        lo = int(cold["bits"], 2) << 4
        assert junction_code(lo) / 16 == cold["t_C"]
        r = decoded(driver(), (100 << 18 | lo).to_bytes(4, "big"))
        if -40.0 <= cold["t_C"] <= 125.0:
            assert abs(r.junction_mc - cold["t_C"] * 1000) <= 0.5
        else:
            assert r.fault == RANGE  # outside the chip's ambient range, datasheet p.2


def test_every_degree_of_the_nist_table_within_0_15_k_and_half_a_code():
    # Source: NIST SRD 60, printed table of type K (data/probes/nist_1deg.csv), 0..1000 °C. The
    # chip's frame is made here from the printed EMF, so that neither table nor polynomial of ours
    # is in it.
    with open(DATA / "nist_1deg.csv", encoding="utf-8") as file:
        rows = [(int(r["t_C"]), float(r["E_mV_K"])) for r in csv.DictReader(file) if r["E_mV_K"]]
    emf = dict(rows)
    probe, worst, count = driver(), 0.0, 0
    for cold in range(0, 61, 5):
        for t, e_mv in rows:
            if not 0 <= t <= 1000:
                continue
            chip_c = cold + (e_mv - emf[cold]) / 0.041276
            word = (round(chip_c * 4) & 0x3FFF) << 18 | (cold * 16) << 4
            r = decoded(probe, word.to_bytes(4, "big"))
            if r.code_hi == 0 and r.code_lo == 0:
                assert r.fault == STUCK  # 0.00 and 0.0000 °C: as if no chip
                continue
            assert r.fault == 0
            worst = max(worst, abs(r.value_mc / 1000 - t))
            count += 1
    assert count == 1001 * 13 - 1
    # Two printed values, each rounded to 0.0005 mV, are inside the 0.15 K.
    assert worst <= 0.15 + HALF_CODE_K, worst


@pytest.mark.parametrize("cold", [0.0, 10.0, 25.0, 40.0, 60.0])
def test_the_fake_chip_and_the_driver_agree_with_the_truth(cold):
    chip = FakeMAX31855(None, None, None)
    probe = driver()
    for tenth in range(0, 10001, 25):
        r = decoded(probe, chip.frame(tenth / 10, cold))
        if cold == 0.0 and tenth == 0:
            continue  # all zeros: no chip
        # (a full code of noise-free quantisation is +-0.125 K of the chip's line, 0.13 K of type
        # K)
        assert abs(r.value_mc / 1000 - tenth / 10) <= 0.15 + HALF_CODE_K


def test_linear_error_of_the_fake_chip_is_the_published_one():
    # Source: computed independently with thermocouple-its90 1.0.2 (max31855_linear_error_K.csv).
    chip = FakeMAX31855(None, None, None)
    with open(DATA / "max31855_linear_error_K.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) > 100
    for row in rows:
        cold, true = float(row["t_cold_C"]), float(row["t_true_C"])
        expected = float(row["chip_linear_minus_true_K"])
        assert abs(chip.chip_c(true, cold) - true - expected) < 0.001


@pytest.fixture
def independent(monkeypatch):
    """The CircuitPython driver (PyPI) over a stub of its bus: frame -> values, or the fault's text."""
    reference = load(monkeypatch, "adafruit_max31855").MAX31855(None, None)

    class Frame:
        data = b""

        def read(self, n):
            return self.data[:n]

    Device.wire = Frame()

    def ask(data):
        Device.wire.data = data
        try:
            cold = reference.reference_temperature
            return reference.temperature, cold, reference.temperature_NIST
        except RuntimeError as error:
            return str(error)

    return ask


FAULT_WORDS = {
    "thermocouple not connected": OPEN,
    "short circuit to ground": SHORT_GROUND,
    "short circuit to power": SHORT_SUPPLY,
    "faulty reading": GARBLED,
}


def test_independent_decoder_gives_the_same_faults_and_values(independent):
    # Source: adafruit-circuitpython-max31855 3.3.0 (PyPI), its `temperature_NIST` for the
    # corrected value.
    rng = random.Random(31855)
    probe = driver()
    compared = {"value": 0, "fault": 0, "stricter": 0}
    for i in range(10000):
        word = rng.randrange(1 << 32)
        if i % 2:  # half of them whole frames of a working chip, so that values are compared too
            word &= ~(3 << 16 | 15)
        frame = word.to_bytes(4, "big")
        theirs = independent(frame)
        r = decoded(probe, frame)
        if isinstance(theirs, str) and theirs in FAULT_WORDS:
            assert r.fault == FAULT_WORDS[theirs]
            assert r.value_mc == NO_VALUE_MC
            compared["fault"] += 1
            continue
        if r.fault:  # we refuse what cannot be: reserved bits, ambient and table limits
            assert r.value_mc == NO_VALUE_MC
            in_range = not isinstance(theirs, str) and -50 <= theirs[2] <= 1200
            ambient = -40 <= junction_code(word & 0xFFFF) / 16 <= 125
            assert word & (2 << 16 | 8) or not in_range or not ambient
            compared["stricter"] += 1
            continue
        hot, cold, corrected = theirs
        assert thermocouple_code(word >> 16) / 4 == hot
        assert abs(r.junction_mc - cold * 1000) <= 0.5
        # NIST's inverse polynomial is within -0.05..0.06 K of the function; our chords within
        # 0.035 K.
        assert abs(r.value_mc / 1000 - corrected) <= 0.1
        compared["value"] += 1
    assert compared["value"] > 500 and compared["fault"] > 3000, compared


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        ("open", {"open"}),
        ("short_ground", {"short_ground"}),
        ("short_supply", {"short_supply"}),
        ("all_zero", {"stuck"}),
        ("all_one", {"silent"}),
        ("half_one", {"open"}),
    ],
)
def test_each_fault_has_its_name_and_no_number(world, clock, fault, expected):
    world.hot_c = 450.0
    chip = FakeMAX31855(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    assert probe.read().fault == 0
    clock.us += 250_000
    chip.set_fault(fault)
    r = probe.read()
    assert FAULT_NAMES[r.fault] in expected
    assert r.value_mc == NO_VALUE_MC
    assert probe.cs.levels == [0, 1, 0, 1]


def test_frozen_chip_repeats_its_code_and_a_live_one_does_not(world, clock):
    chip = FakeMAX31855(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    first = probe.read().code_hi
    chip.set_fault("frozen")
    for _ in range(5):
        clock.us += 250_000
        world.hot_c += 10.0
        assert probe.read().code_hi == first
    chip.set_fault(None)
    clock.us += 250_000
    assert probe.read().code_hi != first


def test_reading_faster_than_the_conversion_repeats_the_answer(world, clock):
    chip = FakeMAX31855(world.hot, world.cold, clock.now_us, noise_k=0.0)
    probe = driver(chip)
    first = probe.read().code_hi
    world.hot_c = 100.0
    clock.us += 99_999
    assert probe.read().code_hi == first
    clock.us += 100_000
    assert probe.read().code_hi != first


def test_half_a_frame_of_zeros_is_refused_at_start_and_a_jump_while_running(world, clock):
    world.hot_c = 450.0
    chip = FakeMAX31855(world.hot, world.cold, clock.now_us)
    probe, conditioner = driver(chip), Conditioner()
    conditioner.update(probe.read(), 250)
    assert conditioner.usable
    chip.set_fault("half_zero")
    clock.us += 250_000
    conditioner.update(probe.read(), 250)
    assert not conditioner.usable and FAULT_NAMES[conditioner.fault] == "jump"
    assert probe.check() == GARBLED


def test_check_at_start_names_a_missing_chip_but_not_an_open_probe(world, clock):
    chip = FakeMAX31855(world.hot, world.cold, clock.now_us)
    probe = driver(chip)
    assert probe.check() == 0
    chip.set_fault("open")
    assert probe.check() == 0
    chip.set_fault("all_one")
    assert probe.check() == SILENT
    chip.set_fault("all_zero")
    assert probe.check() == STUCK


def test_unknown_type_is_refused_when_built():
    with pytest.raises(ValueError, match="type B"):
        driver(kind="B")


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["K", "J", "N", "T", "S"])
def test_every_integer_of_a_decode_stays_below_two_to_the_thirty(kind):
    probe = driver(kind=kind)
    couple = probe.couple
    watch_tables(couple)
    steep = [[-50000, -15000], [0, 15000], [1000000, -15000]]
    conditioner = Conditioner(steep)
    assert conditioner.calibration_fault is None
    conditioner._points = list(map(Watched, conditioner._points))
    corners = (0, 1, 2047, 2048, 4095, 400, 640, 641)
    step = 1 if kind == "K" else 13  # each axis exhaustively for the type that most will use
    hots = [(hot, 400) for hot in range(0, 16384, step)]
    colds = [(hot, cold) for cold in range(0, 4096, step) for hot in (0, 8191, 8192, 16383, 1800)]
    for hot, cold in hots + colds + [(h, c) for h in range(0, 16384, 127) for c in corners]:
        probe.decode(Watched(hot << 2), Watched(cold << 4))
        conditioner.update(probe.reading, Watched(250))
    assert abs(conditioner.calibrated_mc(Watched(-50000)) + 65000) < 100
    with pytest.raises(OverflowError):
        Watched(2**29) + Watched(2**29)
