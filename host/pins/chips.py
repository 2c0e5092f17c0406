"""What each microcontroller has on its pins: existence, straps, levels at reset, functions, watchdog.

Sources, per figure:
[SDK]   pico-sdk 2.2.0 (commit a1438dff1d38): io_bank0.h function selects, pads_bank0.h reset values.
[SPI]   MicroPython ports/rp2/machine_spi.c and machine_i2c.c: unit and signal follow from the pin's number.
[IDF]   esp-idf docs/en/api-reference/peripherals/gpio/{esp32,esp32s3,esp32c3}.inc: pins, straps, flash, USB, ADC.
[BOOT]  esptool docs, advanced topics, boot mode selection: what each strap means.
[WDT]   MicroPython ports/rp2/machine_wdt.c, ports/esp32/machine_wdt.c and docs, machine.WDT.
[TIM]   MicroPython ports/rp2/machine_timer.c (only -1); ports/esp32/machine_timer.c: hardware groups, two timers a
        group, one group on the C3 (from memory); -1 makes no hardware timer there, so it cannot be the dead-man.
[PICO]  pico-sdk src/boards/include/boards/pico.h: 23 power supply mode, 25 LED; 24 and 29 from memory.
(m)     from memory: reset pulls and boot activity of the ESP32 family are in its datasheets' pin tables, which were
        not at hand. Look at a heat pin with an oscilloscope through several power-ups before relying on it.
"""

from dataclasses import dataclass, field

UP, DOWN, FLOAT = "up", "down", "float"


@dataclass(frozen=True)
class Chip:
    """One microcontroller on the board that its map is for. Pin sets are GPIO numbers.

    taken: {pin: what it is used for inside}; psram: {pin: kinds of PSRAM that take it}; usb: data pins of the
    USB port; console: {pin: direction} of UART 0; straps: {pin: (level that the boot needs or None, meaning)};
    reset: {pin: pull}, all others `reset_pull`; active: {pin: what it does while booting}.
    """

    mcu: str
    title: str
    prefix: str
    pins: tuple
    taken: dict = field(default_factory=dict)
    psram: dict = field(default_factory=dict)
    usb: tuple = ()
    console: dict = field(default_factory=dict)
    console_is_link: bool = False
    input_only: tuple = ()
    straps: dict = field(default_factory=dict)
    reset_pull: str = FLOAT
    reset: dict = field(default_factory=dict)
    active: dict = field(default_factory=dict)
    adc1: tuple = ()
    adc2: tuple = ()
    spi_units: tuple = ()
    i2c_units: tuple = ()
    fixed_functions: bool = False
    watchdog_max_ms: int | None = None
    watchdog_newer_ms: int | None = None  # and what newer releases allow
    pull_down_ohm: int = 10_000  # at a relay driver's input
    timers: tuple = (-1,)  # numbers that a Timer takes: rp2 has the virtual one alone [TIM]
    header: dict = field(default_factory=dict)  # {pin: number on the board's edge}

    def gp(self, pin: object) -> str:
        """A pin's name as it is printed on the board; of a wrong map's pin, whatever it is."""
        return f"{self.prefix}{pin}"

    def pull_at_reset(self, pin: int) -> str:
        """ "up", "down" or "float" from reset until the program takes the pin."""
        return self.reset.get(pin, self.reset_pull)

    @property
    def hard_timers(self) -> bool:
        """Whether a timer callback cuts in while the interpreter hangs (rp2: hard interrupts)."""
        return self.mcu.startswith("rp2")

    def function(self, pin: int) -> dict:
        """{"spi": (unit, signal), "i2c": (unit, signal)} where a pin's functions are fixed [SPI], else {}."""
        if not self.fixed_functions:
            return {}
        return {
            "spi": (pin >> 3 & 1, ("miso", "cs", "sck", "mosi")[pin & 3]),
            "i2c": (pin >> 1 & 1, ("sda", "scl")[pin & 1]),
        }


def _some(numbers, words):
    return dict.fromkeys(numbers, words)


# Pin numbers on the edge of the Pico and Pico 2 (m); compare with the print on the board.
_PICO_EDGE = {
    gp: edge
    for first_gp, first_edge, count in (
        (0, 1, 2), (2, 4, 4), (6, 9, 4), (10, 14, 4), (14, 19, 2), (16, 21, 2), (18, 24, 4), (22, 29, 1),
        (26, 31, 2), (28, 34, 1),
    )
    for gp, edge in zip(range(first_gp, first_gp + count), range(first_edge, first_edge + count), strict=True)
}  # fmt: skip
_PICO_INSIDE = {
    23: "the power supply's mode on the Pico",
    24: "the Pico's sense of USB power",
    25: "the Pico's own LED",
    29: "the Pico's measurement of its supply",
}

