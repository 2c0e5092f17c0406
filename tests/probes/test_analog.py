"""The 5 mV/K amplifier on the board's own input and on an ADS1115: transfer, codes, decoder, faults."""

import random

import pytest
import thermocouple_its90
from probe_standins import Wires
from stubs import Device, Registers, load
from tizzone.probes.ad849x import AD849X, LOW_UV, OPEN_UV, Amplifier
from tizzone.probes.ads1115 import ADS1115, UV_PER_CODE
from tizzone.probes.reading import NO_VALUE_MC, OPEN, RANGE, STUCK, WRONG_CHIP, Reading
from watched import Watched, watch_tables

from host.chips.ads1115 import FakeADS1115, FakeAnalog, amplifier_v


def ads(chip=None, **options):
    return ADS1115(Wires() if chip is None else Wires(x48=chip), 0x48, Reading(), **options)


@pytest.mark.parametrize("vref_mv", [0, 500])
def test_amplifier_output_is_undone_exactly(vref_mv):
    # Source: AN-1087 (from memory): V = 122.4 x E + 1.25 mV + VREF; E by thermocouple-its90 (PyPI).
    amplifier, reading = Amplifier("K", vref_mv), Reading()
    for t_c in range(2, 351):
        out_uv = round(122.4 * thermocouple_its90.TypeK.emf(t_c) * 1000 + 1250 + vref_mv * 1000)
        reading.begin(0, 0)
        amplifier.fill(reading, out_uv)
        assert reading.fault == 0 and abs(reading.value_mc / 1000 - t_c) <= 0.035


def test_plain_5_mv_per_k_would_be_wrong_by_the_published_amounts():
    # Source: computed independently with a reference library: reading at 5 mV/K minus truth.
    for t_c, error_k in ((100, 0.5), (200, -0.5), (300, -0.9), (400, 1.7), (500, 5.6)):
        assert abs(amplifier_v(t_c) / 0.005 - t_c - error_k) <= 0.06


@pytest.mark.parametrize(
    ("out_uv", "fault"),
    [(0, STUCK), (LOW_UV - 1, STUCK), (LOW_UV, 0), (OPEN_UV, 0), (OPEN_UV + 1, OPEN)],
)
def test_the_rails_are_faults(out_uv, fault):
    reading = Reading()
    reading.begin(0, 0)
    Amplifier("K", 0).fill(reading, out_uv)
    assert reading.fault == fault
    assert (reading.value_mc == NO_VALUE_MC) is bool(fault)


def test_independent_decoder_gives_the_same_voltage(monkeypatch):
    # Source: adafruit-circuitpython-ads1x15 3.0.5 (PyPI) over a stub of its bus. The chip has no fault
    # bits; the codes at the ends are a range fault here.
    load(monkeypatch, "adafruit_ads1x15")
    module = load(monkeypatch, "adafruit_ads1x15.ads1115")
    analog = load(monkeypatch, "adafruit_ads1x15.analog_in")
    wire = Registers({1: b"\x80\x00"}, size=2)
    Device.wire = wire
    channel = analog.AnalogIn(module.ADS1115(None, gain=1), 0)
    rng, probe, seen = random.Random(1115), ads(), []
    monkeypatch.setattr(probe.amplifier, "fill", lambda reading, out_uv: seen.append(out_uv))
    for _ in range(10000):
        word = rng.randrange(65536)
        wire.memory[0] = word.to_bytes(2, "big")
        seen.clear()
        probe.decode(word)
        if word in (0x7FFF, 0x8000):
            assert probe.reading.fault == RANGE and not seen
        else:
            assert abs(seen[0] - channel.voltage * 1e6) <= 1e-3


def test_codes_of_the_converter():
    # Source: two's complement codes of the ADS1115 datasheet: 4000h is half of full scale.
    assert 0x4000 * UV_PER_CODE == 2_048_000


@pytest.mark.parametrize("channel", [0, 1, 2, 3])
def test_channel_range_and_rate_reach_the_converter(world, clock, channel):
    chip = FakeADS1115(world.hot, world.cold, clock.now_us)
    assert ads(chip, channel=channel).check() == 0
    # Configuration bits: MUX 14..12 (100b + channel), PGA 11..9 001 = 4.096 V, MODE 8 = 0, DR 7..5.
    config = chip.words[1] & 0x7FFF
    assert config >> 12 == 4 + channel and config >> 9 & 7 == 1
    assert config >> 8 & 1 == 0 and config >> 5 & 7 == 0


def test_a_converter_that_lost_its_settings_is_named_and_set_up_again(world, clock):
    chip = FakeADS1115(world.hot, world.cold, clock.now_us)
    probe = ads(chip)
    probe.check()
    clock.us += 250_000
    assert probe.read().fault == 0
    chip.restart()
    assert probe.read().fault == WRONG_CHIP
    clock.us += 250_000
    assert probe.read().fault == 0


def test_the_boards_own_input_reads_within_its_noise(world, clock):
    world.hot_c = 450.0
    probe = AD849X(FakeAnalog(world.hot, world.cold, clock.now_us, noise_k=0.0), Reading())
    assert probe.check() == 0
    assert abs(probe.read().value_mc / 1000 - 450.0) <= 1.0


@pytest.mark.parametrize(
    "build",
    [lambda: AD849X(None, Reading(), "J"), lambda: AD849X(None, Reading(), "K", 5000),
     lambda: AD849X(None, Reading(), "K", 3300, 501),
     lambda: ADS1115(None, 0x50, Reading()), lambda: ads(channel=4)],
)  # fmt: skip
def test_settings_that_cannot_be_are_refused(build):
    with pytest.raises(ValueError, match="AD849x|ADS1115"):
        build()


def test_every_integer_stays_below_two_to_the_thirty():
    probe = ads(vref_mv=500)
    board = AD849X(None, Reading(), "K", 3600)
    watch_tables(probe.amplifier.couple)
    watch_tables(board.amplifier.couple)
    for word in [*range(0, 65536, 5), 0x7FFF, 0x8000, 0xFFFF]:
        probe.decode(Watched(word))
        board.decode(Watched(word * 16 + 15))
