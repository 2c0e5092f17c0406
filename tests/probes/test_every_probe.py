"""Promises that every driver keeps, each built from its pin map entry over its fake chip."""

import copy
import sys
import types

import pytest
from probe_standins import Clock, Select, Wire, Wires, World
from tizzone import probes
from tizzone.probes import chips
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.reading import FAULT_NAMES, NO_VALUE_MC, SILENT

from host import chips as fake_chips

SPI = {"spi": 0, "sck": 18, "mosi": 19, "miso": 16}
I2C = {"i2c": 0, "sda": 4, "scl": 5}
SPECS = {
    "max31855": {"chip": "max31855", "type": "K", "bus": SPI, "cs": 17},
    "max31855-n": {"chip": "max31855", "type": "N", "bus": SPI, "cs": 17},
    "max31855-j": {"chip": "max31855", "type": "J", "bus": SPI, "cs": 17},
    "max31855-s": {"chip": "max31855", "type": "S", "bus": SPI, "cs": 17},
    "max31856": {"chip": "max31856", "type": "K", "bus": SPI, "cs": 17},
    "max6675": {"chip": "max6675", "type": "K", "bus": SPI, "cs": 17},
    "max31865": {"chip": "max31865", "type": "pt100", "bus": SPI, "cs": 17},
    "max31865-pt1000": {"chip": "max31865", "type": "pt1000", "bus": SPI, "cs": 17, "wires": 2},
    "mcp9600": {"chip": "mcp9600", "type": "K", "bus": I2C, "address": 0x67},
    "mcp9601": {"chip": "mcp9601", "type": "K", "bus": I2C, "address": 0x67},
    "ads1115": {"chip": "ads1115", "bus": I2C, "address": 0x48},
    "ad849x": {"chip": "ad849x", "bus": {"adc": 26}},
}
DIGITAL = [name for name in SPECS if name != "ad849x"]
# What half a second of readings may be off: chip's code, table, and 0.08 K of noise (3 sigma).
ALLOWED_K = {"max31855-s": 0.6, "max6675": 0.8, "ad849x": 1.5}


def attach(monkeypatch, spec, chip):
    """A stand-in `machine` whose buses lead to `chip` (None: nobody there)."""
    machine = types.ModuleType("machine")

    class Pin:
        OUT = 1

        def __init__(self, number, mode=-1, value=None):
            self.select = Select()

        def __call__(self, level):
            self.select(level)

    class Nobody:
        def transfer(self, out, n):
            return b"\xff" * n

        def read_u16(self):
            return 0

    there = chip or Nobody()
    machine.Pin = Pin
    machine.SPI = lambda *a, **k: Wire(there)
    machine.SoftSPI = machine.SPI
    address = spec.get("address", 0)
    machine.I2C = lambda *a, **k: Wires(**({f"x{address:x}": chip} if chip else {}))
    machine.SoftI2C = machine.I2C
    machine.ADC = lambda pin: there
    monkeypatch.setitem(sys.modules, "machine", machine)
    return chips.make("dome", spec, {})


class Bench:
    """A probe over its fake chip, started and past its first conversion."""

    def __init__(self, monkeypatch, name, hot_c=450.0):
        self.clock, self.world = Clock(), World(hot_c)
        self.chip = fake_chips.make(SPECS[name], self.world.hot, self.world.cold, self.clock.now_us)
        self.probe = attach(monkeypatch, SPECS[name], self.chip)
        self.checked = self.probe.check()
        self.tick(2)

    def tick(self, count=1):
        for _ in range(count):
            self.clock.us += 250_000
            reading = self.probe.read()
        return reading


@pytest.mark.parametrize("name", SPECS)
@pytest.mark.parametrize("hot_c", [20.0, 250.0, 390.0, 450.0, 480.0])
def test_a_healthy_probe_tells_the_truth(monkeypatch, name, hot_c):
    bench = Bench(monkeypatch, name, hot_c)
    assert bench.checked == 0
    r = bench.tick(3)
    assert r.fault == 0 and abs(r.value_mc / 1000 - hot_c) <= ALLOWED_K.get(name, 0.5)
    if r.junction_mc != NO_VALUE_MC:
        assert abs(r.junction_mc / 1000 - 25.0) <= 0.13


