"""MAX6675: codes, the straight line against the NIST table, faults, what it cannot see."""

import csv
from pathlib import Path

import pytest
from probe_standins import Select, Wire
from tizzone.probes.max6675 import MAX6675
from tizzone.probes.reading import GARBLED, NO_VALUE_MC, OPEN, RANGE, SILENT, STUCK, Reading
from watched import Watched, watch_tables

from host.chips.max6675 import FakeMAX6675

DATA = Path(__file__).resolve().parents[1] / "data" / "probes"


def driver(chip=None):
    return MAX6675(Wire(chip), Select(), Reading())


def decoded(word):
    probe = driver()
    probe.decode(word)
    return probe.reading


def test_bits_of_the_datasheet():
    # Source: MAX6675 datasheet 19-2235, serial interface: D14..D3 temperature, D2 open; the Linux
    # kernel's maxim_thermocouple.c reads the same 12 bits and takes bit 2 for an open probe.
    # 25 °C is code 100; the chip at 25 °C with its probe at 25 °C sends just that.
    assert abs(decoded(100 << 3).value_mc - 25000) <= 20
    assert decoded(100 << 3 | 1).fault == 0  # D0 is not driven
    assert decoded(100 << 3 | 4).fault == OPEN
    assert decoded(100 << 3 | 2).fault == GARBLED
    assert decoded(100 << 3 | 0x8000).fault == GARBLED
    assert decoded(0xFFFF).fault == SILENT
    assert decoded(0).fault == decoded(1).fault == STUCK
    assert decoded(4095 << 3).fault == RANGE
    assert decoded(4094 << 3).fault == 0


@pytest.mark.parametrize(("board_c", "allowed_k"), [(25, 0.05), (5, 0.45), (50, 0.45)])
def test_every_degree_of_the_nist_table_with_the_board_assumed_at_25(board_c, allowed_k):
    # Source: NIST SRD 60, printed type K; V = 41 µV/K (T_R - T_AMB) is the datasheet's line. A board at
    # another temperature than 25 °C costs (S_K(25) - 41 µV/K) x difference / S_K: up to 0.3 K.
    with open(DATA / "nist_1deg.csv", encoding="utf-8") as file:
        emf = {int(r["t_C"]): float(r["E_mV_K"]) for r in csv.DictReader(file)}
    probe, seen = driver(), 0
    for t_c in range(5, 1001):
        code = round((board_c + (emf[t_c] - emf[board_c]) / 0.041) * 4)
        if not 1 <= code < 4095:
            continue
        probe.decode(code << 3)
        # half a code, 0.125 K of the line, is 0.13 K of type K; two printed roundings 0.025 K
        assert abs(probe.reading.value_mc / 1000 - t_c) <= allowed_k + 0.135 + 0.025, t_c
        seen += 1
    assert seen > 970


def test_linear_error_of_the_fake_chip_is_the_published_one():
    # Source: computed independently with a reference library, type K, 41 µV/K, board 25 °C.
    chip = FakeMAX6675(None, None, None)
    for true_c, error_k in (
        (100, 0.51), (200, -0.90), (300, -1.63), (400, 0.53), (500, 4.12), (600, 8.05), (800, 12.20),
    ):  # fmt: skip
        assert abs(chip.chip_c(true_c, 25.0) - true_c - error_k) < 0.006


def test_a_shorted_probe_is_not_seen_by_this_chip(world, clock):
    # What the header says: the wires touch at the chip, so the reading is the board's temperature.
    chip = FakeMAX6675(world.cold, world.cold, clock.now_us, noise_k=0.0)
    r = driver(chip).read()
    assert r.fault == 0 and abs(r.value_mc - 25000) < 300
    with pytest.raises(ValueError, match="no fault"):
        chip.set_fault("short_ground")


def test_every_word_decodes_below_two_to_the_thirty_to_a_value_or_a_fault():
    probe = driver()
    watch_tables(probe.couple)
    for word in range(65536):
        probe.decode(Watched(word))
        r = probe.reading
        assert (r.fault == 0) is (r.value_mc != NO_VALUE_MC)
