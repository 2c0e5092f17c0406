"""Wrong panels and probes, each a way in which a person at a bench goes wrong: (board, changes to PANEL or PROBES)."""

import copy

from pins_maps import REMOVE

from host.pins import pin_map

GOOD = pin_map.read("pico_panel").PANEL
ESP = {
    "chip": "sh1106",
    "bus": {"i2c": 0, "sda": 38, "scl": 40},
    "knob_a": 47,
    "knob_b": 48,
    "knob_push": 3,
    "stop": 35,
}
PINS_OF_ESP = {**ESP, "knob_push": 36}
MCP = {"chip": "mcp9601", "type": "K", "bus": {"i2c": 1, "sda": 18, "scl": 19}}
DOME = pin_map.read("pico_panel").PROBES["dome"]


def panel(board="pico_panel", base=GOOD, bus=None, **changes):
    """A map of `board` whose PANEL is `base` with changes; `bus` changes its bus."""
    made = copy.deepcopy(base)
    for name, value in {**changes}.items():
        made.pop(name, None)
        if value is not REMOVE:
            made[name] = value
    for name, value in (bus or {}).items():
        made["bus"].pop(name, None)
        if value is not REMOVE:
            made["bus"][name] = value
    return board, {"PANEL": made}


def probes(board="pico_panel", **named):
    """A map of `board` with these PROBES."""
    return board, {"PROBES": named}


def dome(bus=None, **changes):
    """A map whose dome probe has changes."""
    made = copy.deepcopy(DOME)
    made["bus"] |= bus or {}
    for name in [key for key, value in (bus or {}).items() if value is REMOVE]:
        del made["bus"][name]
    made |= changes
    return probes(dome={key: value for key, value in made.items() if value is not REMOVE})