@pytest.mark.parametrize("name", SPECS)
def test_reads_at_its_period_give_a_new_answer_each(monkeypatch, name):
    bench = Bench(monkeypatch, name)
    assert 0 < bench.probe.period_ms <= 250
    first = bench.tick().serial
    for n in range(1, 6):
        assert bench.tick().serial == first + n


@pytest.mark.parametrize("name", SPECS)
@pytest.mark.parametrize("fault", ["all_zero", "all_one", "half_one"])
def test_a_bus_at_one_level_is_a_named_fault_and_no_number(monkeypatch, name, fault):
    bench = Bench(monkeypatch, name)
    if fault not in bench.chip.faults:
        pytest.skip("an analog input has no half frame")
    bench.chip.set_fault(fault)
    r = bench.tick()
    assert r.fault and r.value_mc == NO_VALUE_MC
    if fault != "half_one":
        assert FAULT_NAMES[r.fault] in ("silent", "stuck", "open")
        assert bench.probe.check() or name == "ad849x"
    bench.chip.set_fault(None)
    bench.probe.check()
    assert bench.tick(3).fault == 0


@pytest.mark.parametrize("name", DIGITAL)
def test_half_a_frame_of_zeros_never_passes_conditioning(monkeypatch, name):
    bench = Bench(monkeypatch, name)
    conditioner = Conditioner()
    conditioner.update(bench.probe.reading, 250)
    assert conditioner.usable
    bench.chip.set_fault("half_zero")
    for _ in range(4):  # 1 s: longer than the supervisor waits
        conditioner.update(bench.tick(), 250)
        if name == "max6675":  # one bit pattern of two: its header says what remains
            assert -500 <= 450_000 - conditioner.pv_mc <= 9_000
            continue
        assert not conditioner.usable and conditioner.fault


@pytest.mark.parametrize("name", DIGITAL)
def test_garbage_never_becomes_a_believed_number(monkeypatch, name):
    bench = Bench(monkeypatch, name)
    conditioner = Conditioner()
    conditioner.update(bench.probe.reading, 250)
    before_mc = conditioner.pv_mc
    bench.chip.set_fault("garbled")
    usable = 0
    for _ in range(400):
        conditioner.update(bench.tick(), 250)
        usable += conditioner.usable
        if conditioner.usable:  # by chance within the plausible step of the last value
            assert abs(conditioner.pv_mc - before_mc) < 100_000
    assert usable <= 8


@pytest.mark.parametrize("name", SPECS)
def test_nobody_on_the_bus_is_found_at_start(monkeypatch, name):
    probe = attach(monkeypatch, SPECS[name], None)
    assert FAULT_NAMES[probe.check()] in ("silent", "stuck")
    assert probe.read().fault and probe.reading.value_mc == NO_VALUE_MC


@pytest.mark.parametrize("name", DIGITAL)
@pytest.mark.parametrize("other", DIGITAL)
def test_another_chip_is_found_at_start_or_never_gives_a_number(monkeypatch, name, other):
    spec, wrong = SPECS[name], SPECS[other]
    same_bus = ("cs" in spec) == ("cs" in wrong)
    if spec["chip"] == wrong["chip"] or not same_bus:
        return
    world, clock = World(450.0), Clock()
    chip = fake_chips.make(wrong, world.hot, world.cold, clock.now_us)
    clock.us += 250_000
    chip.transfer(None, 2) if "cs" in spec else None
    probe = attach(monkeypatch, spec, chip)
    clock.us += 250_000
    found = probe.check()
    clock.us += 250_000
    assert found or probe.read().fault, (name, other)


