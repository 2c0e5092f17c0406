"""Pin map of the small board that the tests of the simulator run."""

NAME = "small"
MCU = "rp2040"
WATCHDOG_MS = 2000
HEAT_TOP = 10
HEAT_DECK = 11
CONTACTOR = 12
CONTACTOR_DRIVE = "level"
COOLING_FAN = 13
ENABLE = 2
LIMIT_OK = 3
SELECTOR = 4
CONTACTOR_OPEN = 5
MAINS_SENSE_TOP = 6
MAINS_SENSE_DECK = 7
FAN_OK = 8
DOOR = 9
PROBES = {
    "dome": {"chip": "max31855", "type": "K", "bus": {"spi": 0, "sck": 18, "miso": 16}, "cs": 17},
}