WRONG = {
    # misspelt and unknown entries: the board would ignore them
    "stop as stopp": panel(stop=REMOVE, stopp=26),
    "stop as Stop": panel(stop=REMOVE, Stop=26),
    "stop as STOP": panel(stop=REMOVE, STOP=26),
    "stop as stop_button": panel(stop=REMOVE, stop_button=26),
    "stop as halt": panel(stop=REMOVE, halt=26),
    "stop as emergency": panel(stop=REMOVE, emergency=26),
    "stop as a number": panel(stop=REMOVE, **{"26": "stop"}),
    "stop left out": panel(stop=REMOVE),
    "stop not wired": panel(stop=None),
    "knob_a as knob": panel(knob_a=REMOVE, knob=14),
    "knob_b as knobb": panel(knob_b=REMOVE, knobb=15),
    "knob_push as push": panel(knob_push=REMOVE, push=21),
    "half a knob": panel(knob_b=None),
    "other half of a knob": panel(knob_a=REMOVE),
    "knob without push": panel(knob_push=REMOVE),
    "chip as display": panel(chip=REMOVE, display="sh1106"),
    "address as adress": panel(address=REMOVE, adress=0x3C),
    "bus as i2c": panel(bus=None, i2c=0),
    "a size": panel(width=128),
    "a reset line": panel(reset=22),
    # chip and its settings
    "chip left out": panel(chip=REMOVE),
    "chip of another display": panel(chip="st7735"),
    "chip in capitals": panel(chip="SH1106"),
    "chip as a list": panel(chip=["sh1106"]),
    "address of a sensor": panel(address=0x48),
    "address as text": panel(address="0x3C"),
    "address with the write bit": panel(address=0x78),
    "address as a flag": panel(address=True),
    "rotate by 90": panel(rotate=90),
    "rotate as a flag": panel(rotate=True),
    "contrast of a percentage above": panel(contrast=300),
    "contrast below 0": panel(contrast=-1),
    # the bus
    "no bus": panel(bus={"i2c": REMOVE, "sda": REMOVE, "scl": REMOVE}),
    "lines swapped": panel(bus={"sda": 1, "scl": 0}),
    "lines swapped on unit 1": (
        "pico_panel", {"PANEL": {**GOOD, "bus": {"i2c": 1, "sda": 27, "scl": 26}, "stop": 0}, "BUZZER": REMOVE}),
    "other unit's number": panel(bus={"i2c": 1}),
    "unit as text": panel(bus={"i2c": "0"}),
    "unit 2": panel(bus={"i2c": 2}),
    "unit as a flag": panel(bus={"i2c": True}),
    "data of the other unit": panel(bus={"sda": 26}, stop=0),
    "clock of the other unit": panel(bus={"scl": 27}),
    "clock on a data pin": panel(bus={"scl": 28}),
    "no clock": panel(bus={"scl": REMOVE}),
    "no data": panel(bus={"sda": None}),
    "an entry of the bus misspelt": panel(bus={"scl": REMOVE, "sck": 1, "sdl": 1}),
    "a speed on the bus": panel(bus={"freq": 400_000}),
    "data and clock on one pin": panel(bus={"sda": 0, "scl": 0}),
    "an SPI bus": ("pico_panel", {"PANEL": {**GOOD, "bus": {"spi": 1, "sck": 26, "mosi": 27}, "stop": 0}}),
    "clock as text": panel(bus={"scl": "1"}),
    # pins
    "stop on the relay": panel(stop=10),
    "knob on a probe's clock": panel(knob_a=18),
    "stop on the chip's LED": panel(stop=25),
    "stop that is no pin": panel(stop=30),
    "stop and push on one pin": panel(stop=21),
    "knob as text": panel(knob_a="14"),
    "data on the contactor": panel(bus={"sda": 12}),
    "S3: octal memory": ("esp32s3", {"PANEL": {"chip": "sh1106", "bus": ESP["bus"], "stop": 35}, "PSRAM": "octal"}),
    "S3: unit 2": panel("esp32s3", PINS_OF_ESP, bus={"i2c": 2}),
    "S3: stop on USB": panel("esp32s3", {**PINS_OF_ESP, "stop": 19}),
    # shared with a probe
    "panel on the probe's unit with other pins": (
        "pico_panel", {"PANEL": {**GOOD, "bus": {"i2c": 1, "sda": 26, "scl": 27}, "stop": 0},
                       "PROBES": {"dome": MCP}, "BUZZER": REMOVE}),
    # probes
    "probe: unit as text": dome({"spi": "0"}),
    "probe: unit 1": dome({"spi": 1}),
    "probe: clock and data swapped": dome({"sck": 16, "miso": 18}),
    "probe: no clock": dome({"sck": REMOVE}),
    "probe: no data": dome({"miso": REMOVE}),
    "probe: data on a clock pin": dome({"miso": 22}),
    "probe: no select": dome(cs=REMOVE),
    "probe: select on the clock": dome(cs=18),
    "probe: select as text": dome(cs="17"),
    "probe: chip misspelt": dome(chip="max31885"),
    "probe: chip left out": dome(chip=REMOVE),
    "probe: type of platinum": dome(type="pt100"),
    "probe: type small": dome(type="k"),
    "probe: max31856 without data in": dome(chip="max31856"),
    "probe: average that the chip lacks": dome({"mosi": 19}, chip="max31856", average=3),
    "probe: mains of 55 Hz": dome({"mosi": 19}, chip="max31856", hz=55),
    "probe: reference of the wrong board": dome({"mosi": 19}, chip="max31865", type="pt100", rref_ohm=4300),
    "probe: I2C lines swapped": probes(dome={**MCP, "bus": {"i2c": 1, "sda": 19, "scl": 18}}),
    "probe: I2C unit 0": probes(dome={**MCP, "bus": {"i2c": 0, "sda": 18, "scl": 19}}),
    "probe: I2C address": probes(dome={**MCP, "address": 0x48}),
    "probe: two at one address": probes(dome=MCP, stone=copy.deepcopy(MCP)),
    "probe: stone on the dome's select": probes(dome=DOME, stone=copy.deepcopy(DOME)),
    "probe: bus in software without data in": dome({"spi": REMOVE}),
    "probe: a third one": probes(dome=DOME, wall={**DOME, "cs": 20}),
    "probe: select misspelt": dome(cs=REMOVE, cx=17),
}  # fmt: skip
