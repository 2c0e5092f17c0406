"""Every integer of the safety path stays below 2^30: on a 32-bit board a larger one allocates; a 64-bit build hides it.

The inputs are integers that check every result of arithmetic with them. The decoder's results are piecewise monotone in
the code of the probe and in that of the junction: codes at the extreme junctions, junctions at the extreme codes stand
for all frames.
"""

import operator
import random

import pytest
from safety_bench import CAP_MS, L, Pins, load

LIMIT = 1 << 30
CLOCK_VALUES = (-(1 << 29), -501, -1, 0, 1, 249, 250, 251, 500, 501, 60_000, 60_001, (1 << 29) - 1)


class Checked(int):
    """An integer that refuses to grow, and makes every integer it meets one of its kind."""


def _checked(name):
    plain = getattr(int, name)

    def method(self, *others):
        result = plain(self, *others)
        if result is NotImplemented or isinstance(result, float):
            return result
        if not -LIMIT < result < LIMIT:
            raise OverflowError(f"{name}{(int(self), *map(int, others))} = {result}")
        return Checked(result)

    return method


for _name in (
    "add", "radd", "sub", "rsub", "mul", "rmul", "floordiv", "rfloordiv", "mod", "rmod", "and", "rand", "or", "ror",
    "xor", "rxor", "lshift", "rlshift", "rshift", "rrshift", "neg", "invert", "abs", "pos",
):  # fmt: skip
    setattr(Checked, f"__{_name}__", _checked(f"__{_name}__"))


@pytest.mark.parametrize("operation", [operator.add, operator.mul, operator.lshift])
def test_checked_integer_refuses_what_a_board_could_not_hold(operation):
    small = Checked(1 << 15)
    assert type(operation(small, 3)) is Checked
    with pytest.raises(OverflowError):
        operation(Checked((1 << 30) - 1), 1 if operation is not operator.mul else 2)
    with pytest.raises(OverflowError):
        1 << Checked(30)


def frames():
    """(hi, lo) of a MAX31855: codes at the extreme junctions, every junction at the extreme codes, every fault bit."""
    for code in range(1 << 14):
        yield code << 2, 0x7D00  # +125 °C, the upper end of the chip's range
        if code & 3 == 3:
            yield code << 2, 0xD800  # -40 °C, the lower one
    for junction in range(1 << 12):
        for code in (0x2000, 0x1FFF):
            yield code << 2, junction << 4
    for low in range(1 << 4):
        for high in range(1 << 2):
            yield 0x1900 | high, 0x1900 | low
    yield 0xFFFF, 0xFFFF
    yield 0, 0


@pytest.mark.slow
@pytest.mark.parametrize("couple", ["K", "N"])
def test_decoder_stays_small_for_every_frame(couple):
    probe = load("probes.max31855").MAX31855(None, None, load("probes.reading").Reading(), couple)
    extremes = set()
    for hi, lo in frames() if couple == "K" else list(frames())[::7]:
        probe.decode(Checked(hi), Checked(lo))
        extremes.add(probe.reading.fault)
    assert len(extremes) >= 6


CURVES = (
    None,
    [[-50_000, 15_000], [1_000_000, -15_000]],
    [[-50_000, -15_000], [1_000_000, 15_000]],
    [[0, -15_000], [31, 15_000], [32_000, -1_000]],
)


@pytest.mark.parametrize("curve", CURVES)
def test_conditioning_stays_small_for_every_reading_and_clock_value(curve):
    random_source = random.Random(5)
    conditioner = load("probes.conditioning").Conditioner(curve)
    assert conditioner.calibration_fault is None
    reading = load("probes.reading").Reading()
    values = (-270_000, -50_000, -15_000, -1, 0, 1, 31, 32, 450_000, 999_999, 1_372_000, 1_820_000)
    for _ in range(1_500):
        if random_source.random() < 0.8:
            reading.begin(Checked(random_source.randrange(1 << 16)), Checked(random_source.randrange(1 << 16)))
            reading.value_mc = Checked(random_source.choice(values))
            reading.junction_mc = Checked(random_source.choice((-40_000, 0, 125_000, -300_000)))
            reading.fault = random_source.choice((0, 0, 0, 1, 4, 7))
        conditioner.update(reading, Checked(random_source.choice(CLOCK_VALUES)))
    conditioner.same_ms = conditioner.bad_ms = Checked(100_000_000)
    conditioner.update(reading, Checked(60_000))
    assert conditioner.same_ms <= 100_000_000


def spoil_ages(thing):
    """Every age and counter of an object at its saturated end."""
    for name, value in vars(thing).items():
        if name.endswith("_ms") and isinstance(value, int) and name not in ("window_ms", "min_ms", "limit_ms"):
            setattr(thing, name, Checked(min(CAP_MS, value if "learned" in name else CAP_MS)))


@pytest.mark.slow
def test_judgement_and_heater_stay_small_for_every_clock_value_and_reading():
    random_source = random.Random(7)
    module = load("safety.supervisor")
    dome, stone = load("probes.conditioning").Conditioner(), load("probes.conditioning").Conditioner()
    seen = load("safety.seen").Seen(dome, stone)
    sup = module.Supervisor(Checked(550_000), Checked(530_000), learned_rise_ms=Checked(7_200_000))
    pins = Pins(window_ms=120_000, min_ms=30_000, exclusive=1)
    readings = (-300_000, -270_000, -15_000, 20_000, 99_999, 199_999, 300_000, 450_000, 1_387_000, 1_835_000)
    names = [name for name in vars(seen) if name not in ("dome", "stone")]
    sup.armed, sup.self_test = 1, module.PASSED
    granted = 0
    with pins:
        for n in range(4_000):
            for side in (dome, stone):
                side.usable = random_source.random() < 0.9
                side.fault = 0 if side.usable else random_source.randrange(1, 11)
                side.pv_mc = Checked(random_source.choice(readings))
                side.limit_mc = Checked(random_source.choice(readings))
                side.same_ms = Checked(random_source.choice((0, 90_000, 100_000_000)))
            for name in names:
                if random_source.random() < 0.3:
                    setattr(seen, name, Checked(random_source.randrange(-1, 3)))
            seen.out_pm = Checked(random_source.choice((0, 950, 1000)))
            seen.box_mc = Checked(random_source.choice((-300_000, 30_000, 125_000)))
            seen.setpoint_mc = Checked(random_source.choice((30_000, 530_000)))
            seen.setpoint_inverted = ~seen.setpoint_mc
            seen.clock_error_ms = Checked(random_source.choice((0, 0, 0, CAP_MS, -CAP_MS)))
            seen.dome_serial = Checked(n & 0xFFFF)
            if n % 400 == 399:
                for part in (
                    sup,
                    sup.runaway,
                    sup.fell,
                    sup.attendance,
                    sup.wiring_rules.top,
                    pins.heater,
                    pins.heater.top,
                ):
                    spoil_ages(part)
            if n % 7 == 0:
                sup.first_out = L.NONE
                sup.locked_out = 0
            dt_ms = Checked(random_source.choice(CLOCK_VALUES))
            permit = sup.judge(seen, dt_ms)
            if random_source.random() < 0.3:
                permit.granted, permit.contactor, permit.tripped = 1, 1, 0
            granted += permit.granted
            pins.heater.drive(Checked(random_source.choice((0, 333, 1000))), Checked(667), permit, dt_ms)
    assert granted > 500


def test_calibrated_extremes_are_those_the_rules_were_tried_with():
    table = load("probes.its90_tables.k")
    assert max(table.T_MC) <= 1_835_000 - 15_000 and min(table.T_MC) >= -300_000