@pytest.mark.parametrize("name", SPECS)
def test_open_probes_are_named_where_the_header_says_so(monkeypatch, name):
    bench = Bench(monkeypatch, name)
    module = __import__(f"tizzone.probes.{chips.CHIPS[SPECS[name]['chip']]}", fromlist=["x"])
    for fault in module.DETECTS:
        if SPECS[name]["chip"] == "mcp9600":
            continue  # test_mcp9600: this one is blind
        bench.chip.set_fault(fault)
        assert FAULT_NAMES[bench.tick(2).fault] == fault
    bench.chip.set_fault(None)


@pytest.mark.parametrize("name", DIGITAL)
def test_a_bus_error_is_silence_and_the_select_is_released(monkeypatch, name):
    bench = Bench(monkeypatch, name)

    def broken(*arguments):
        raise OSError(5)

    bus = bench.probe.spi if hasattr(bench.probe, "spi") else bench.probe.i2c
    for method in ("readinto", "write_readinto", "readfrom_mem_into", "writeto"):
        if hasattr(bus, method):
            monkeypatch.setattr(bus, method, broken)
    r = bench.tick()
    assert r.fault == SILENT and r.value_mc == NO_VALUE_MC
    assert bench.probe.check() == SILENT
    if hasattr(bench.probe, "cs"):
        assert bench.probe.cs.select.levels[-1] == 1


@pytest.mark.parametrize("name", SPECS)
def test_a_frozen_chip_is_told_by_its_unchanging_code(monkeypatch, name):
    bench, conditioner = Bench(monkeypatch, name), Conditioner()
    for _ in range(80):
        conditioner.update(bench.tick(), 250)
    assert conditioner.same_ms < 20_000
    bench.chip.set_fault("frozen")
    for _ in range(40):
        conditioner.update(bench.tick(), 250)
    assert conditioner.same_ms >= 9_500


@pytest.mark.parametrize("name", SPECS)
def test_a_copied_board_goes_its_own_way(name):
    world, clock = World(100.0), Clock()
    chip = fake_chips.make(SPECS[name], world.hot, world.cold, clock.now_us)
    both = copy.deepcopy((world, clock, chip))
    both[0].hot_c = 300.0
    assert both[2].temperature_c() == 300.0 and chip.temperature_c() == 100.0


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"chip": "max9999"}, "max9999 is not known"),
        ({"type": "Z"}, "type Z"),
        ({"cs": None, "bus": None}, "lacks"),
    ],
)
def test_an_unusable_entry_is_one_line_that_names_the_probe(monkeypatch, change, word):
    spec = {key: value for key, value in {**SPECS["max31855"], **change}.items() if value is not None}
    with pytest.raises(ValueError, match="probe dome: .*" + word):
        attach(monkeypatch, spec, None)


def test_chips_of_different_phase_cannot_share_a_bus(monkeypatch):
    attach(monkeypatch, SPECS["max31855"], None)
    buses = {}
    first = chips.make("dome", SPECS["max31855"], buses)
    second = chips.make("stone", {**SPECS["max31855"], "cs": 20}, buses)
    assert first.spi is second.spi
    with pytest.raises(ValueError, match="phase"):
        chips.make("stone", SPECS["max31856"], buses)
    with pytest.raises(ValueError, match="mosi"):
        chips.make("dome", {**SPECS["max31856"], "bus": {"spi": 1, "sck": 10, "miso": 8}}, {})


def test_every_driver_states_its_limits_as_literals():
    import ast
    from pathlib import Path

    folder = Path(probes.__file__).parent
    for module in set(chips.CHIPS.values()):
        tree = ast.parse((folder / f"{module}.py").read_text(encoding="utf-8"))
        found = {}
        for node in tree.body:
            if isinstance(node, ast.Assign) and node.targets[0].id.isupper():
                try:
                    found[node.targets[0].id] = ast.literal_eval(node.value)
                except ValueError:
                    continue
        assert {"RANGE_C", "ACCURACY_K", "RESOLUTION_K", "DETECTS", "CONVERSION_MS"} <= set(found), module
        assert all(low < high for low, high in found["RANGE_C"].values())