RP2040 = Chip(
    "rp2040", "Raspberry Pi Pico (RP2040)", "GP", tuple(range(30)),
    taken=_PICO_INSIDE,
    reset_pull=DOWN,  # [SDK] pad reset 0x56: pull-down on; 50..80 kohm (RP2040 datasheet)
    adc1=(26, 27, 28, 29), spi_units=(0, 1), i2c_units=(0, 1), fixed_functions=True,
    watchdog_max_ms=8388,  # [WDT]; 24 bits at two counts a microsecond, erratum E1
    header=_PICO_EDGE,
)  # fmt: skip

RP2350 = Chip(
    "rp2350", "Raspberry Pi Pico 2 (RP2350)", "GP", tuple(range(30)),
    taken=_PICO_INSIDE,
    reset_pull=DOWN,  # [SDK] pad reset 0x116: pull-down on, isolated until released
    adc1=(26, 27, 28, 29), spi_units=(0, 1), i2c_units=(0, 1), fixed_functions=True,
    watchdog_max_ms=8388, watchdog_newer_ms=16777,  # [WDT]: releases up to 1.28, newer ones
    pull_down_ohm=4_700,  # erratum E9: 8.2 kohm or less pulls a pad down that sticks near 2.2 V
    header=_PICO_EDGE,
)  # fmt: skip

ESP32 = Chip(
    "esp32", "ESP32 (WROOM-32 module)", "GPIO", (*range(20), 21, 22, 23, 25, 26, 27, *range(32, 40)),
    taken=_some(range(6, 12), "the flash memory of the module"),
    psram=_some((16, 17), ("quad",)),
    console={1: "out", 3: "in"}, console_is_link=True,
    input_only=(34, 35, 36, 37, 38, 39),
    straps={  # [BOOT]
        0: (1, "low at reset starts the ROM's loader instead of the program"),
        2: (0, "must be low or open while the board is flashed"),
        4: (None, "its level is latched into the strap register"),
        5: (None, "it sets the timing of a bus that is not used here"),
        12: (0, "high at reset sets the flash to 1.8 V: the board may not boot"),
        15: (None, "low at reset silences the ROM's messages"),
    },
    reset={0: UP, 1: UP, 2: DOWN, 3: UP, 4: DOWN, 5: UP, 12: DOWN, 13: DOWN, 14: UP, 15: UP},  # (m)
    active={0: "puts out a clock", 1: "puts out the ROM's messages", 3: "is high", 5: "is high or pulses",
            14: "pulses", 15: "is high or pulses", 26: "was seen high at power-up", 27: "was seen high at power-up"},
    # (m); one origin each, no maker's waveform seen
    adc1=(36, 37, 38, 39, 32, 33, 34, 35), adc2=(4, 0, 2, 15, 13, 12, 14, 27, 25, 26),
    spi_units=(1, 2), i2c_units=(0, 1), timers=(0, 1, 2, 3),
)  # fmt: skip

ESP32S3 = Chip(
    "esp32s3", "ESP32-S3 (WROOM-1 module)", "GPIO", (*range(22), *range(26, 49)),
    taken=_some(range(26, 33), "the flash memory of the module"),
    psram=_some(range(33, 38), ("octal",)),
    usb=(19, 20), console={43: "out", 44: "in"},
    straps={  # [IDF] the pins; meanings (m) but for 0 and 46 [BOOT]
        0: (1, "low at reset starts the ROM's loader instead of the program"),
        3: (None, "its level chooses where JTAG comes out"),
        45: (0, "high at reset sets the flash to 1.8 V: the board may not boot"),
        46: (0, "must be low or open while the board is flashed"),
    },
    reset={0: UP, 39: UP, 43: UP, 44: UP, 45: DOWN, 46: DOWN},  # (m)
    active={18: "has a high glitch of some 60 µs at power-up", 43: "puts out the ROM's messages"},  # (m)
    adc1=tuple(range(1, 11)), adc2=tuple(range(11, 21)),
    spi_units=(1, 2), i2c_units=(0, 1), timers=(0, 1, 2, 3),
)  # fmt: skip

ESP32C3 = Chip(
    "esp32c3", "ESP32-C3", "GPIO", tuple(range(22)),
    taken={11: "the supply of the flash memory (m)", **_some(range(12, 18), "the flash memory")},
    usb=(18, 19), console={20: "in", 21: "out"},
    straps={  # [IDF] the pins; [BOOT] 8 and 9; 2 (m)
        2: (1, "must be high at reset for a sure start"),
        8: (1, "must be high while the board is flashed"),
        9: (1, "low at reset starts the ROM's loader instead of the program"),
    },
    reset={6: UP, 8: UP, 9: UP, 20: UP, 21: UP},  # (m); 6 is a JTAG input
    active={18: "has a high glitch at power-up", 21: "puts out the ROM's messages"},  # (m); 18: one report
    adc1=(0, 1, 2, 3, 4), adc2=(5,),
    spi_units=(1,), i2c_units=(0,), timers=(0, 1),
)  # fmt: skip

CHIPS = {chip.mcu: chip for chip in (RP2040, RP2350, ESP32, ESP32S3, ESP32C3)}
