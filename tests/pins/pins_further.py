"""More wrong maps, by a hostile embedded engineer: (board, changes), each refused with a remedy that itself passes;
then those whose remedy only a person can choose: (board, changes, words of the advice)."""

import copy

from pins_maps import DOME, I2C, REMOVE, SPI_MOSI
from pins_panels import ESP, GOOD, MCP, panel, probes

S3 = {"chip": "sh1106", "bus": ESP["bus"]}
LATER = {"chip": "sh1106", "bus": {"i2c": 0, "sda": 21, "scl": 22}}


def both(**bus):
    """A pico whose two probes share this change of their bus."""
    return "pico", {f"{probe}__bus__{key}": value for probe in ("dome", "stone") for key, value in bus.items()}


FURTHER = {
    # probes
    "both selects left out": ("pico", {"dome__cs": None, "stone__cs": None}),
    "data on the clock": both(miso=18),
    "unit as text, both": both(spi="0"),
    "unit as a fraction": both(spi=0.0),
    "unit not said": both(spi=None),
    "unit below nothing": both(spi=-1),
    "bus as a list": ("pico", {"dome__bus": [0, 18, 16]}),
    "bus of the wrong kind": ("pico", {"dome__bus": I2C}),
    "sensor on an SPI bus": probes("pico", dome={"chip": "mcp9601", "bus": SPI_MOSI}),
    "clock as clk": ("pico", {"PROBES": {"dome": {**DOME, "bus": {"spi": 0, "clk": 18, "miso": 16}}}}),
    "Dome": ("pico", {"PROBES": {"Dome": DOME}}),
    "dom": ("pico", {"PROBES": {"dom": DOME, "stone": {**DOME, "cs": 20}}}),
    "a small k": probes("pico", dome={"chip": "max31856", "type": "k", "bus": SPI_MOSI, "cs": 17}),
    "type K with a word": probes("pico", dome={"chip": "max31856", "type": "K-type", "bus": SPI_MOSI, "cs": 17}),
    "S3: both lines on one pin": probes("esp32s3", dome={"chip": "mcp9601", "bus": {"i2c": 0, "sda": 12, "scl": 12}}),
    "one select for two": ("pico", {"stone__cs": 17}),
    "a bus in software on the heat": probes("pico", dome={**DOME, "bus": {"sck": 10, "miso": 16, "mosi": 19}}),
    "sensor's address as text": probes("pico", dome={**MCP, "bus": I2C, "address": "0x67"}),
    # panel
    "panel as a word": ("pico", {"PANEL": "sh1106"}),
    "panel as a flag": ("pico", {"PANEL": True}),
    "panel of nothing": ("pico", {"PANEL": {}}),
    "panel as a list": ("pico", {"PANEL": [1, 2]}),
    "stop as a flag": panel(stop=True),
    "stop at -1": panel(stop=-1),
    "stop as a fraction": panel(stop=26.0),
    "stop as text": panel(stop="26"),
    "stop on ENABLE": panel(stop=2),
    "stop on the lamp": panel(stop=28),
    "one pin for the knob": panel(knob_a=15),
    "stop as stp": panel(stop=REMOVE, stp=26),
    "stop with a blank": panel(**{"stop": REMOVE, "stop ": 26}),
    "stop with foreign letters": panel(**{"stop": REMOVE, "st\u043e\u0440": 26}),
    "stop-button": panel(**{"stop": REMOVE, "stop-button": 26}),
    "a second stop": panel(stopp=22),
    "push beside knob_push": panel(knob_push=None, push=21),
    "unit not said on the panel": panel(bus={"i2c": None}),
    "unit below nothing on the panel": panel(bus={"i2c": -1}),
    "both of the other unit, one taken": panel(bus={"sda": 26, "scl": 27}, stop=0),
    "two kinds of bus in one": panel(bus={"spi": 0}),
    "pull-ups on the bus": panel(bus={"pullups": True}),
    "display at the sensor's address": ("pico_panel", {
        "PANEL": {**GOOD, "bus": MCP["bus"]}, "PROBES": {"dome": {**MCP, "address": 0x3C}}}),
    "display on the probe's clock": panel(bus={"i2c": REMOVE, "sda": 18, "scl": 16}),
    "half a bus in software": panel(bus={"i2c": REMOVE, "scl": REMOVE}),
    "contrast as a fraction": panel(contrast=1.5),
    "rotate as text": panel(rotate="180"),
    "address of nobody": panel(address=0x3E),
    "a display nobody drives": panel(chip="ssd1309"),
    "S3: stop on the boot strap": ("esp32s3", {"PANEL": {**S3, "stop": 0}}),
    "S3: display on USB": ("esp32s3", {"PANEL": {**S3, "bus": {"i2c": 0, "sda": 19, "scl": 20}, "stop": 47}}),
    "ESP32: stop that cannot be pulled up": ("esp32", {"PANEL": {**LATER, "stop": 36}}),
    "ESP32: display on pins that only read": ("esp32", {
        "PANEL": {**LATER, "bus": {"i2c": 0, "sda": 34, "scl": 35}, "stop": 13}}),
    "C3: unit 1, stop on the relay": ("esp32c3", {
        "PANEL": {"chip": "sh1106", "bus": {"i2c": 1, "sda": 2, "scl": 20}, "stop": 5}}),
    # layers
    "S3: timer -1": ("esp32s3", {"DEADMAN_TIMER": -1}),
    "ESP32: timer 4": ("esp32", {"DEADMAN_TIMER": 4}),
    "C3: timer 2": ("esp32c3", {"DEADMAN_TIMER": 2}),
    "Pico: timer 0": ("pico", {"DEADMAN_TIMER": 0}),
    "timer as text": ("esp32", {"DEADMAN_TIMER": "0"}),
    "limiter as a flag": ("pico", {"LIMIT_OK": False}),
    "limiter misspelt": ("pico", {"LIMIT_OK": REMOVE, "LIMITOK": 3}),
    "limiter twice": ("pico", {"LIMIT_0K": 0}),
    "key as an empty text": ("pico", {"ENABLE": ""}),
    "selector left out": ("pico", {"SELECTOR": REMOVE}),
    "drive as a flag": ("esp32", {"CONTACTOR_DRIVE": True}),
    "drive in capitals": ("pico", {"CONTACTOR_DRIVE": "LEVEL"}),
    "watchdog in seconds": ("pico", {"WATCHDOG_MS": 4}),
    "contactor on the relay": ("pico", {"CONTACTOR": 10}),
    "a second fan": ("pico", {"FAN": 14}),
    "lamp on the relay": ("pico", {"LED": 11}),
    "stop beside the panel": ("pico", {"stop": 26}),
    "a list of pins": ("pico", {"HEAT_TOP": [10]}),
    "memory in capitals": ("esp32", {"PSRAM": "None"}),
}  # fmt: skip

