"""The chips' tables against the vendors' published ones (tests/data/pins), drivers' needs against the drivers."""

import ast
import json
import re
from pathlib import Path

import pytest
from pins_maps import I2C, SPI_MOSI, text, values

from host import pins
from host.pins import drivers, pin_map
from host.pins.chips import CHIPS, DOWN, ESP32, ESP32C3, ESP32S3, FLOAT
from host.pins.pinrules import E12, LOW_V, PULL_UP_MIN_OHM, SUPPLY_V, free_pin, ohms, pull_down_ohm, troubles
from host.shim.loader import DEVICE, world
from host.shim.port import PIN_COUNTS, WATCHDOG_MAX_MS, Port
from host.shim.simfs import SimFS
from host.simulator.assembly import ADDRESSES, assembled

DATA = Path(__file__).parents[1] / "data" / "pins"
RP2 = json.loads((DATA / "rp2_pinmux.json").read_text(encoding="utf-8"))
ESP = json.loads((DATA / "esp_pins.json").read_text(encoding="utf-8"))
SIGNALS = {"RX": "miso", "SS_N": "cs", "SCLK": "sck", "TX": "mosi", "SDA": "sda", "SCL": "scl"}


@pytest.mark.parametrize("mcu", ["rp2040", "rp2350"])
def test_functions_by_the_rule_equal_the_register_header(mcu):
    """pico-sdk 2.2.0 io_bank0.h: one SPI and one I2C function on each pin, as the rule in machine_spi.c gives it."""
    chip = CHIPS[mcu]
    compared = 0
    for number, listed in RP2[mcu]["pins"].items():
        for kind in ("spi", "i2c"):
            (printed,) = listed[kind]
            unit, signal = re.fullmatch(r"(?:SPI|I2C)(\d)_(\w+)", printed).groups()
            assert chip.function(int(number))[kind] == (int(unit), SIGNALS[signal])
            compared += 1
    assert compared >= 2 * len(chip.pins)


@pytest.mark.parametrize("mcu", ["rp2040", "rp2350"])
def test_pull_at_reset_is_the_pads_reset_value(mcu):
    """pads_bank0.h: bit 2 = pull-down, bit 3 = pull-up."""
    value = int(RP2[mcu]["pad_reset"], 16)
    assert (value >> 2 & 1, value >> 3 & 1) == (1, 0)
    assert {CHIPS[mcu].pull_at_reset(pin) for pin in CHIPS[mcu].pins} == {DOWN}


def test_rp2_pins_and_analog_inputs_equal_the_header():
    assert len(CHIPS["rp2040"].pins) == RP2["rp2040"]["gpio_count"]
    assert list(CHIPS["rp2040"].adc1) == RP2["rp2040"]["adc_pins"]
    assert list(CHIPS["rp2350"].adc1) == RP2["rp2350"]["adc_pins"]["QFN-60 (RP2350A)"]
    # The Pico 2 carries the small package: 30 of the 48 pins.
    assert len(CHIPS["rp2350"].pins) == 30 < RP2["rp2350"]["gpio_count"]


@pytest.mark.parametrize("chip", [ESP32, ESP32S3, ESP32C3], ids=lambda chip: chip.mcu)
def test_esp_pins_equal_the_vendors_documentation(chip):
    """esp-idf gpio documentation and esptool's boot mode page."""
    told = ESP[chip.mcu]
    assert list(chip.pins) == told["gpio"]
    straps = [int(re.match(r"(?:GPIO)?(\d+)", str(strap))[1]) for strap in told["strapping"]]
    assert sorted(chip.straps) == straps
    assert sorted(chip.adc1) == sorted(map(int, told["adc1"]))
    assert sorted(chip.adc2) == sorted(map(int, told["adc2"]))
    assert list(chip.usb) == told.get("usb_jtag", [])
    assert list(chip.input_only) == told.get("input_only_no_pulls", [])
    memory = told.get("flash_psram", told.get("flash")) + told.get("octal_flash_psram", [])
    assert set(memory) <= {*chip.taken, *chip.psram}
    assert sorted(chip.console) == sorted(told.get("uart0_tx_rx", chip.console))


@pytest.mark.parametrize("mcu", sorted(CHIPS))
def test_chip_agrees_with_the_simulated_board(mcu):
    assert max(CHIPS[mcu].pins) < PIN_COUNTS[mcu]
    assert CHIPS[mcu].watchdog_max_ms == WATCHDOG_MAX_MS.get(mcu)


@pytest.mark.parametrize("role", ["heat", "contact", "cs", "adc", "sda"])
@pytest.mark.parametrize("mcu", sorted(CHIPS))
def test_free_pin_has_no_fault_of_its_own(mcu, role):
    chip = CHIPS[mcu]
    used, found = set(), []
    while (pin := free_pin(chip, used, role)) is not None:
        used.add(pin)
        found.append(pin)
        assert {trouble.grade for trouble in troubles(chip, pin, role)} <= {"note"}
        assert pin not in chip.straps and pin not in chip.taken and pin not in chip.usb
    assert found and (role != "heat" or all(chip.pull_at_reset(pin) in (DOWN, FLOAT) for pin in found))