FURTHER |= {  # written after the mends and tried once: what was found is counted apart
    "no probes": ("pico", {"PROBES": None}),
    "a dome of nothing": ("pico", {"PROBES": {"dome": None}}),
    "a stone as a list": ("pico", {"PROBES": {"dome": DOME, "stone": [1]}}),
    "bus as a pair": ("pico", {"dome__bus": ("spi", 0)}),
    "no data on either": both(miso=None),
    "select of a thousand": ("pico", {"dome__cs": 1000}),
    "clock below nothing": both(sck=-18),
    "chip as a number": ("pico", {"dome__chip": 31855}),
    "type as a list": ("pico", {"dome__type": ["K"]}),
    "platinum in capitals": probes("pico", dome={"chip": "max31865", "type": "PT1000", "bus": SPI_MOSI, "cs": 17}),
    "one wire": probes("pico", dome={"chip": "max31865", "type": "pt100", "wires": 1, "bus": SPI_MOSI, "cs": 17}),
    "I2C crossed": probes("pico", dome={"chip": "mcp9601", "bus": {"i2c": 0, "sda": 21, "scl": 20}}),
    "analog where there is none": probes("pico", dome=DOME, stone={"chip": "ad849x", "bus": {"adc": 0}}),
    "400 mm deep": ("pico", {"stone__depth_mm": 400}),
    "a rim in words": ("pico", {"stone__rim": "yes"}),
    "display on a pin that is not": panel(bus={"sda": 30}),
    "display without a bus": ("pico_panel", {"PANEL": {**GOOD, "bus": None}}),
    "stop in a list": panel(stop=[26]),
    "stop as none and Stop": panel(stop=None, Stop=26),
    "stop on the push, no knob": panel(knob_a=REMOVE, knob_b=REMOVE, stop=21),
    "a number for a name": panel(**{"7": 26}),
    "address below nothing": panel(address=-1),
    "contrast as text": panel(contrast="159"),
    "half a bus in software, data": panel(bus={"i2c": REMOVE, "sda": None}),
    "S3: clock that is not": ("esp32s3", {"PANEL": {**S3, "bus": {**S3["bus"], "scl": 22}, "stop": 47}}),
    "S3: stop on the flash": ("esp32s3", {"PANEL": {**S3, "stop": 27}}),
    "watchdog as a flag": ("pico", {"WATCHDOG_MS": True}),
    "watchdog as a fraction": ("pico", {"WATCHDOG_MS": 4000.0}),
    "name in bytes": ("pico", {"NAME": b"x"}),
    "name with an accent": ("pico", {"NAME": "k\u00fcche"}),
    "no heat at all": ("pico", {"HEAT_TOP": None, "HEAT_DECK": None}),
    "no contactor behind its mirror": ("pico", {"CONTACTOR": None}),
    "a panel misspelt": ("pico", {"PANNEL": {"stop": 26}}),
    "two lamps": ("pico", {"LEDS": 15}),
    "current sensed on the relay": ("pico", {"MAINS_SENSE_TOP": 10}),
    "drive in the plural": ("pico", {"CONTACTOR_DRIVE": "pulses"}),
}  # fmt: skip

BY_A_PERSON = {
    "no chip": ("pico", {"MCU": None}, "rp2040"),
    "ESP32: full, and no contactor": ("esp32", {"CONTACTOR": None}, "take a larger board"),
    "a board for a chip": ("pico", {"MCU": "Pico"}, "rp2040"),
    "a chip nobody knows": ("pico", {"MCU": "esp32c6"}, "esp32c3"),
    "another chip's pins": ("pico", {"MCU": "esp32"}, "take a larger board"),
    "an amplifier that ends at 400": ("pico", {"PROBES": {"dome": {"chip": "ads1115", "bus": copy.deepcopy(I2C)}}},
                                      "max31855"),
}  # fmt: skip