def test_pull_down_against_a_pull_up_follows_the_divider():
    """Ohm's law: the largest E12 value that keeps the pin at or below the limit, the next one does not."""
    chosen = pull_down_ohm()
    values = sorted(value * 10**power for power in range(2, 5) for value in E12)
    larger = values[values.index(chosen) + 1]
    assert SUPPLY_V * chosen / (chosen + PULL_UP_MIN_OHM) <= LOW_V < SUPPLY_V * larger / (larger + PULL_UP_MIN_OHM)
    assert ohms(chosen) == "3.9 kohm"


def test_rp2350_pull_down_is_below_what_the_erratum_asks():
    """RP2350 datasheet, erratum E9: 8.2 kohm or less."""
    assert CHIPS["rp2350"].pull_down_ohm <= 8200


# --- drivers -------------------------------------------------------------------------------------------


def opened(chip):
    """(bus, phase) that a driver's `build` opens, read from its source."""
    tree = ast.parse((drivers.PROBES / f"{drivers.chips()[chip]}.py").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id == "spi_bus":
                return "spi", node.args[1].value
            if node.func.id == "i2c_bus":
                return "i2c", 0
            if node.func.id == "ADC":
                return "adc", 0
    raise AssertionError(f"{chip} opens no bus")


@pytest.mark.parametrize("chip", sorted(drivers.NEEDS))
def test_needs_are_what_the_driver_opens(chip):
    assert (drivers.NEEDS[chip].bus, drivers.NEEDS[chip].phase) == opened(chip)


def test_every_driver_is_known_and_states_its_figures():
    assert set(drivers.NEEDS) == set(drivers.OPTIONS) == set(drivers.chips())
    assert all(set(drivers.facts(chip)) == set(drivers.STATED) for chip in drivers.NEEDS)
    assert {chip: address for chip, address in ADDRESSES.items() if chip in drivers.NEEDS} == drivers.DEFAULT_ADDRESS


def test_chips_that_serve_480_are_those_whose_documents_say_so():
    """Type T ends at 400 °C and the AD849x is stated up to 400 °C (IEC 60584-1 and datasheet, from memory)."""
    serve = dict(drivers.can_serve(500))
    assert set(serve) == {"max31855", "max31856", "max6675", "max31865", "mcp9600", "mcp9601"}
    assert all("T" not in types for types in serve.values()) and "K" in serve["max31855"]


def made_by_the_device(spec):
    """None, or the ValueError of the device's own probes.make."""
    bench = pin_map.read("bench")
    del bench.PROBES
    device = world(DEVICE)
    port = Port(assembled(bench, None), "rp2040", bench, SimFS())
    with device.running(port):
        try:
            device.load("tizzone.probes.chips").make("dome", spec, {})
        except ValueError as error:
            return str(error)
    return None


def spec_of(chip, **entries):
    """A usable entry of a chip, and what is to be tried."""
    bus = {"spi": SPI_MOSI, "i2c": I2C, "adc": {"adc": 26}}[drivers.NEEDS[chip].bus]
    cs = {"cs": 17} if drivers.NEEDS[chip].bus == "spi" else {}
    return {"chip": chip, "bus": bus, **cs, **entries}


def option_rows():
    """(chip, entry, value, whether the table allows it), just inside and just outside of every bound."""
    for chip, options in drivers.OPTIONS.items():
        for key, allowed in options.items():
            if key == "rref_ohm":
                continue  # depends on the type: tried below
            for value in (min(allowed), max(allowed), min(allowed) - 1, max(allowed) + 1):
                yield chip, key, value, value in allowed


@pytest.mark.parametrize(("chip", "key", "value", "allowed"), list(option_rows()))
def test_options_allow_what_the_device_takes(chip, key, value, allowed):
    assert (made_by_the_device(spec_of(chip, **{key: value})) is None) == allowed


@pytest.mark.parametrize("chip", sorted(drivers.NEEDS))
def test_types_allowed_are_what_the_device_takes(chip):
    ranges = drivers.facts(chip)["RANGE_C"]
    for kind in {*"BEJKNRST", "pt100", "pt1000"}:
        refused = made_by_the_device(spec_of(chip, type=kind))
        assert (refused is None) == (kind in ranges), (kind, refused)


@pytest.mark.parametrize(("rref_ohm", "taken"), [(300, False), (301, True), (500, True), (501, False)])
def test_reference_resistor_bounds_are_the_devices(rref_ohm, taken, tmp_path):
    spec = spec_of("max31865", rref_ohm=rref_ohm)
    assert (made_by_the_device(spec) is None) == taken
    path = tmp_path / "map.py"
    path.write_text(text(values("pico", PROBES={"dome": spec})), encoding="utf-8")
    errors = [one for one in pins.check(path) if one.grade == "stop"]
    assert ([one.code for one in errors] == []) == taken
